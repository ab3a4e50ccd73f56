import { readFileSync } from 'node:fs'
import { join, matchesGlob } from 'node:path'
import { describe, expect, it } from 'vitest'
import type {
  CodeLens,
  DefinitionLink,
  DocumentHighlight,
  DocumentLink,
  InlayHint,
  Location,
  SelectionRange,
  SemanticTokens,
  WorkspaceEdit,
  WorkspaceSymbol,
} from 'vscode-languageserver/node'
import { bench, dailyText } from '../features/bench.ts'
import { type ClientOptions, eventually, modernCapabilities, type TestClient } from '../harness/client.ts'
import { root } from '../harness/sources.ts'
import { testClients } from './test-clients.ts'

const folder = 'memory://bench/'
const benchUri = `${folder}bench.detent`
const uri = `${folder}daily.detent`
const text = `detent 1
use "bench.detent"

${dailyText(['expect pair holds >= 5.0 GHz'])}`

const started = testClients()

async function start(options: ClientOptions = {}): Promise<TestClient> {
  const client = await started({ folders: [folder], files: { [benchUri]: bench }, ...options })
  await client.open(uri, text, 3)
  return client
}

const at = (piece: string, of = text): { line: number; character: number } => {
  const before = of.slice(0, of.indexOf(piece)).split('\n')
  return { line: before.length - 1, character: before.at(-1)?.length ?? 0 }
}
const here = (piece: string) => ({ textDocument: { uri }, position: at(piece) })

describe('names', () => {
  it('lead to their definition, in the client’s own spelling of the address', async () => {
    const { request } = await start()
    const [link] = await request<DefinitionLink[]>('textDocument/definition', here('garage'))
    expect(link?.targetUri).toBe(benchUri)
    expect(link?.targetSelectionRange.start).toEqual(at('garage', bench))
    expect(link?.originSelectionRange?.start).toEqual(at('garage'))
  })

  it('are found, and highlighted in the file', async () => {
    const { request } = await start()
    const context = { includeDeclaration: true }
    const found = await request<Location[]>('textDocument/references', { ...here('garage'), context })
    expect(found.map(one => one.uri)).toEqual([benchUri, uri])
    const uses = await request<Location[]>('textDocument/references', {
      ...here('garage'),
      context: { includeDeclaration: false },
    })
    expect(uses.map(one => one.uri)).toEqual([uri])
    const marked = await request<DocumentHighlight[]>('textDocument/documentHighlight', here('garage'))
    expect(marked.map(({ kind, range }) => [kind, range.start])).toEqual([[2, at('garage')]])
  })

  it('are renamed in open and closed files, for the version that is open', async () => {
    const { request } = await start()
    expect(await request('textDocument/prepareRename', here('garage'))).toMatchObject({ placeholder: 'garage' })
    expect(await request('textDocument/prepareRename', here('steps'))).toBeNull()
    const edit = await request<WorkspaceEdit>('textDocument/rename', { ...here('garage'), newName: 'attic' })
    expect(edit.documentChanges?.map(change => 'textDocument' in change && change.textDocument)).toEqual([
      { uri: benchUri, version: null },
      { uri, version: 3 },
    ])
    await expect(request('textDocument/rename', { ...here('garage'), newName: 'no name' })).rejects.toThrow(
      /not a name/,
    )
  })

  it('are renamed in twenty files by one edit, the open ones for the version that is open', async () => {
    const profileOf = (number: number): string => `${folder}profile-${number}.detent`
    const textOf = (number: number): string => text.replaceAll('daily', `day-${number}`)
    const files = Object.fromEntries(Array.from({ length: 20 }, (_, number) => [profileOf(number), textOf(number)]))
    const { request, change, open } = await start({ files: { [benchUri]: bench, ...files } })
    for (const number of [3, 11]) await open(profileOf(number), textOf(number), 7)
    // What is renamed is the text as it is typed, not as it is on the disk.
    const inserted = { range: { start: at('profile'), end: at('profile') }, text: 'profile other based-on daily {}\n' }
    await change(uri, 4, [inserted])
    const edit = await request<WorkspaceEdit>('textDocument/rename', {
      textDocument: { uri: benchUri },
      position: at('sample-b7', bench),
      newName: 'sample-b8',
    })
    const changes = (edit.documentChanges ?? []).filter(one => 'textDocument' in one)
    const versions = new Map(changes.map(({ textDocument }) => [textDocument.uri, textDocument.version]))
    const expected = new Map<string, number | null>([
      [benchUri, null],
      [uri, 4],
    ])
    for (const name of Object.keys(files)) expected.set(name, null)
    for (const number of [3, 11]) expected.set(profileOf(number), 7)
    expect(versions).toEqual(expected)
    const line = (piece: string, of: string): number => at(piece, of).line
    for (const { textDocument, edits } of changes) {
      const own = textDocument.uri === benchUri ? line('part sample-b7', bench) : line('part sample-b7', text)
      expect(edits.map(one => 'newText' in one && [one.newText, one.range.start.line])).toEqual([
        ['sample-b8', textDocument.uri === uri ? own + 1 : own],
      ])
    }
    expect(edit.changes).toBeUndefined()
  })

  it('of all files are found by their letters', async () => {
    const { request } = await start()
    const found = await request<WorkspaceSymbol[]>('workspace/symbol', { query: 'yad' })
    expect(found).toEqual([])
    const [daily] = await request<WorkspaceSymbol[]>('workspace/symbol', { query: 'dly' })
    expect(daily).toMatchObject({ name: 'daily', location: { uri } })
  })
})

describe('files', () => {
  it('are linked, and links follow a rename', async () => {
    const { request } = await start()
    const links = await request<DocumentLink[]>('textDocument/documentLink', { textDocument: { uri } })
    expect(links).toEqual([
      { range: { start: { line: 1, character: 5 }, end: { line: 1, character: 17 } }, target: benchUri },
    ])
    const files = [{ oldUri: benchUri, newUri: `${folder}lib/my bench.detent` }]
    const edit = await request<WorkspaceEdit>('workspace/willRenameFiles', { files })
    expect(edit.documentChanges).toEqual([
      {
        textDocument: { uri, version: 3 },
        edits: [
          {
            range: { start: { line: 1, character: 4 }, end: { line: 1, character: 18 } },
            newText: '"lib/my bench.detent"',
          },
        ],
      },
    ])
  })

  it('that are logs take the runs along that name them, whatever the log is called', async () => {
    const run = 'run evening of daily under render { log "logs/evening.csv" { column power "package" W } }\n'
    const runs = `${folder}runs.detent`
    const { request, initialized } = await start({ files: { [benchUri]: bench, [runs]: `detent 1\n${run}` } })
    const { filters } = initialized.capabilities.workspace?.fileOperations?.willRename ?? { filters: [] }
    const isAsked = (path: string, kind: 'file' | 'folder'): boolean =>
      filters.some(
        ({ scheme, pattern }) =>
          scheme === undefined && matchesGlob(path, pattern.glob) && (pattern.matches ?? kind) === kind,
      )
    const moved = async (from: string, to: string, kind: 'file' | 'folder'): Promise<unknown> => {
      expect(isAsked(`/bench/${from}`, kind)).toBe(true)
      const files = [{ oldUri: folder + from, newUri: folder + to }]
      const edit = await request<WorkspaceEdit>('workspace/willRenameFiles', { files })
      return edit.documentChanges?.flatMap(change =>
        'edits' in change ? change.edits.map(one => 'newText' in one && [change.textDocument.uri, one.newText]) : [],
      )
    }
    expect(await moved('logs/evening.csv', 'logs/late one.tsv', 'file')).toEqual([[runs, '"logs/late one.tsv"']])
    expect(await moved('logs/evening.csv', 'kept/evening', 'file')).toEqual([[runs, '"kept/evening"']])
    expect(await moved('logs', 'shelf/2024', 'folder')).toEqual([[runs, '"shelf/2024/evening.csv"']])
    expect(await moved('runs.detent', 'logs/runs.detent', 'file')).toEqual([[runs, '"evening.csv"']])
    expect(isAsked('/bench/logs/evening', 'file')).toBe(true)
  })
})

describe('beside the text', () => {
  it('stand the predicted clock and the expectations, and stay while a line is in error', async () => {
    const { request, change } = await start()
    const range = { start: { line: 0, character: 0 }, end: { line: 99, character: 0 } }
    const hints = async (): Promise<unknown> =>
      (await request<InlayHint[]>('textDocument/inlayHint', { textDocument: { uri }, range })).map(one => one.label)
    const lenses = async (): Promise<unknown> =>
      (await request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } })).map(one => one.command?.title)
    const before = [await hints(), await lenses()]
    expect(before).toEqual([
      [expect.stringMatching(/^\d\.\d\d GHz$/), expect.stringMatching(/^\d\.\d\d GHz$/)],
      ['1 of 1 expectation holds'],
    ])
    await change(uri, 4, [{ text: text.replace('room garage', 'room gar') }])
    expect([await hints(), await lenses()]).toEqual(before)
  })

  it('stand the figure alone, and what is behind it is asked for', async () => {
    const { request } = await start()
    const range = { start: { line: 0, character: 0 }, end: { line: 99, character: 0 } }
    const hints = await request<InlayHint[]>('textDocument/inlayHint', { textDocument: { uri }, range })
    expect(hints.map(one => one.tooltip)).toEqual([undefined, undefined])
    const { tooltip, label } = await request<InlayHint>('inlayHint/resolve', hints[1])
    expect(label).toBe(hints[1]?.label)
    expect(tooltip).toMatchObject({
      kind: 'markdown',
      value: expect.stringMatching(/\n\nSlowest clock \*\*\d\.\d\d GHz\*\*.*: render \(12 cores\), at /),
    })
  })

  it('stand with all there is to say for a client that does not ask again', async () => {
    const { textDocument, ...others } = modernCapabilities
    const { request } = await start({ capabilities: { ...others, textDocument: { ...textDocument, inlayHint: {} } } })
    const range = { start: { line: 0, character: 0 }, end: { line: 99, character: 0 } }
    const hints = await request<InlayHint[]>('textDocument/inlayHint', { textDocument: { uri }, range })
    expect(hints[1]?.tooltip).toMatchObject({ value: expect.stringContaining('render (12 cores)') })
  })

  describe('nothing comes, goes or changes while a line is being typed', () => {
    const examples = ['bench', 'light-work', 'plate-stack'].map(
      name => [name, readFileSync(join(root, 'grammar', 'examples', 'bench', `${name}.detent`), 'utf8')] as const,
    )
    const range = { start: { line: 0, character: 0 }, end: { line: 999, character: 0 } }

    it.each([
      ['plate-stack', '7 to 12 cores  51x', '7 to 12 cores  '],
      ['plate-stack', '  expect idle plate above dew by 2 K', '  expect idle plate above dew by 2 '],
      ['plate-stack', 'profile summer based-on winter', 'profile summer based-on '],
      ['light-work', '9 to 12 cores  45x', '9 to 12 cores  '],
      ['light-work', '9 to 12 cores  45x', '9 to 12 co'],
      ['light-work', 'core needs + 40 mV', 'core needs + '],
      ['light-work', 'expect browse die <= 60 °C', 'expect browse die <= '],
      ['light-work', '    9 to 12 cores  45x', '    \n    9 to 12 cores  4,5x'],
      ['bench', 'switching 2.3 nF', 'switching 2.3 n'],
      ['bench', 'load browse { cores 2', 'load  { cores 2'],
    ])('in %s %j becomes %j', async (name, before, after) => {
      const files = Object.fromEntries(examples.map(([file, content]) => [`${folder}${file}.detent`, content]))
      const client = await started({ folders: [folder], files })
      const { open, change, request } = client
      for (const [file, content] of examples) await open(`${folder}${file}.detent`, content, 1)
      const asked = ['light-work', 'plate-stack'].map(file => `${folder}${file}.detent`)
      const shown = async (): Promise<unknown> => {
        const all: unknown[] = []
        for (const textDocument of asked.map(one => ({ uri: one }))) {
          const hints = await request<InlayHint[]>('textDocument/inlayHint', { textDocument, range })
          const lenses = await request<CodeLens[]>('textDocument/codeLens', { textDocument })
          all.push([...hints.map(one => one.label), ...lenses.map(one => one.command?.title)])
        }
        return all
      }
      const sound = Object.fromEntries(examples)[name] ?? ''
      expect(sound).toContain(before)
      const first = await shown()
      expect(JSON.stringify(first)).toContain('3 of 3 expectations hold')
      const edited = `${folder}${name}.detent`
      await change(edited, 2, [{ text: sound.replace(before, after) }])
      expect(await shown()).toEqual(first)
      // What reads again is reported as it is now.
      const hotter = sound.replace('core needs + 40 mV', 'core needs + 90 mV').replace('switching 2.3', 'switching 2.9')
      await change(edited, 3, [{ text: hotter.replace('drive dew + 2 K', 'drive full') }])
      expect(await shown()).not.toEqual(first)
    })
  })

  it('lead from the count of expectations to them, for the one client that can go there', async () => {
    const ask = async (options?: Parameters<typeof start>[0]): Promise<CodeLens['command']> => {
      const { request } = await start(options)
      return (await request<CodeLens[]>('textDocument/codeLens', { textDocument: { uri } }))[0]?.command
    }
    expect((await ask())?.command).toBe('')
    const own = await ask({ initializationOptions: { showsExpectations: true } })
    expect(own).toMatchObject({ command: 'detent.showExpectations', arguments: [uri, 'daily'] })
    expect(own?.title).toBe('1 of 1 expectation holds')
  })

  it('stand only what the settings want', async () => {
    const { request } = await start({
      settings: () => ({ inlayHints: { predictedClock: false }, codeLens: { expectations: false } }),
    })
    const range = { start: { line: 0, character: 0 }, end: { line: 99, character: 0 } }
    expect(await request('textDocument/inlayHint', { textDocument: { uri }, range })).toEqual([])
    expect(await request('textDocument/codeLens', { textDocument: { uri } })).toEqual([])
  })

  it('are asked for again when another file changes', async () => {
    const { open, change, log } = await start()
    await open(benchUri, bench)
    const asked = (): number =>
      log.filter(({ message }) => (message as { method?: string }).method === 'workspace/inlayHint/refresh').length
    await eventually('the first', () => (asked() > 0 ? true : undefined))
    await new Promise(resolve => setTimeout(resolve, 200))
    const before = asked()
    await change(benchUri, 2, [{ text: bench.replace('2.1 nF', '2.2 nF') }])
    await eventually('another', () => (asked() > before ? true : undefined))
  })

  it('has colours by meaning, the same in part as in whole', async () => {
    const { request } = await start()
    const whole = await request<SemanticTokens>('textDocument/semanticTokens/full', { textDocument: { uri } })
    expect(whole.data.slice(0, 10)).toEqual([0, 0, 6, 0, 0, 1, 0, 3, 0, 0])
    const range = { start: { line: 3, character: 0 }, end: { line: 4, character: 0 } }
    const part = await request<SemanticTokens>('textDocument/semanticTokens/range', { textDocument: { uri }, range })
    expect(part.data).toEqual([3, 0, 7, 3, 0, 0, 8, 5, 2, 1])
  })

  it('widens the selection step by step', async () => {
    const { request } = await start()
    const [first] = await request<SelectionRange[]>('textDocument/selectionRange', {
      textDocument: { uri },
      positions: [at('57x'), { line: 999, character: 9 }],
    })
    let steps = 0
    for (let one: SelectionRange | undefined = first; one !== undefined; one = one.parent) steps++
    expect(steps).toBeGreaterThan(4)
  })
})
