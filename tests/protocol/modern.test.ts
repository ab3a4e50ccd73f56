import { describe, expect, it } from 'vitest'
import type {
  CodeAction,
  CompletionItem,
  CompletionList,
  DocumentSymbol,
  FoldingRange,
  Hover,
  TextEdit,
} from 'vscode-languageserver/node'
import { parseFile } from '../../grammar/file.ts'
import { format } from '../../grammar/printer.ts'
import { createService } from '../../server/service.ts'
import { bench, dailyText } from '../features/bench.ts'
import { type ClientOptions, eventually, type TestClient } from '../harness/client.ts'
import { memoryFiles } from '../harness/file-systems.ts'
import { testClients } from './test-clients.ts'

const folder = 'memory://bench/'
const benchUri = `${folder}bench.detent`
const profileUri = `${folder}daily.detent`
const profile = `detent 1
use "bench.detent"

${dailyText()}`

const started = testClients()

async function start(options: ClientOptions = {}): Promise<TestClient> {
  return started({ folders: [folder], files: { [benchUri]: bench, [profileUri]: profile }, ...options })
}

const at = (text: string, piece: string): { line: number; character: number } => {
  const before = text.slice(0, text.indexOf(piece)).split('\n')
  return { line: before.length - 1, character: before.at(-1)?.length ?? 0 }
}

const codes = (items: readonly { code?: unknown }[]): readonly unknown[] => items.map(({ code }) => code).sort()

describe('findings', () => {
  it('are there for an open file, with the page of the check', async () => {
    const { open, diagnostics } = await start()
    await open(profileUri, profile.replace('3 to 12', '5 to 12'))
    const items = await diagnostics(profileUri)
    const gap = items.find(one => one.code === 'steps-gap')
    expect(gap?.severity).toBe(1)
    expect(gap?.message).toContain('3 to 4 active cores')
    expect(gap?.codeDescription?.href).toBe('file:///reference/checks.md#steps-gap')
  })

  it('are reported as unchanged where nothing changed', async () => {
    const { open, request } = await start()
    await open(profileUri, profile)
    const ask = (previousResultId?: string): Promise<{ kind: string; resultId: string }> =>
      request('textDocument/diagnostic', { textDocument: { uri: profileUri }, previousResultId })
    const first = await ask()
    expect(first.kind).toBe('full')
    expect(await ask(first.resultId)).toEqual({ kind: 'unchanged', resultId: first.resultId })
    expect((await ask('another')).kind).toBe('full')
  })

  it('are never sent to a client that asks', async () => {
    const { open, diagnostics, log } = await start()
    await open(profileUri, profile.replace('3 to 12', '5 to 12'))
    await diagnostics(profileUri)
    await new Promise(resolve => setTimeout(resolve, 300))
    expect(
      log.filter(({ message }) => (message as { method?: string }).method === 'textDocument/publishDiagnostics'),
    ).toEqual([])
  })

  it('of all files of the folder are there, closed ones too', async () => {
    const { request } = await start({
      files: { [benchUri]: bench, [profileUri]: profile.replace('sample-b7', 'nobody') },
    })
    const { items } = await request<{ items: { uri: string; items: { code: string }[] }[] }>('workspace/diagnostic', {
      previousResultIds: [],
    })
    expect(items.map(one => one.uri).sort()).toEqual([benchUri, profileUri])
    expect(codes(items.find(one => one.uri === profileUri)?.items ?? [])).toContain('unknown-name')
  })

  it('are asked for again when a used file changes, and then are others', async () => {
    const { open, change, diagnostics, notify, refreshes } = await start()
    await open(benchUri, bench)
    await open(profileUri, profile)
    expect(codes(await diagnostics(profileUri))).not.toContain('unknown-name')
    await new Promise(resolve => setTimeout(resolve, 300))
    const before = refreshes()
    await change(benchUri, 2, [{ text: bench.replace('part sample-b7', 'part sample-b8') }])
    // A name that is typed again waits for its end.
    await notify('textDocument/didSave', { textDocument: { uri: benchUri } })
    await eventually('a refresh', () => (refreshes() > before ? true : undefined))
    expect(codes(await diagnostics(profileUri))).toContain('unknown-name')
  })

  it('follow files that are made, changed and deleted outside the editor', async () => {
    const files: Record<string, string> = { [profileUri]: profile }
    const { open, notify, diagnostics, refreshes } = await start({ files })
    await open(profileUri, profile)
    expect(codes(await diagnostics(profileUri))).toContain('use-missing')
    const tell = async (type: number): Promise<void> => {
      const before = refreshes()
      await notify('workspace/didChangeWatchedFiles', { changes: [{ uri: benchUri, type }] })
      await eventually('a refresh', () => (refreshes() > before ? true : undefined))
    }
    files[benchUri] = bench
    await tell(1)
    expect(codes(await diagnostics(profileUri))).toEqual([])
    files[benchUri] = bench.replace('part sample-b7', 'part sample-b8')
    await tell(2)
    expect(codes(await diagnostics(profileUri))).toContain('unknown-name')
    delete files[benchUri]
    await tell(3)
    expect(codes(await diagnostics(profileUri))).toContain('use-missing')
  })

  it('have the severities of the settings of their folder', async () => {
    const other = 'memory://other/'
    const text = profile.replace('3 to 12', '5 to 12')
    const { open, diagnostics } = await start({
      folders: [folder, other],
      files: { [benchUri]: bench, [`${other}bench.detent`]: bench },
      settings: scope => (scope?.startsWith(other) ? { checks: { severity: { 'steps-gap': 'hint' } } } : {}),
    })
    await open(profileUri, text)
    await open(`${other}daily.detent`, text)
    const severity = async (uri: string): Promise<unknown> =>
      (await diagnostics(uri)).find(one => one.code === 'steps-gap')?.severity
    expect([await severity(profileUri), await severity(`${other}daily.detent`)]).toEqual([1, 4])
  })

  it('of a folder come with it and go with it', async () => {
    const other = 'memory://other/'
    const { request, notify } = await start({ files: { [benchUri]: bench, [`${other}b.detent`]: profile } })
    const uris = async (): Promise<readonly string[]> => {
      const report = await request<{ items: { uri: string }[] }>('workspace/diagnostic', { previousResultIds: [] })
      return report.items.map(item => item.uri).sort()
    }
    expect(await uris()).toEqual([benchUri])
    const one = { uri: other, name: 'other' }
    await notify('workspace/didChangeWorkspaceFolders', { event: { added: [one], removed: [] } })
    expect(await uris()).toEqual([benchUri, `${other}b.detent`])
    await notify('workspace/didChangeWorkspaceFolders', { event: { added: [], removed: [one] } })
    expect(await uris()).toEqual([benchUri])
  })

  it('change with the settings, and nonsense in them does no harm', async () => {
    let severity: unknown = 'off'
    const { open, diagnostics, notify } = await start({
      settings: () => ({ checks: { severity: { 'steps-gap': severity } } }),
    })
    await open(profileUri, profile.replace('3 to 12', '5 to 12'))
    expect(codes(await diagnostics(profileUri))).not.toContain('steps-gap')
    severity = { not: 'a severity' }
    await notify('workspace/didChangeConfiguration', { settings: null })
    expect(codes(await diagnostics(profileUri))).toContain('steps-gap')
  })
})

describe('changes', () => {
  it('piece by piece come to the same as the whole text', async () => {
    const { open, change, diagnostics } = await start()
    const text = `${profile}# µ Ω °C 🌡 end\r\n`
    await open(profileUri, text)
    await change(profileUri, 2, [
      { range: { start: at(text, '🌡'), end: at(text, ' end') }, text: '' },
      { range: { start: at(text, '3 to 12'), end: at(text, ' to 12') }, text: '5' },
      { range: { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } }, text: '# °\n' },
    ])
    const gap = (await diagnostics(profileUri)).find(one => one.code === 'steps-gap')
    expect(gap?.message).toContain('3 to 4')
    const whole = `${folder}whole.detent`
    await open(whole, `# °\n${text.replace('3 to 12', '5 to 12').replace('🌡', '')}`)
    expect(await diagnostics(profileUri)).toEqual(await diagnostics(whole))
  })
})

describe('reading', () => {
  it('hovers with the figure that is predicted', async () => {
    const text = `${profile}load one { cores 1 }\n`
    const { open, request } = await start()
    await open(profileUri, text)
    const position = at(text, '57x')
    const hover = await request<Hover>('textDocument/hover', { textDocument: { uri: profileUri }, position })
    const service = createService(memoryFiles({ [benchUri]: bench, [profileUri]: text }))
    await service.workspace.load([profileUri])
    const [evaluation] = service.evaluations(profileUri)
    const one = evaluation?.predictions.find(prediction => prediction.load.name === 'one')
    const ghz = ((one?.settled.clockMhz ?? Number.NaN) / 1000).toPrecision(3)
    const value = (hover.contents as { value: string }).value
    expect(value).toMatch(new RegExp(`\\| one \\(1 core\\) +\\| ${ghz.replace('.', '\\.')}\u00a0GHz +\\|`))
    expect(hover.range?.start).toEqual(at(text, '1 to 2 cores   57x'))
  })

  it('hovers with what `±` makes of a load, and lets what is asked meanwhile come first', async () => {
    const uncertain = bench.replace('switching 2.1 nF', 'switching 2.1 nF ± 0.3 nF')
    expect(uncertain).not.toBe(bench)
    const { request, open } = await start({ files: { [benchUri]: uncertain, [profileUri]: profile } })
    // A level of the ladder is near, so that it takes draws, and that for several profiles.
    const others = [81, 82, 83, 84, 85, 86].map(
      limit => `profile p${limit} based-on daily { limits { die ${limit} °C } }\n`,
    )
    const text = `${profile}load render { cores 12; activity 1.0; vector yes }\n${others.join('')}`
    await open(profileUri, text)
    const textDocument = { uri: profileUri }
    const order: string[] = []
    const position = at(text, 'load render')
    const shown = request<Hover>('textDocument/hover', { textDocument, position }).then(hover => {
      order.push('hover')
      return hover
    })
    await request('textDocument/foldingRange', { textDocument }).then(() => order.push('folds'))
    const { contents } = await shown
    expect((contents as { value: string }).value).toContain('2000 seeded draws')
    expect(order).toEqual(['folds', 'hover'])
  })

  it('gives the outline as a tree, and the blocks as folds', async () => {
    const { open, request } = await start()
    await open(profileUri, profile)
    const params = { textDocument: { uri: profileUri } }
    const [symbol] = await request<DocumentSymbol[]>('textDocument/documentSymbol', params)
    expect(symbol?.name).toBe('daily')
    expect(symbol?.children?.map(({ name, detail }) => `${name} ${detail}`)).toEqual([
      'part sample-b7',
      'cooler big-loop',
      'room garage',
      'steps ',
    ])
    const folds = await request<FoldingRange[]>('textDocument/foldingRange', params)
    const line = at(profile, 'profile').line
    expect(folds.map(({ startLine, endLine }) => [startLine, endLine])).toEqual([
      [line, line + 7],
      [line + 4, line + 6],
    ])
  })

  it('folds regions as such, and at the outermost where two folds begin on one line', async () => {
    const { open, request } = await start()
    const text =
      '# region rooms\nroom r { air 20 °C; } room s {\n  air 21 °C\n}\n# endregion\nprofile q { steps {\n 1 core 9x\n}\n}\n'
    await open(profileUri, text)
    const folds = await request<FoldingRange[]>('textDocument/foldingRange', { textDocument: { uri: profileUri } })
    expect(folds).toEqual([
      { startLine: 0, endLine: 4, kind: 'region' },
      { startLine: 1, endLine: 2 },
      { startLine: 5, endLine: 7 },
    ])
  })

  it('completes, and documents what a person stops at', async () => {
    const { open, request } = await start()
    const text = profile.replace('sample-b7', '')
    await open(profileUri, text)
    const position = { ...at(text, '  part'), character: '  part '.length }
    const { items } = await request<CompletionList>('textDocument/completion', {
      textDocument: { uri: profileUri },
      position,
      context: { triggerKind: 2, triggerCharacter: ' ' },
    })
    expect(items.map(one => one.label)).toEqual(['sample-b7'])
    expect(items[0]?.documentation).toBeUndefined()
    const resolved = await request<CompletionItem>('completionItem/resolve', items[0])
    expect((resolved.documentation as { value: string }).value).toContain('part **sample-b7**: 12 cores')
  })

  it('completes signs by the letters that are typed for them', async () => {
    const { open, request } = await start()
    const text = 'room loft {\n  air 20 d\n}\n'
    await open(profileUri, text)
    const position = { line: 1, character: '  air 20 d'.length }
    const {
      items: [item],
    } = await request<CompletionList>('textDocument/completion', {
      textDocument: { uri: profileUri },
      position,
    })
    expect(item).toMatchObject({ label: '°C', textEdit: { newText: '°C' } })
    expect(item?.filterText).toMatch(/^degC /)
  })
})

describe('editing', () => {
  const apply = (text: string, edits: readonly TextEdit[]): string => {
    const lines = text.split('\n')
    const offset = (position: { line: number; character: number }): number =>
      lines.slice(0, position.line).join('\n').length + (position.line > 0 ? 1 : 0) + position.character
    return [...edits]
      .sort((a, b) => offset(b.range.start) - offset(a.range.start))
      .reduce(
        (all, { range, newText }) => all.slice(0, offset(range.start)) + newText + all.slice(offset(range.end)),
        text,
      )
  }
  const untidy = profile.replace('1 to 2 cores   57x', '1 to 2 cores 57 x').replace('  room', '      room')

  it('formats a file with edits of single lines, as the formatter does', async () => {
    const { open, request } = await start()
    await open(profileUri, untidy)
    const options = { tabSize: 8, insertSpaces: false }
    const edits = await request<TextEdit[]>('textDocument/formatting', { textDocument: { uri: profileUri }, options })
    expect(edits.every(({ range }) => range.start.line === range.end.line)).toBe(true)
    expect(edits).toHaveLength(2)
    expect(apply(untidy, edits)).toBe(format(parseFile(untidy)))
  })

  it('formats only the ranges that are asked for', async () => {
    const { open, request } = await start()
    await open(profileUri, untidy)
    const options = { tabSize: 2, insertSpaces: true }
    const line = at(untidy, '      room').line
    const range = { start: { line, character: 0 }, end: { line, character: 3 } }
    const textDocument = { uri: profileUri }
    const one = await request<TextEdit[]>('textDocument/rangeFormatting', { textDocument, range, options })
    expect(one.map(edit => edit.range.start.line)).toEqual([line])
    const many = await request<TextEdit[]>('textDocument/rangesFormatting', { textDocument, ranges: [range], options })
    expect(many).toEqual(one)
  })

  describe('formats the lines of a range', () => {
    const rows = [
      'part q {',
      ' cores 12',
      '   reference 100 MHz',
      '    ratio 8x to 60x',
      '}',
      '',
      '',
      '',
      '  room r {',
      '}',
    ]
    const lines = async (text: string, ranges: readonly [number, number, number, number][]): Promise<unknown> => {
      const { open, request } = await start()
      await open(profileUri, text)
      const params = { textDocument: { uri: profileUri }, options: { tabSize: 2, insertSpaces: true } }
      const asked = ranges.map(([line, character, endLine, endCharacter]) => ({
        start: { line, character },
        end: { line: endLine, character: endCharacter },
      }))
      const edits = await request<TextEdit[]>('textDocument/rangesFormatting', { ...params, ranges: asked })
      if (asked.length === 1) {
        const [range] = asked
        expect(await request('textDocument/rangeFormatting', { ...params, range })).toEqual(edits)
      }
      return edits.map(edit => edit.range.start.line)
    }

    it.each([
      ['one line, selected whole up to the start of the next', [[1, 0, 2, 0]], [1]],
      ['two lines, selected whole', [[1, 0, 3, 0]], [1, 2]],
      ['to the end of a line', [[1, 0, 1, 9]], [1]],
      ['from one line into the next', [[1, 9, 2, 1]], [1, 2]],
      ['words of a line', [[2, 4, 2, 6]], [2]],
      ['no stretch, at the start of a line', [[2, 0, 2, 0]], [2]],
      ['no stretch, at the end of a line', [[2, 21, 2, 21]], [2]],
      ['no stretch, behind lines that are too many', [[8, 0, 8, 0]], [8]],
      ['a line that needs nothing', [[0, 0, 1, 0]], []],
      [
        'many',
        [
          [1, 0, 2, 0],
          [3, 0, 4, 0],
        ],
        [1, 3],
      ],
      ['turned about', [[2, 0, 1, 0]], [1]],
    ] as [string, [number, number, number, number][], number[]][])('%s', async (_, ranges, expected) => {
      expect(await lines(`${rows.join('\n')}\n`, ranges)).toEqual(expected)
      expect(await lines(`${rows.join('\r\n')}\r\n`, ranges)).toEqual(expected)
    })

    it('to the end of the text', async () => {
      const whole = rows.with(-1, '    }').join('\n')
      const last = rows.length - 1
      const edits = await lines(whole, [[0, 0, last, 1]])
      expect(edits).toEqual(await lines(whole, [[0, 0, 99, 0]]))
      expect(edits).toContain(last)
    })
  })

  it('offers a fix, and gives its edit for the version it was made for', async () => {
    const { open, change, request } = await start()
    const text = profile.replace('part sample-b7', 'part sample-b7 {')
    const broken = text.replace('part sample-b7 {', 'part sample-b7').replace('57x', '57,5x')
    await open(profileUri, broken, 7)
    const range = { start: at(broken, '57,5'), end: at(broken, '57,5') }
    const ask = (only?: string[]): Promise<CodeAction[] | null> =>
      request('textDocument/codeAction', {
        textDocument: { uri: profileUri },
        range,
        context: { diagnostics: [], ...(only === undefined ? {} : { only }) },
      })
    expect(await ask(['source'])).toBeNull()
    expect((await ask(['refactor']))?.map(({ title }) => title) ?? []).toEqual([])
    const action = (await ask(['quickfix']))?.find(one => one.diagnostics?.[0]?.code === 'syntax') as CodeAction
    expect(action.isPreferred).toBe(true)
    expect(action.edit).toBeUndefined()
    const resolved = await request<CodeAction>('codeAction/resolve', action)
    expect(resolved.edit?.documentChanges).toEqual([
      {
        textDocument: { uri: profileUri, version: 7 },
        edits: [
          {
            range: {
              start: at(broken, '57,5'),
              end: { ...at(broken, '57,5'), character: at(broken, '57,5').character + 4 },
            },
            newText: '57.5',
          },
        ],
      },
    ])
    await change(profileUri, 8, [{ text: `\n${broken}` }])
    expect((await request<CodeAction>('codeAction/resolve', action)).edit).toBeUndefined()
  })
})
