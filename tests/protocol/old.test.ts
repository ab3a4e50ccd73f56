import { describe, expect, it } from 'vitest'
import type { CodeAction, CompletionList, Hover, SymbolInformation } from 'vscode-languageserver/node'
import { bench, dailyText } from '../features/bench.ts'
import { eventually, oldCapabilities, type TestClient } from '../harness/client.ts'
import { testClients } from './test-clients.ts'

/** An editor that cannot ask for findings, resolves nothing and shows plain text. */

const folder = 'memory://bench/'
const uri = `${folder}all.detent`
const text = `${bench}
${dailyText([], ['1 to 2 cores   57x', '5 to 12 cores  50x'])}`

const started = testClients()

async function start(files: Record<string, string> = {}): Promise<TestClient> {
  return started({ capabilities: oldCapabilities, folders: [folder], files })
}

const codesOf = ({ published }: TestClient, of: string): readonly unknown[] | undefined =>
  published.get(of)?.diagnostics.map(({ code }) => code)

describe('an old editor', () => {
  it('hears nothing of what it cannot use', async () => {
    const { initialized } = await start()
    const { capabilities } = initialized
    expect(capabilities.diagnosticProvider).toBeUndefined()
    expect(capabilities.workspace).toBeUndefined()
    expect(capabilities.completionProvider?.resolveProvider).toBe(false)
  })

  it('is sent findings for the newest text, and they are taken back when the file is closed', async () => {
    const one = await start()
    await one.open(uri, text)
    await eventually('the finding', () => (codesOf(one, uri)?.includes('steps-gap') ? true : undefined))
    await one.change(uri, 2, [{ text: text.replace('5 to 12', '3 to 12') }])
    await eventually('the finding to go', () => (codesOf(one, uri)?.includes('steps-gap') ? undefined : true))
    await one.change(uri, 3, [{ text }])
    await eventually('the finding again', () => (codesOf(one, uri)?.includes('steps-gap') ? true : undefined))
    await one.close(uri)
    await eventually('nothing', () => (codesOf(one, uri)?.length === 0 ? true : undefined))
  })

  it('is sent the findings of a file whose used file changed', async () => {
    const benchUri = `${folder}bench.detent`
    const user = `detent 1\nuse "bench.detent"\n${text.slice(text.indexOf('\nprofile'))}`.replace('5 to 12', '3 to 12')
    const one = await start({ [benchUri]: bench })
    await one.open(benchUri, bench)
    await one.open(uri, user)
    await eventually('no finding', () => (codesOf(one, uri)?.length === 0 ? true : undefined))
    await one.change(benchUri, 2, [{ text: bench.replace('room garage', 'room cellar') }])
    await eventually('the unknown room', () => (codesOf(one, uri)?.includes('unknown-name') ? true : undefined))
  })

  it('hovers and completes in plain text without places to fill in, documentation at once', async () => {
    const one = await start()
    await one.open(uri, text)
    const line = text.slice(0, text.lastIndexOf('57x')).split('\n').length - 1
    const position = { line, character: 20 }
    const hover = await one.request<Hover>('textDocument/hover', { textDocument: { uri }, position })
    expect(hover.contents).toMatchObject({ kind: 'plaintext' })
    expect((hover.contents as { value: string }).value).not.toMatch(/<[a-z]/)
    const profile = text.slice(0, text.indexOf('\n  part sample-b7', text.indexOf('profile daily'))).split('\n').length
    const { items } = await one.request<CompletionList>('textDocument/completion', {
      textDocument: { uri },
      position: { line: profile, character: 2 },
    })
    const voltage = items.find(item => item.label === 'voltage')
    expect(voltage?.insertTextFormat).toBe(1)
    expect(voltage?.textEdit?.newText).not.toContain('$')
    expect(voltage?.documentation).toMatchObject({ kind: 'plaintext' })
  })

  it('gets a flat outline, and fixes with their edits at once', async () => {
    const one = await start()
    const broken = text.replace('57x\n    5', '57,5x\n    5')
    await one.open(uri, broken)
    const symbols = await one.request<SymbolInformation[]>('textDocument/documentSymbol', { textDocument: { uri } })
    expect(symbols.find(symbol => symbol.name === 'steps')?.containerName).toBe('daily')
    const line = broken.slice(0, broken.indexOf('57,5x')).split('\n').length - 1
    const range = { start: { line, character: 0 }, end: { line, character: 30 } }
    const actions = await one.request<CodeAction[]>('textDocument/codeAction', {
      textDocument: { uri },
      range,
      context: { diagnostics: [] },
    })
    const fix = actions.find(action => action.title === 'Write `57.5`')
    expect(fix?.edit?.changes?.[uri]?.map(edit => edit.newText)).toEqual(['57.5'])
  })
})
