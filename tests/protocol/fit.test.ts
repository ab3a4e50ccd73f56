import { cpSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import {
  CancellationTokenSource,
  type CodeAction,
  type CreateFile,
  LSPErrorCodes,
  type TextDocumentEdit,
} from 'vscode-languageserver/node'
import { TextDocument } from 'vscode-languageserver-textdocument'
import { formattedText } from '../../server/service.ts'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { detent } from '../cli/helpers.ts'
import {
  type ClientOptions,
  modernCapabilities,
  oldCapabilities,
  startClient,
  type TestClient,
} from '../harness/client.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'
import { root } from '../harness/sources.ts'

/** Fits asked for over the protocol, on the example bench: what they write is what the command writes. */

let client: TestClient | undefined
let folder: TemporaryFolder | undefined

/** The runs that are fitted where any will do: two with logs, one by hand. */
const few = ['heavy-render', 'light-compile', 'light-by-hand']

/** The example bench with all of its runs, or with a few, which are fitted in a fraction of the time. */
function exampleCopy(size: 'whole' | 'few'): TemporaryFolder {
  const made = temporaryFolder({})
  cpSync(join(root, 'grammar/examples/bench'), made.path, { recursive: true })
  if (size === 'few') {
    const path = join(made.path, 'runs.detent')
    const [head = '', ...runs] = readFileSync(path, 'utf8').split(/^(?=run )/m)
    const kept = runs.filter(text => few.some(name => text.startsWith(`run ${name} `)))
    writeFileSync(path, [head, ...kept].join(''))
  }
  return made
}

interface Started extends TestClient {
  readonly path: string
  readonly uri: string
  readonly text: string
}

async function start(options: ClientOptions = {}, size: 'whole' | 'few' = 'whole'): Promise<Started> {
  folder = exampleCopy(size)
  const { path } = folder
  client = await startClient({ folders: [uriOfPath(path)], ...options })
  const uri = uriOfPath(join(path, 'bench.detent'))
  const text = readFileSync(join(path, 'bench.detent'), 'utf8')
  await client.open(uri, text, 5)
  return { ...client, path, uri, text }
}

afterEach(async () => {
  const problems = await client?.stop()
  client = undefined
  folder?.[Symbol.dispose]()
  folder = undefined
  expect(problems ?? []).toEqual([])
})

function rangeOf(text: string, piece: string) {
  const document = TextDocument.create('', '', 0, text)
  const start = document.positionAt(text.indexOf(piece))
  return { start, end: start }
}

async function actionsAt({ request, uri, text }: Started, piece: string, more: object = {}): Promise<CodeAction[]> {
  const context = { diagnostics: [], ...more }
  const params = { textDocument: { uri }, range: rangeOf(text, piece), context }
  return (await request<CodeAction[] | null>('textDocument/codeAction', params)) ?? []
}

type Written = readonly [part: string, companion: string]

/** What the command writes into a copy of its own. */
async function writtenByCommand(): Promise<Written> {
  using copy = exampleCopy('whole')
  const { code } = await detent(copy.path, ['fit', 'runs.detent', '--part', 'sample-b7', '--write'])
  expect(code).toBe(0)
  const read = (name: string): string => readFileSync(join(copy.path, name), 'utf8')
  return [read('bench.detent'), read('sample-b7.fitted.detent')]
}

/** A client whose edits may make files. */
const makesFiles: ClientOptions = {
  capabilities: {
    ...modernCapabilities,
    workspace: {
      ...modernCapabilities.workspace,
      workspaceEdit: { documentChanges: true, resourceOperations: ['create'] },
    },
  },
}

function applied(text: string, changes: readonly (TextDocumentEdit | CreateFile)[] | undefined, uri: string): string {
  const edits =
    changes
      ?.filter((one): one is TextDocumentEdit => 'textDocument' in one && one.textDocument.uri === uri)
      .flatMap(one => one.edits) ?? []
  return TextDocument.applyEdits(TextDocument.create(uri, 'detent', 1, text), edits as never)
}

describe('the fit among the actions of a part', () => {
  it('is offered on its head alone, and for the kinds that it is of', async () => {
    const started = await start()
    const [action, ...others] = await actionsAt(started, 'sample-b7 {')
    expect(others).toEqual([])
    expect(action).toMatchObject({ title: 'Fit sample-b7 to its 10 runs', kind: 'refactor.rewrite' })
    expect(action).not.toHaveProperty('edit')
    expect(await actionsAt(started, 'switching ')).toEqual([])
    expect(await actionsAt(started, 'cooler big-loop')).toEqual([])
    expect(await actionsAt(started, 'part sample', { only: ['refactor'] })).toHaveLength(1)
    expect(await actionsAt(started, 'part sample', { only: ['quickfix'] })).toEqual([])
    expect(await actionsAt(started, 'part sample', { only: ['refactor.rewrites'] })).toEqual([])
  })

  it('writes, once it is chosen, what the command writes, for the version that is open', async () => {
    const started = await start(makesFiles)
    const { request, uri, text, path } = started
    const [action] = await actionsAt(started, 'part sample')
    const { edit } = await request<CodeAction>('codeAction/resolve', action)
    const changes = edit?.documentChanges as (TextDocumentEdit | CreateFile)[] | undefined
    const beside = uriOfPath(join(path, 'sample-b7.fitted.detent'))
    const create = { kind: 'create', uri: beside, options: { overwrite: false, ignoreIfExists: false } }
    expect(changes?.map(one => ('kind' in one ? one : one.textDocument))).toEqual([
      create,
      { uri: beside, version: null },
      { uri, version: 5 },
    ])
    const after = formattedText(applied(text, changes, uri))
    expect(after).toMatch(/switching +2\.\d+ nF ± 0\.0\d+ nF/)
    const companion = formattedText(applied('', changes, beside))
    expect(companion).toMatch(/correlated leakage leakage-doubling 0\.9\d{2}/)
    expect([after, companion]).toEqual(await writtenByCommand())
  })

  it('puts what belongs beside the part behind its own text, where the client makes no files', async () => {
    const started = await start({}, 'few')
    const { request, uri, text } = started
    const [action] = await actionsAt(started, 'part sample')
    const { edit } = await request<CodeAction>('codeAction/resolve', action)
    const changes = edit?.documentChanges as TextDocumentEdit[] | undefined
    expect(changes?.map(one => one.textDocument)).toEqual([{ uri, version: 5 }])
    const after = applied(text, changes, uri)
    expect(after).not.toContain('sample-b7.fitted.detent')
    expect(after).toMatch(/\}\n\nfitted sample-b7 \{\n/)
    await started.change(uri, 6, [{ text: after }])
    // What it rests on reads, and a fit of the same runs has nothing to write.
    const second = await request<Fit>('detent/fit', { uri, part: 'sample-b7' })
    expect(second.markdown).toContain('Starts from what was known before the runs in the values')
    expect(second.edit).toBeUndefined()
  })

  it('is no edit for a text that changed meanwhile', async () => {
    const started = await start({}, 'few')
    const [action] = await actionsAt(started, 'part sample')
    const range = { start: { line: 0, character: 8 }, end: { line: 0, character: 8 } }
    await started.change(started.uri, 6, [{ range, text: ' # now' }])
    expect(await started.request('codeAction/resolve', action)).toEqual(action)
  })

  it('is not offered where it would be made before it is chosen, or where no run was made with the part', async () => {
    const { textDocument } = modernCapabilities
    const { codeActionLiteralSupport } = textDocument?.codeAction ?? {}
    const codeAction = { codeActionLiteralSupport: codeActionLiteralSupport! }
    const old = await start({ capabilities: { ...modernCapabilities, textDocument: { ...textDocument, codeAction } } })
    expect(await actionsAt(old, 'part sample')).toEqual([])
    await old.stop()
    const other = await start()
    const alone = uriOfPath(join(other.path, 'alone.detent'))
    await other.open(alone, other.text.replaceAll('sample-b7', 'sample-c9'))
    expect(await actionsAt({ ...other, uri: alone }, 'part sample')).toEqual([])
  })

  it('fits one figure as well: nothing is refused', async () => {
    const started = await start({ initializationOptions: { showsPapers: true } })
    const runs = uriOfPath(join(started.path, 'runs.detent'))
    const one = 'detent 1\nuse "heavy-work.detent"\nrun r of heavy-work under render { measured { power 200 W } }\n'
    await started.open(runs, one)
    const [action] = await actionsAt(started, 'part sample')
    expect(action?.title).toBe('Fit sample-b7 to its run')
    const resolved = await started.request<CodeAction>('codeAction/resolve', action)
    expect(resolved.edit).toBeDefined()
    const paper = await started.request<{ markdown: string; told: string; edit?: unknown }>('detent/fit', {
      uri: started.uri,
      part: 'sample-b7',
    })
    // A power under the load that is predicted tells of the power law, and most stays as it was stated.
    expect(paper.told).toMatch(/^\d+ constants fitted to 1 run$/)
    expect(paper.markdown).toContain('mostly as stated')
  })

  it('says why, where nothing can be fitted', async () => {
    const started = await start()
    const runs = uriOfPath(join(started.path, 'runs.detent'))
    const one = 'detent 1\nuse "heavy-work.detent"\nrun r of heavy-work under render { held 1 h }\n'
    await started.open(runs, one)
    const paper = await started.request<{ markdown: string; told: string; edit?: unknown }>('detent/fit', {
      uri: started.uri,
      part: 'sample-b7',
    })
    expect(paper.markdown).toMatch(/Nothing is fitted: (?:no run can be used|there is no run)/)
    expect(paper.edit).toBeUndefined()
  })
})

interface Fit {
  readonly markdown: string
  readonly told: string
  readonly edit?: { readonly documentChanges?: TextDocumentEdit[] }
  readonly trouble?: string
}

describe('the fit as a paper', () => {
  it('has constants, residuals and correlations, and the edit to be made once it was seen', async () => {
    const { request, uri, text } = await start(makesFiles)
    const { markdown, told, edit } = await request<Fit>('detent/fit', { uri, part: 'sample-b7' })
    expect(told).toMatch(/^\d+ constants fitted to 10 runs$/)
    expect(markdown).toMatch(/^# Fit of part sample-b7\n/)
    expect(markdown).toMatch(/\| switching +\| 2\.3 +\| 2\.\d+ +\| 0\.\d+ +\| 2\.\d+ to 2\.\d+ +\| nF/)
    expect(markdown).toMatch(/\| winter-render +\| 240\.0 /)
    expect(markdown).toMatch(/\| leakage +\| leakage-doubling +\| 0\.9\d+ +\|/)
    expect(markdown).toContain('needs-slope is left alone')
    expect(formattedText(applied(text, edit?.documentChanges, uri))).not.toBe(formattedText(text))
  })

  it('reaches coolers in files that the part does not see', async () => {
    const started = await start({}, 'few')
    const { uri, text, path } = started
    const at = text.indexOf('cooler big-loop')
    const end = text.indexOf('\n}\n', at) + 3
    const coolers = uriOfPath(join(path, 'loops.detent'))
    await started.open(coolers, `detent 1\n\n${text.slice(at, end)}`)
    await started.change(uri, 6, [{ text: text.slice(0, at) + text.slice(end) }])
    for (const name of ['heavy-work', 'light-work', 'cold-tank', 'plate-stack']) {
      const own = readFileSync(join(path, `${name}.detent`), 'utf8')
      await started.open(uriOfPath(join(path, `${name}.detent`)), own.replace('\nuse ', '\nuse "loops.detent"\nuse '))
    }
    const { edit } = await started.request<Fit>('detent/fit', { uri, part: 'sample-b7' })
    const changed = edit?.documentChanges?.map(one => one.textDocument)
    expect(changed?.toSorted((a, b) => (a.uri < b.uri ? -1 : 1))).toEqual([
      { uri, version: 6 },
      { uri: coolers, version: 1 },
    ])
  })

  it('is made between other answers: what is asked later is answered before', async () => {
    const { request, uri, text } = await start({}, 'few')
    const order: string[] = []
    const fit = request<Fit>('detent/fit', { uri, part: 'sample-b7' }).then(() => order.push('fit'))
    const position = rangeOf(text, 'switching').start
    // Each is asked once the one before is answered: the fit lets all of them in between.
    for (let count = 0; count < 5; count++) {
      await request('textDocument/hover', { textDocument: { uri }, position })
      order.push('hover')
    }
    await fit
    expect(order).toEqual(['hover', 'hover', 'hover', 'hover', 'hover', 'fit'])
  })

  it('ends where it is taken back', async () => {
    const { connection, request, uri, text } = await start({}, 'few')
    const position = rangeOf(text, 'switching').start
    const source = new CancellationTokenSource()
    const asked = connection.sendRequest('detent/fit', { uri, part: 'sample-b7' }, source.token)
    for (let count = 0; count < 5; count++) await request('textDocument/hover', { textDocument: { uri }, position })
    source.cancel()
    await expect(asked).rejects.toMatchObject({ code: LSPErrorCodes.RequestCancelled })
  })

  it('is asked for by the list of parts, the ones with runs first', async () => {
    const { request, uri } = await start()
    const [first] = await request<{ uri: string; part: string; runs: number }[]>('detent/parts', {})
    expect(first).toEqual({ uri, part: 'sample-b7', runs: 10 })
  })

  it('says what is not there', async () => {
    const { request, uri } = await start({ capabilities: oldCapabilities })
    expect((await request<Fit>('detent/fit', { uri, part: 'no-such' })).trouble).toContain('no part no-such')
    expect((await request<Fit>('detent/fit', { part: 'sample-b7' })).trouble).toBe('No part is named.')
  })
})
