import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import type { CodeLens } from 'vscode-languageserver/node'
import { revisionAround } from '../../server/workspace/git.ts'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { benchText } from '../cli/helpers.ts'
import { type ClientOptions, modernCapabilities, startClient, type TestClient } from '../harness/client.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'

/** In an editor a run is compared with what its profile set at the revision that it names, once a person asks for that. */

let client: TestClient | undefined
let folder: TemporaryFolder | undefined

afterEach(async () => {
  const problems = await client?.stop()
  client = undefined
  folder?.[Symbol.dispose]()
  folder = undefined
  expect(problems ?? []).toEqual([])
})

const run = (revision: string): string =>
  `\nrun old of daily under work {\n  revision "${revision}"\n  air 20 °C\n  humidity 40 %\n  measured { clock 4.600 GHz }\n}\n`

/** Our own client. */
const ours = { looksUpRevisions: true, isTrusted: true }

async function opened(revision: (then: string) => string, options: ClientOptions = { initializationOptions: ours }) {
  folder = temporaryFolder({})
  startRepository(folder.path)
  const then = commitFiles(folder.path, { 'a.detent': benchText() })
  const text = benchText().replace('46x', '42x') + run(revision(then))
  commitFiles(folder.path, { 'a.detent': text })
  const own = await startClient({ folders: [uriOfPath(folder.path)], capabilities: modernCapabilities, ...options })
  client = own
  const uri = uriOfPath(join(folder.path, 'a.detent'))
  await own.open(uri, text)
  const position = { line: text.split('\n').findIndex(one => one.startsWith('run old')), character: 5 }
  const hover = async (): Promise<string> =>
    JSON.stringify(await own.request('textDocument/hover', { textDocument: { uri }, position }))
  const lens = async (): Promise<CodeLens['command']> =>
    (await own.request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } })).find(({ command }) =>
      /revision/i.test(command?.title ?? ''),
    )?.command
  const lookUp = (): Promise<unknown> => own.request('detent/lookUpRevisions', { uri })
  return { own, uri, text, then, hover, lens, lookUp, found: () => own.diagnostics(uri) }
}

describe('a run that names a revision', () => {
  it('has it looked up by a lens, and no finding where it went as its profile was set then', async () => {
    const { then, hover, found, lens, lookUp, uri } = await opened(name => name)
    expect(await hover()).toContain(`revision ${then} is not looked up yet`)
    expect(await lens()).toEqual({
      title: `Look up revision ${then}`,
      command: 'detent.lookUpRevisions',
      arguments: [uri],
    })
    expect(await lookUp()).toEqual({ runs: 1, notHad: 0 })
    expect(await hover()).toContain(`predicted with what its profile set at revision ${then}`)
    expect(await lens()).toBeUndefined()
    expect(JSON.stringify(await found())).not.toMatch(/run-log|prediction-off/)
  })

  it('has its finding where the revision is not there, and is compared with what is set now', async () => {
    const { found, lookUp } = await opened(() => 'fffffff')
    expect(await found()).toEqual([])
    expect(await lookUp()).toEqual({ runs: 1, notHad: 1 })
    expect((await found()).map(({ code }) => code)).toEqual(expect.arrayContaining(['run-log', 'prediction-off']))
  })

  it('has no character in a lens or a finding that turns the direction of a text', async () => {
    const { lens, found, lookUp } = await opened(() => 'HEAD\u202egnp')
    expect((await lens())?.title).toBe('Look up revision HEAD\\u202egnp')
    expect(await lookUp()).toEqual({ runs: 1, notHad: 1 })
    const messages = (await found()).map(({ message }) => message).join('\n')
    expect(messages).toContain('HEAD\\u202egnp')
    expect(messages).not.toContain('\u202e')
  })

  it('has it looked up in an editor that knows nothing of ours, by a command of the server', async () => {
    const { own, hover, lens } = await opened(name => name, {})
    const command = await lens()
    expect(command?.command).toBe('detent.server.lookUpRevisions')
    expect(own.initialized.capabilities.executeCommandProvider?.commands).toContain(command?.command)
    await own.request('workspace/executeCommand', { command: command?.command, arguments: command?.arguments })
    expect(await hover()).toContain('predicted with what its profile set at revision')
  })
})

describe('git', () => {
  it('is not started by opening, typing, hovering, a lens or a picture, and once where it is asked for twice at once', async () => {
    const asked: string[] = []
    const revisionOf: ClientOptions['revisionOf'] = async (uri, revision) => {
      asked.push(revision)
      // Long enough for whoever asks meanwhile.
      await new Promise(resolve => setTimeout(resolve, 100))
      return revisionAround(uri, revision)
    }
    const { own, uri, text, hover, found, lens, lookUp } = await opened(() => 'HEAD', {
      initializationOptions: ours,
      revisionOf,
    })
    await own.change(uri, 2, [{ text: `${text}\n# more\n` }])
    await hover()
    await found()
    await lens()
    const line = text.split('\n').findIndex(one => one.startsWith('profile daily'))
    const view = await own.request('detent/view', { textDocument: { uri }, position: { line, character: 4 } })
    expect(view).toMatchObject({ kind: 'map' })
    expect(asked).toEqual([])
    const [first, second] = await Promise.all([lookUp(), lookUp()])
    expect(first).toEqual({ runs: 1, notHad: 0 })
    expect(second).toEqual(first)
    expect(asked).toEqual(['HEAD'])
  })

  it('is not started in a workspace that is not trusted, until it is', async () => {
    const options = { initializationOptions: { looksUpRevisions: true, isTrusted: false } }
    const { own, hover, lens, lookUp } = await opened(name => name, options)
    const refused = { trouble: 'This workspace is not trusted: git is not started in it.' }
    expect(await lookUp()).toEqual(refused)
    expect(await lens()).toMatchObject({ command: '', title: expect.stringContaining('the workspace is not trusted') })
    expect(await own.request('detent/profiles', {})).toMatchObject({ revisions: false })
    expect(await hover()).toContain('is not looked up yet')
    await own.notify('detent/trust', { isTrusted: true })
    expect(await lookUp()).toEqual({ runs: 1, notHad: 0 })
    expect(await hover()).toContain('predicted with what its profile set at revision')
  })

  it('is not started where a client speaks of trust and does not say yes', async () => {
    const { lookUp } = await opened(() => 'HEAD', { initializationOptions: { ...ours, isTrusted: 'yes' } })
    expect(await lookUp()).toMatchObject({ trouble: expect.stringContaining('not trusted') })
  })
})
