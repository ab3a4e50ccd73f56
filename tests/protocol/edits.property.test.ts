import fc from 'fast-check'
import { expect, it } from 'vitest'
import { bench, dailyText } from '../features/bench.ts'
import type { TestClient } from '../harness/client.ts'
import { testClients } from './test-clients.ts'

/**
 * Whatever is typed, the server knows the same as if it had just been given the text: the changes are applied here by other
 * means, and a document that was never edited is asked the same.
 */

const profiles = `
${dailyText(['bands { 1 to 12 cores   above 60 °C  -1x }', 'expect render holds >= 4.6 GHz'])}
profile night based-on daily {
  steps { 1 to 12 cores 45x }   # 😀 quiet, 5 mΩ and 3 µF do not belong here
}
`
const start = `${bench}${profiles}`

interface Edit {
  /** Shares of the text's length. */
  readonly from: number
  readonly length: number
  readonly text: string
}

interface Change {
  readonly range?: { readonly start: Place; readonly end: Place }
  readonly text: string
}

interface Place {
  readonly line: number
  readonly character: number
}

function placeOf(text: string, offset: number): Place {
  const before = text.slice(0, offset).split(/\r\n|\r|\n/)
  return { line: before.length - 1, character: before.at(-1)?.length ?? 0 }
}

/** The nearest offset before, where an editor can have its cursor: not within a line's ending, nor within a character. */
function between(text: string, offset: number): number {
  if (offset > 0 && text.startsWith('\r\n', offset - 1)) return offset - 1
  const unit = text.charCodeAt(offset)
  return unit >= 0xdc00 && unit <= 0xdfff && offset > 0 ? offset - 1 : offset
}

/** One change event: each edit applies to what the one before has left. */
function changesOf(
  text: string,
  edits: readonly Edit[],
): { readonly text: string; readonly changes: readonly Change[] } {
  let now = text
  const changes = edits.map(({ from, length, text: inserted }): Change => {
    const a = between(now, Math.floor(from * now.length))
    const b = Math.max(a, between(now, Math.min(now.length, a + length)))
    const range = { start: placeOf(now, a), end: placeOf(now, b) }
    now = now.slice(0, a) + inserted + now.slice(b)
    return { range, text: inserted }
  })
  return { text: now, changes }
}

const pieces = [
  ...[
    '',
    ' ',
    '\n',
    '\r\n',
    '\r',
    '{',
    '}',
    '#',
    '"',
    ';',
    '°',
    'µ',
    'Ω',
    '😀',
    '±',
    '-',
    '5',
    '57x',
    '0.4 mΩ',
    '60 °C',
  ],
  ...[
    'profile x {\n',
    'room garage {',
    'use "b.detent"\n',
    '  3 to 4 cores 51x\r\n',
    'expect pair die <= 70 °C\n',
    '\u2028',
  ],
]

const edit = fc.record({
  from: fc.double({ min: 0, max: 1, noNaN: true }),
  length: fc.oneof({ weight: 4, arbitrary: fc.nat(3) }, { weight: 1, arbitrary: fc.nat(400) }),
  text: fc.oneof(
    fc.constantFrom(...pieces),
    fc.tuple(fc.nat(start.length), fc.nat(200)).map(([at, length]) => start.slice(at, at + length)),
  ),
})
const events = fc.array(fc.array(edit, { minLength: 1, maxLength: 3 }), { minLength: 1, maxLength: 6 })
const ending = fc.constantFrom('\n', '\r\n')

const started = testClients()

/** All that the server says of a document, with its address left out. */
async function known({ request }: TestClient, uri: string, marker: Place): Promise<unknown> {
  const textDocument = { uri }
  const methods = ['diagnostic', 'documentSymbol', 'foldingRange', 'formatting', 'semanticTokens/full', 'documentLink']
  const answers: unknown[] = []
  for (const method of methods) {
    const answer = await request<Record<string, unknown> | null>(`textDocument/${method}`, {
      textDocument,
      options: { tabSize: 2, insertSpaces: true },
    })
    // Names of states, which say nothing of the state.
    answers.push(answer === null || Array.isArray(answer) ? answer : { ...answer, resultId: undefined })
  }
  answers.push(await request('textDocument/hover', { textDocument, position: marker }))
  return JSON.parse(JSON.stringify(answers).replaceAll(uri, 'here'))
}

it('random edits come to the same as a fresh document', { timeout: 120_000 }, async () => {
  const client = await started({ folders: ['memory://edited/'] })
  const one = client
  let count = 0
  await fc.assert(
    fc.asyncProperty(ending, events, async (end, list) => {
      const uri = `memory://edited/${count++}.detent`
      let text = start.replaceAll('\n', end)
      let version = 1
      await one.open(uri, text, version)
      for (const edits of list) {
        const next = changesOf(text, edits)
        text = next.text
        await one.change(uri, ++version, next.changes)
        // Nothing waits for a line that is being typed in a text that was saved.
        await one.notify('textDocument/didSave', { textDocument: { uri } })
        const fresh = `memory://edited/fresh-${count}.detent`
        await one.open(fresh, text)
        const marker = placeOf(text, Math.max(0, text.indexOf('50x')))
        expect(await known(one, uri, marker)).toEqual(await known(one, fresh, marker))
        await one.close(fresh)
      }
      await one.close(uri)
      one.log.length = 0
    }),
    { numRuns: 25 },
  )
})

it('a change of the whole text among changes of parts', async () => {
  const client = await started({ folders: ['memory://edited/'] })
  const uri = 'memory://edited/whole.detent'
  await client.open(uri, start)
  const changes = [
    { range: { start: { line: 0, character: 0 }, end: { line: 0, character: 3 } }, text: '' },
    { text: 'detent 1\r\nroom r {\r\n  air 20 °C\r\n}\r\n' },
    { range: { start: { line: 2, character: 9 }, end: { line: 2, character: 11 } }, text: '' },
  ]
  await client.change(uri, 2, changes)
  const found = await client.diagnostics(uri)
  expect(found.filter(one => one.code === 'unit-missing').map(one => one.range.start)).toEqual([
    { line: 2, character: 6 },
  ])
})
