import { describe, expect, it } from 'vitest'
import type { CodeAction, Diagnostic, Hover } from 'vscode-languageserver/node'
import { bench } from '../features/bench.ts'
import {
  type ClientOptions,
  eventually,
  modernCapabilities,
  oldCapabilities,
  type TestClient,
} from '../harness/client.ts'
import { testClients } from './test-clients.ts'

/** Documents that are only looked at, as the older side of a comparison is: an editor opens them like any other. */

const text = `${bench}
profile daily {
  part sample-b7
  steps {
    1 to 2 cores   57x
    5 to 12 cores  50x
  }
}
`
const older = ['git:/w/bench/a.detent?%7B%22ref%22%3A%22HEAD%22%7D', 'fugitive:///w/.git//0a1b2c/a.detent']
const file = 'file:///nowhere/at/all/a.detent'
const held = 'held://shelf/a.detent'

const started = testClients()

async function start(options: ClientOptions): Promise<TestClient> {
  return started(options)
}

describe.each([
  ['is sent findings', oldCapabilities],
  ['asks for findings', modernCapabilities],
] as const)('an editor that %s', (_, capabilities) => {
  /** The codes that each document has, once a file that was opened after them has its own. */
  async function found(own: TestClient, uris: readonly string[]): Promise<readonly (readonly unknown[])[]> {
    for (const uri of [...uris, file]) await own.open(uri, text)
    const codes = (items: readonly Diagnostic[] | undefined): readonly unknown[] =>
      (items ?? []).map(({ code }) => code).filter(code => code === 'steps-gap')
    if (capabilities === modernCapabilities) {
      expect(codes(await own.diagnostics(file))).toEqual(['steps-gap'])
      return Promise.all(uris.map(async uri => codes(await own.diagnostics(uri))))
    }
    await eventually('findings of the file', () => own.published.get(file))
    expect(codes(own.published.get(file)?.diagnostics)).toEqual(['steps-gap'])
    return uris.map(uri => codes(own.published.get(uri)?.diagnostics))
  }

  it.each([
    ['without a folder', []],
    ['with a folder', ['file:///nowhere/at/all']],
  ])('has none in what is only looked at, %s', async (_, folders) => {
    const own = await start({ capabilities, folders })
    expect(await found(own, [...older, held])).toEqual([[], [], []])
    const [uri = ''] = older
    const line = text.split('\n').findIndex(one => one.includes('57x'))
    const place = { textDocument: { uri }, position: { line, character: 6 } }
    expect((await own.request<Hover | null>('textDocument/hover', place))?.contents).toBeDefined()
    const range = { start: { line: 0, character: 0 }, end: { line: 99, character: 0 } }
    const asked = { textDocument: { uri }, range, context: { diagnostics: [] } }
    expect(await own.request<CodeAction[]>('textDocument/codeAction', asked)).toEqual([])
  })

  it('has them where a folder comes from there, and in what was never saved', async () => {
    const own = await start({ capabilities, folders: ['held://shelf'] })
    expect(await found(own, [held, 'untitled:Untitled-1', ...older])).toEqual([['steps-gap'], ['steps-gap'], [], []])
  })

  it('has them in all that it opens where it says that it leaves comparisons out', async () => {
    const own = await start({ capabilities, initializationOptions: { leavesOutComparisons: true } })
    expect(await found(own, [held])).toEqual([['steps-gap']])
  })
})

it('findings come with a folder and go with it', async () => {
  const workspace = { workspaceFolders: true }
  const own = await start({ capabilities: { ...oldCapabilities, workspace } })
  await own.open(held, text)
  const folder = { uri: 'held://shelf', name: 'shelf' }
  const tell = (event: unknown): Promise<void> => own.notify('workspace/didChangeWorkspaceFolders', { event })
  await tell({ added: [folder], removed: [] })
  const count = (): number | undefined => own.published.get(held)?.diagnostics.length
  await eventually('findings', () => ((count() ?? 0) > 0 ? true : undefined))
  await tell({ added: [], removed: [folder] })
  await eventually('that they are taken back', () => (count() === 0 ? true : undefined))
})
