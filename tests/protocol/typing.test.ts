import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import type { Diagnostic } from 'vscode-languageserver/node'
import { bench, dailyText } from '../features/bench.ts'
import { eventually, oldCapabilities, startClient, type TestClient } from '../harness/client.ts'
import { root } from '../harness/sources.ts'

/** What is found waits while a line is being typed that can still become right. */

const uri = 'memory://typed/a.detent'
let client: TestClient | undefined

afterEach(async () => {
  const problems = await client?.stop()
  client = undefined
  expect(problems ?? []).toEqual([])
})

interface Typist {
  readonly client: TestClient
  /** Types at the cursor, key by key, as an editor does that closes braces and quotes, and hears what is found after each. */
  type(text: string): Promise<void>
  /** Takes letters back. */
  erase(count: number): Promise<void>
  /** What was shown after the last key. */
  shown(): Promise<readonly Diagnostic[]>
  /** Findings of the cursor's line that were shown after a key, as `line text: code`. */
  readonly onLine: string[]
}

async function typist(text: string, at: string, options: Parameters<typeof startClient>[0] = {}): Promise<Typist> {
  const started = await startClient({ folders: ['memory://typed/'], ...options })
  client = started
  let now = text
  let cursor = text.indexOf(at) + at.length
  let version = 1
  const onLine: string[] = []
  await started.open(uri, text)
  const pulls = started.initialized.capabilities.diagnosticProvider !== undefined
  const shown = (): Promise<readonly Diagnostic[]> => started.diagnostics(uri)
  if (pulls) await shown()
  const place = (offset: number): { line: number; character: number } => {
    const lines = now.slice(0, offset).split('\n')
    return { line: lines.length - 1, character: lines.at(-1)?.length ?? 0 }
  }
  const change = async (start: number, end: number, put: string, behind: number): Promise<void> => {
    const range = { start: place(start), end: place(end) }
    now = now.slice(0, start) + put + now.slice(end)
    cursor = start + behind
    await started.change(uri, ++version, [{ range, text: put }])
    if (!pulls) return
    const { line } = place(cursor)
    for (const one of await shown())
      if (one.range.start.line === line && one.severity === 1) onLine.push(`${now.split('\n')[line]}: ${one.code}`)
  }
  const key = async (letter: string): Promise<void> => {
    const next = now[cursor]
    const closing = letter === '}' ? /^\s*\n\s*\}/.exec(now.slice(cursor))?.[0] : undefined
    // Down, to the brace that the editor has closed, and behind it.
    if (closing !== undefined) cursor += closing.length
    else if ((letter === '}' || letter === '"') && next === letter) cursor++
    else if (letter === '\n' && next === '}') await change(cursor, cursor, '\n  \n', 3)
    else await change(cursor, cursor, { '{': '{}', '"': '""' }[letter] ?? letter, 1)
  }
  return {
    client: started,
    type: async typed => {
      for (const letter of typed) await key(letter)
    },
    erase: async count => {
      for (let done = 0; done < count; done++) await change(cursor - 1, cursor, '', 0)
    },
    shown,
    onLine,
  }
}

/** What is found, hints left out. */
const codes = (found: readonly Diagnostic[]): readonly unknown[] =>
  found.filter(({ severity }) => severity !== 4).map(({ code }) => code)
const errors = (found: readonly Diagnostic[]): readonly unknown[] => codes(found.filter(one => one.severity === 1))

const daily = `${dailyText(['expect render die <= 90 °C'], ['1 to 12 cores  50x'])}`

describe('while a line is being typed', () => {
  it('nothing is found on it at any letter of a bench', { timeout: 180_000 }, async () => {
    const example = readFileSync(join(root, 'grammar', 'examples', 'first.detent'), 'utf8')
    const { type, onLine, shown } = await typist('detent 1\n', 'detent 1\n')
    const typed = example
      .replace('detent 1\n', '')
      .replace(/ +#.*/g, '')
      .replace(/\n *\}/g, '}')
    await type(typed.replace(/\n +/g, '\n'))
    expect(onLine).toEqual([])
    expect(errors(await shown())).toEqual([])
  })

  it('what is wrong with it shows after a pause', async () => {
    const { type, shown, client: one } = await typist(`${bench}${daily}`, 'leakage-doubling 28 K\n')
    await type('  die-heat 12')
    expect(codes(await shown())).toEqual([])
    const before = one.refreshes()
    await eventually('the refresh', () => (one.refreshes() > before ? true : undefined))
    expect(codes(await shown())).toContain('unit-missing')
  })

  it('and at once when the file is saved, or something else is edited', async () => {
    const { type, shown, client: one } = await typist(`${bench}${daily}`, 'leakage-doubling 28 K\n')
    await type('  die-heat 12')
    expect(codes(await shown())).toEqual([])
    await one.notify('textDocument/didSave', { textDocument: { uri } })
    expect(codes(await shown())).toContain('unit-missing')
    await type(' J')
    expect(codes(await shown())).not.toContain('unit-missing')
    await one.change(uri, 99, [
      { range: { start: { line: 0, character: 8 }, end: { line: 0, character: 8 } }, text: ' ' },
    ])
    expect(codes(await shown())).toContain('syntax')
  })

  it('what cannot become right any more shows at once', async () => {
    const { type, shown } = await typist(bench, 'leakage-doubling 28 K\n')
    await type('  die-hat')
    expect(codes(await shown())).toContain('unknown-word')
  })

  it('what follows from it waits as well, and what was found before stays', async () => {
    const hot = daily.replace('die <= 90 °C', 'die <= 20 °C')
    const { type, erase, shown } = await typist(`${bench}${hot}`, 'core-resistance 0.55 K/W')
    expect(codes(await shown())).toEqual(['expect-failed'])
    await erase(3)
    const meanwhile = codes(await shown())
    expect(meanwhile.filter(code => code !== 'expect-failed')).toEqual([])
    await type('K/W')
    expect(codes(await shown())).toEqual(['expect-failed'])
  })

  it('waits in a file that uses it too, while a name is typed again', async () => {
    const other = 'memory://typed/b.detent'
    const files = { [other]: `detent 1\nuse "a.detent"\n\n${daily}` }
    const { erase, type, client: one } = await typist(bench, 'cooler big-loop', { files })
    expect(codes(await one.diagnostics(other))).toEqual([])
    await erase(4)
    await type('ring')
    expect(codes(await one.diagnostics(other))).toEqual([])
    await one.notify('textDocument/didSave', { textDocument: { uri } })
    expect(codes(await one.diagnostics(other))).toContain('unknown-name')
  })

  it('a line that reads is judged at once', async () => {
    const { erase, type, shown } = await typist(`${bench}${daily}`, 'die <= 90')
    await erase(2)
    await type('20')
    expect(codes(await shown())).toContain('expect-failed')
  })

  it('what a block does not have yet waits for the rest of it', async () => {
    const { type, shown, client: one } = await typist('detent 1\n', 'detent 1\n')
    await type('room attic {\nair 20 °C')
    expect(codes(await shown())).toEqual([])
    await one.notify('textDocument/didSave', { textDocument: { uri } })
    expect(codes(await shown())).toContain('missing-key')
  })

  it('a text that was pasted is judged at once', async () => {
    const started = await startClient({ folders: ['memory://typed/'] })
    client = started
    await started.open(uri, 'detent 1\n')
    const end = { line: 1, character: 0 }
    await started.change(uri, 2, [{ range: { start: end, end }, text: 'room attic {\n  air 20\n}\nload\n' }])
    expect(codes(await started.diagnostics(uri))).toEqual(expect.arrayContaining(['unit-missing', 'missing-key']))
  })
})

describe('a client that is sent what is found', () => {
  it('gets nothing of the line until a pause, and then all', async () => {
    const { type, client: one } = await typist(bench, 'leakage-doubling 28 K\n', { capabilities: oldCapabilities })
    await eventually('the first findings', () => one.published.get(uri))
    await type('  die-heat 12')
    const told = (): readonly unknown[] => codes(one.published.get(uri)?.diagnostics ?? [])
    await new Promise(resolve => setTimeout(resolve, 500))
    expect(told()).toEqual([])
    await eventually('the finding', () => (told().includes('unit-missing') ? true : undefined))
  })
})

describe('our own client', () => {
  const waits = (one: TestClient): readonly unknown[] =>
    one.log
      .map(({ message }) => message as { method?: string; params?: { waits?: unknown } })
      .filter(({ method }) => method === 'detent/waiting')
      .map(({ params }) => params?.waits)

  it('hears when findings wait, and when none does any more', async () => {
    const options = { initializationOptions: { showsWaiting: true } }
    const { type, client: one } = await typist(bench, 'leakage-doubling 28 K\n', options)
    await type('  die-heat 12')
    await eventually('the end', () => (waits(one).at(-1) === false ? true : undefined))
    expect(waits(one)).toEqual([true, false])
  })

  it('alone is reported', async () => {
    const { type, client: one } = await typist(bench, 'leakage-doubling 28 K\n')
    await type('  die-heat 12')
    await one.notify('textDocument/didSave', { textDocument: { uri } })
    await one.diagnostics(uri)
    expect(waits(one)).toEqual([])
  })
})
