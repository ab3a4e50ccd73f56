import { describe, expect, it } from 'vitest'
import type { ClientCapabilities, DocumentSymbol, Hover, SemanticTokens } from 'vscode-languageserver/node'
import { modernCapabilities, type TestClient } from '../harness/client.ts'
import { testClients } from './test-clients.ts'

/** Columns count UTF-16 units, the one encoding that every editor has; the server says so whatever else is offered. */

const folder = 'memory://bench/'
const uri = `${folder}a.detent`
const before = 'room r { note "🌡𝛀é°"; '
const line = `${before}air   20,5 °C; humidity 50 % }`

const started = testClients()

async function start(offered: readonly string[] | undefined): Promise<TestClient> {
  const { general: _, ...others } = modernCapabilities
  const capabilities = {
    ...others,
    ...(offered === undefined ? {} : { general: { positionEncodings: [...offered] } }),
  } as ClientCapabilities
  const client = await started({ capabilities, folders: [folder] })
  await client.open(uri, `detent 1\n${line}\n`)
  return client
}

describe.each([
  ['nothing', undefined],
  ['UTF-8 first', ['utf-8', 'utf-16']],
  ['UTF-32 and UTF-8 before UTF-16', ['utf-32', 'utf-8', 'utf-16']],
  ['UTF-16 alone', ['utf-16']],
] as const)('to an editor that offers %s', (_, offered) => {
  /** Two of the four signs take two units each. */
  const column = 'room r { note "'.length + 2 + 2 + 1 + 1 + '"; '.length
  const place = (from: number, length: number) => ({
    start: { line: 1, character: from },
    end: { line: 1, character: from + length },
  })

  it('columns are counted in UTF-16 units', async () => {
    const { change, initialized, request, diagnostics } = await start(offered)
    expect(initialized.capabilities.positionEncoding).toBe('utf-16')
    expect(before.length).toBe(column)
    const comma = (await diagnostics(uri)).find(({ code }) => code === 'syntax')
    expect(comma?.range).toEqual(place(column + 'air   '.length, '20,5'.length))
    const textDocument = { uri }
    const [room] = await request<DocumentSymbol[]>('textDocument/documentSymbol', { textDocument })
    const humidity = room?.children?.find(({ name }) => name === 'humidity')
    expect(humidity?.selectionRange).toEqual(place(column + 'air   20,5 °C; '.length, 'humidity'.length))
    const { data } = await request<SemanticTokens>('textDocument/semanticTokens/full', { textDocument })
    // Counted from the key before, `note`, which begins nine units into the line.
    expect(data.slice(-10, -5)).toEqual([0, column - 9, 'air'.length, 0, 0])
    await change(uri, 2, [{ range: place(column + 8, 1), text: '.' }])
    expect(await diagnostics(uri)).toEqual([])
    const position = { line: 1, character: column + 1 }
    const hover = await request<Hover>('textDocument/hover', { textDocument, position })
    expect(hover.range).toEqual(place(column, 'air'.length))
  })
})
