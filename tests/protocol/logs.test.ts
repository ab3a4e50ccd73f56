import { rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import type { DocumentLink, FileSystemWatcher, Hover } from 'vscode-languageserver/node'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { bench } from '../features/bench.ts'
import { modernCapabilities, oldCapabilities, startClient, type TestClient } from '../harness/client.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'

/** Logs of runs that change behind the editor's back, and links to them. */

const runs = (path: string): string => `detent 1
use "bench.detent"

profile daily {
  part sample-b7
  cooler big-loop
  room garage
  steps { 1 to 12 cores 50x }
}

run evening of daily under render {
  log "${path}" {
    column power "package" W
    column die "hot spot" °C
  }
}
`
const good = `package,hot spot\n${'180,64\n180.2,64.1\n'.repeat(1200)}`
const odd = good.replace('package', 'socket')

let client: TestClient | undefined
let folder: TemporaryFolder | undefined

interface Started extends TestClient {
  readonly path: string
  readonly uri: string
  readonly csv: string
  /** The codes of the findings that are of the log. */
  found(): Promise<readonly string[]>
  /** Tells of a log, as an editor does that watches. */
  tell(uri: string, type: 1 | 2 | 3): Promise<void>
}

type Capabilities = typeof modernCapabilities

const relative: Capabilities = {
  ...modernCapabilities,
  workspace: {
    ...modernCapabilities.workspace,
    didChangeWatchedFiles: { dynamicRegistration: true, relativePatternSupport: true },
  },
}

async function start(
  capabilities: Capabilities = modernCapabilities,
  path = 'evening.csv',
  initializationOptions: Readonly<Record<string, unknown>> = {},
): Promise<Started> {
  folder = temporaryFolder({ 'bench.detent': bench, 'runs.detent': runs(path), [path]: good })
  const own = await startClient({ folders: [uriOfPath(folder.path)], capabilities, initializationOptions })
  client = own
  const uri = uriOfPath(join(folder.path, 'runs.detent'))
  await own.open(uri, runs(path))
  const found = async () =>
    (await own.diagnostics(uri)).map(({ code }) => String(code)).filter(one => one === 'run-log')
  const tell = (changed: string, type: 1 | 2 | 3) =>
    own.notify('workspace/didChangeWatchedFiles', { changes: [{ uri: changed, type }] })
  return { ...own, path: folder.path, uri, csv: uriOfPath(join(folder.path, path)), found, tell }
}

afterEach(async () => {
  const problems = await client?.stop()
  client = undefined
  folder?.[Symbol.dispose]()
  folder = undefined
  expect(problems ?? []).toEqual([])
})

const hoverOn = async ({ request, uri }: Started): Promise<string> => {
  const shown = await request<Hover | null>('textDocument/hover', {
    textDocument: { uri },
    position: { line: 10, character: 6 },
  })
  return (shown?.contents as { value: string } | undefined)?.value ?? ''
}

/** The watchers that were asked for since, but for those of the language's files. */
const asked = ({ log }: TestClient): readonly (readonly FileSystemWatcher[])[] =>
  log.flatMap(({ from, message }) => {
    const { method, params } = message as {
      method?: string
      params?: { registrations?: { method: string; registerOptions?: { watchers?: FileSystemWatcher[] } }[] }
    }
    if (from !== 'server' || method !== 'client/registerCapability') return []
    return (params?.registrations ?? []).flatMap(one => {
      const watchers = one.registerOptions?.watchers
      return watchers === undefined || watchers[0]?.globPattern === '**/*.detent' ? [] : [watchers]
    })
  })

const unregistered = ({ log }: TestClient): number =>
  log.filter(({ message }) => (message as { method?: string }).method === 'client/unregisterCapability').length

describe('a log that changes on disk', () => {
  it('is read again: findings and hovers follow', async () => {
    const started = await start()
    await expect.poll(() => hoverOn(started), { timeout: 60_000 }).toContain('180')
    expect(await started.found()).toEqual([])
    writeFileSync(join(started.path, 'evening.csv'), odd)
    const refreshes = started.refreshes()
    await started.tell(started.csv, 2)
    await expect.poll(() => started.found(), { timeout: 60_000 }).toEqual(['run-log'])
    await expect.poll(() => started.refreshes()).toBeGreaterThan(refreshes)
    await expect.poll(() => hoverOn(started), { timeout: 60_000 }).not.toContain('180')
    writeFileSync(join(started.path, 'evening.csv'), good)
    await started.tell(started.csv, 2)
    await expect.poll(() => started.found(), { timeout: 60_000 }).toEqual([])
  })

  it('is heard of by our own client, whose charts follow it, and by no other', async () => {
    const heard = async (options: Readonly<Record<string, unknown>>): Promise<readonly unknown[]> => {
      const started = await start(modernCapabilities, 'evening.csv', options)
      const told: unknown[] = []
      started.connection.onNotification('detent/logsRead', params => {
        told.push(params)
      })
      await expect.poll(() => hoverOn(started), { timeout: 60_000 }).toContain('180')
      writeFileSync(join(started.path, 'evening.csv'), odd)
      await started.tell(started.csv, 2)
      await expect.poll(() => started.found(), { timeout: 60_000 }).toEqual(['run-log'])
      const { uri } = started
      await client?.stop()
      client = undefined
      folder?.[Symbol.dispose]()
      folder = undefined
      return told.length === 0 ? [] : [JSON.stringify(told[0]).includes(uri.slice(uri.lastIndexOf('/')))]
    }
    expect(await heard({ showsPictures: true })).toEqual([true])
    expect(await heard({})).toEqual([])
  }, 240_000)

  it('goes and comes', async () => {
    const started = await start()
    await expect.poll(() => hoverOn(started), { timeout: 60_000 }).toContain('180')
    rmSync(join(started.path, 'evening.csv'))
    await started.tell(started.csv, 3)
    await expect.poll(() => started.found(), { timeout: 60_000 }).toEqual(['run-log'])
    writeFileSync(join(started.path, 'evening.csv'), good)
    await started.tell(started.csv, 1)
    await expect.poll(() => started.found(), { timeout: 60_000 }).toEqual([])
  })

  it('is sent to a client that does not ask, whatever it watches by itself', async () => {
    const started = await start(oldCapabilities)
    const codes = () => started.published.get(started.uri)?.diagnostics.map(({ code }) => code) ?? ['none yet']
    await expect.poll(() => codes(), { timeout: 60_000 }).not.toContain('none yet')
    rmSync(join(started.path, 'evening.csv'))
    await started.tell(started.csv, 3)
    await expect.poll(() => codes(), { timeout: 60_000 }).toContain('run-log')
    expect(asked(started)).toEqual([])
  })

  it('is not taken for one of the language’s own files', async () => {
    const started = await start()
    const other = uriOfPath(join(started.path, 'other.csv'))
    await started.tell(started.csv, 2)
    await started.tell(other, 1)
    const { items } = await started.request<{ items: { uri: string }[] }>('workspace/diagnostic', {
      previousResultIds: [],
    })
    expect(items.map(({ uri }) => uri).filter(uri => uri.endsWith('.csv'))).toEqual([])
  })
})

describe('the client', () => {
  it('is asked to watch the logs that runs name, and again only when they are others', async () => {
    const started = await start(relative, 'logs/a [1].csv')
    const baseUri = uriOfPath(started.path)
    await expect
      .poll(() => asked(started), { timeout: 60_000 })
      .toEqual([[{ globPattern: { baseUri, pattern: 'logs/a ?1?.csv' } }]])
    const typed = { range: { start: { line: 0, character: 8 }, end: { line: 0, character: 8 } }, text: ' # a' }
    await started.change(started.uri, 2, [typed])
    await new Promise(resolve => setTimeout(resolve, 300))
    expect(asked(started)).toHaveLength(1)
    await started.change(started.uri, 3, [
      { text: runs('../outside/b.csv') + runs('elsewhere/b.csv').replace('evening', 'morning') },
    ])
    await expect.poll(() => asked(started).at(-1)).toEqual([{ globPattern: { baseUri, pattern: 'elsewhere/b.csv' } }])
    await expect.poll(() => unregistered(started), { timeout: 60_000 }).toBe(1)
    await started.close(started.uri)
    await expect.poll(() => unregistered(started), { timeout: 60_000 }).toBe(2)
    expect(asked(started)).toHaveLength(2)
  })

  it('is given plain patterns where it takes no others', async () => {
    const started = await start()
    await expect.poll(() => asked(started), { timeout: 60_000 }).toEqual([[{ globPattern: '**/evening.csv' }]])
  })
})

describe('links', () => {
  const links = async ({ request, uri }: Started) =>
    (await request<DocumentLink[]>('textDocument/documentLink', { textDocument: { uri } })).map(
      ({ range, target }) => ({
        line: range.start.line,
        from: range.start.character,
        to: range.end.character,
        target,
      }),
    )

  it('lead to the log of a run, within its quotes, as long as it is there', async () => {
    const started = await start()
    const use = { line: 1, from: 5, to: 17, target: uriOfPath(join(started.path, 'bench.detent')) }
    expect(await links(started)).toEqual([use, { line: 11, from: 7, to: 18, target: started.csv }])
    rmSync(join(started.path, 'evening.csv'))
    await started.tell(started.csv, 3)
    await expect.poll(() => links(started), { timeout: 60_000 }).toEqual([use])
  })
})

describe('a log of a file that is not open', () => {
  it('counts in what is found in the folder', async () => {
    folder = temporaryFolder({ 'bench.detent': bench, 'runs.detent': runs('evening.csv'), 'evening.csv': 'nothing\n' })
    const own = await startClient({ folders: [uriOfPath(folder.path)] })
    client = own
    const inFolder = async (): Promise<readonly unknown[]> => {
      const { items } = await own.request<{
        items: readonly { uri: string; items?: readonly { code?: unknown }[] }[]
      }>('workspace/diagnostic', { previousResultIds: [] })
      return items
        .filter(({ uri }) => uri.endsWith('runs.detent'))
        .flatMap(one => (one.items ?? []).map(({ code }) => code))
    }
    await expect.poll(inFolder, { timeout: 60_000 }).toContain('run-log')
  })
})
