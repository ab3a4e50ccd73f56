import { spawnSync } from 'node:child_process'
import { existsSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs'
import { isBuiltin } from 'node:module'
import { join } from 'node:path'
import { createContext, runInContext } from 'node:vm'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { createProtocolConnection } from 'vscode-languageserver/node'
import { writeBundles } from '../../client/scripts/build.ts'
import type { BundleInputs } from '../../client/scripts/shared-modules.ts'
import { workerText } from '../../client/worker-text.ts'
import { bench } from '../features/bench.ts'
import { modernCapabilities } from '../harness/client.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'
import { readerOf, writerOf } from './port.ts'

let folder: TemporaryFolder
let bundles: BundleInputs

beforeAll(async () => {
  folder = temporaryFolder({})
  bundles = await writeBundles('shipped', folder.path)
})

afterAll(() => folder[Symbol.dispose]())

/** What a bundle asks its host for, each once. */
function asked(name: string): readonly string[] {
  const outside = (path: string): boolean => isBuiltin(path) || path === 'vscode' || /^\.\/\w+\.cjs$/.test(path)
  return [...new Set(bundles[name]?.filter(outside))]
}

describe('the bundles for hosts without Node', () => {
  it('ask for nothing of Node', () => {
    expect(asked('web.cjs')).toEqual(['vscode'])
    expect(asked('server.cjs')).toEqual(['./web.cjs'])
    for (const [name, own] of [
      ['web.cjs', 'vscode'],
      ['server.cjs', './web.cjs'],
    ] as const) {
      const text = readFileSync(join(folder.path, name), 'utf8')
      const named = [...text.matchAll(/\brequire\("([^"]+)"/g)].map(([, one]) => one)
      expect([...new Set(named)]).toEqual([own])
    }
  })

  it('hold the whole of what both hosts need: the others add to them', () => {
    for (const [whole, addition] of [
      ['web.cjs', 'client.cjs'],
      ['web.cjs', 'server.cjs'],
      ['server.cjs', 'command.cjs'],
    ] as const) {
      expect(asked(addition)).toContain(`./${whole}`)
      // What stands in the place of a module that is taken is not the module.
      const held = new Set(bundles[whole])
      const twice = bundles[addition]?.filter(path => /^(?!whole:).*\.[jt]s$/.test(path) && held.has(path))
      expect(twice, addition).toEqual([])
    }
    expect(bundles['server.cjs']).toContain('server/service.ts')
    expect(bundles['command.cjs']).toContain('server/lsp/disk.ts')
    expect(bundles['detent.cjs']?.filter(path => path.endsWith('.ts'))).toEqual(['server/cli/start.ts'])
  })
})

describe('the text of a bundle', () => {
  it('is ASCII, which takes a byte for each character in memory, and regular expressions mean the same in it', () => {
    for (const name of Object.keys(bundles))
      expect(readFileSync(join(folder.path, name), 'utf8').match(/[\u0080-\uffff]/g), name).toBe(null)
    // What reads a minus sign, and tells it from a hyphen, is an expression that the bundler leaves as it is.
    expect(readFileSync(join(folder.path, 'server.cjs'), 'utf8')).toContain('(/\\u00b1|\\+-|\\+\\u2212/,1)')
  })
})

describe.skipIf(process.platform !== 'linux')('what is compiled of the command', () => {
  const helpIn = (cache: string, more: Readonly<Record<string, string>> = {}): string => {
    const env = { PATH: process.env.PATH, XDG_CACHE_HOME: cache, ...more }
    return spawnSync(process.execPath, [join(folder.path, 'detent.cjs'), '--help'], { env, encoding: 'utf8' }).stdout
  }

  it("is kept in the person's own folder, which nobody else may write to", () => {
    using cache = temporaryFolder({})
    const first = helpIn(cache.path)
    expect(first).toContain('language-server')
    expect(statSync(join(cache.path, 'detent')).mode & 0o022).toBe(0)
    expect(helpIn(cache.path)).toBe(first)
  })

  it('is taken again while it belongs to what is shipped and is whole', () => {
    using cache = temporaryFolder({})
    const kept = (): readonly string[] =>
      readdirSync(join(cache.path, 'detent')).map(name => join(cache.path, 'detent', name))
    /** How often each bundle was kept while what was kept before was taken. */
    const times = (): readonly number[] => kept().map(file => readFileSync(file).readUInt32LE(8))
    const first = helpIn(cache.path)
    expect(times()).toEqual([1, 1])
    expect(helpIn(cache.path)).toBe(first)
    expect(times()).toEqual([2, 2])
    for (const file of kept()) {
      const bytes = readFileSync(file)
      bytes.writeUInt8(bytes.readUInt8(bytes.length >> 1) ^ 0xff, bytes.length >> 1)
      writeFileSync(file, bytes)
    }
    expect(helpIn(cache.path)).toBe(first)
    expect(times()).toEqual([1, 1])
  })

  it('is not kept of a command line that is unusable', () => {
    using cache = temporaryFolder({})
    const env = { PATH: process.env.PATH, XDG_CACHE_HOME: cache.path }
    expect(spawnSync(process.execPath, [join(folder.path, 'detent.cjs'), 'chekc'], { env }).status).toBe(2)
    expect(existsSync(join(cache.path, 'detent'))).toBe(false)
  })

  it('is neither kept nor read below the folder that is worked in', () => {
    using cwd = temporaryFolder({})
    const env = { PATH: process.env.PATH, XDG_CACHE_HOME: 'caches' }
    const { status } = spawnSync(process.execPath, [join(folder.path, 'detent.cjs'), '--help'], { env, cwd: cwd.path })
    expect(status).toBe(0)
    expect(readdirSync(cwd.path)).toEqual([])
  })

  it('is not kept where that is turned off, and a folder that cannot be made is left alone', () => {
    using cache = temporaryFolder({ file: '' })
    expect(helpIn(cache.path, { NODE_DISABLE_COMPILE_CACHE: '1' })).not.toBe('')
    expect(existsSync(join(cache.path, 'detent'))).toBe(false)
    expect(helpIn(join(cache.path, 'file'))).toContain('language-server')
  })
})

describe('the server in a worker', () => {
  /** What a worker has of its own; nothing of Node's. */
  const workerGlobals = (self: unknown): object => ({
    ...{ self, console, setTimeout, clearTimeout, setInterval, clearInterval, queueMicrotask, structuredClone },
    ...{ TextDecoder, TextEncoder, URL, atob, btoa, performance, crypto, MessageChannel },
  })

  it('answers about files that the client reads for it', async () => {
    const { port1, port2 } = new MessageChannel()
    const context = createContext(workerGlobals(port1))
    const text = (name: string): string => readFileSync(join(folder.path, name), 'utf8')
    runInContext(workerText(text('web.cjs'), text('server.cjs'), '1.2.3', 'life').join(''), context)
    const client = createProtocolConnection(readerOf(port2), writerOf(port2))
    const root = 'held://bench/'
    const read: string[] = []
    client.onRequest('client/registerCapability', () => null)
    client.onRequest('workspace/configuration', () => [null])
    client.onRequest('workspace/diagnostic/refresh', () => null)
    client.onRequest('detent/findFiles', () => [`${root}bench.detent`])
    client.onRequest('detent/readFile', ({ uri }: { uri: string }) => {
      read.push(uri)
      return uri === `${root}bench.detent` ? Buffer.from(bench).toString('base64') : null
    })
    client.listen()
    const { serverInfo } = await client.sendRequest<{ serverInfo: unknown }>('initialize', {
      processId: null,
      rootUri: null,
      capabilities: modernCapabilities,
      workspaceFolders: [{ uri: root, name: 'bench' }],
      initializationOptions: { readsFiles: true },
    })
    expect(serverInfo).toEqual({ name: 'detent', version: '1.2.3' })
    await client.sendNotification('initialized', {})
    const uri = `${root}daily.detent`
    const profile = 'detent 1\nuse "bench.detent"\n\nprofile q {\n  part sample-b7\n  cooler nobody\n}\n'
    await client.sendNotification('textDocument/didOpen', {
      textDocument: { uri, languageId: 'detent', version: 1, text: profile },
    })
    const { items } = await client.sendRequest<{ items: { code: string; message: string }[] }>(
      'textDocument/diagnostic',
      {
        textDocument: { uri },
      },
    )
    expect(items.map(item => item.code)).toContain('unknown-name')
    expect(items.filter(item => item.message.includes('sample-b7'))).toEqual([])
    expect(read).toEqual([`${root}bench.detent`])
    client.dispose()
    port1.close()
  })
})
