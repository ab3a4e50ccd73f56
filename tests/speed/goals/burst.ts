/**
 * The second table: a person types 10 characters a second, and the editor asks at each for all that it shows, and takes
 * back what it no longer waits for.
 */

import { spreadOf } from './measure.ts'
import type { Probed } from './probe.ts'
import { type Started, startServer } from './server.ts'
import { ownServer } from './servers.ts'
import type { Size } from './size.ts'
import { figure, type Row } from './table.ts'

export interface Scene {
  readonly name: string
  readonly folder?: string
  readonly uri: string
  readonly text: string
  /** The line that is typed below, and what is typed there, over and over. */
  readonly below: RegExp
  readonly typed: string
  readonly completionP95Ms: number
  readonly findingsP95Ms: number
}

/** Milliseconds between two characters. */
const everyMs = 100

/** How many lines a person sees. */
const seenLines = 60

const rest = (ms: number): Promise<void> => new Promise(resolve => setTimeout(resolve, ms))

/** What an editor asks after a character, by what the server offers; findings and completion are looked at apart. */
function asked({ capabilities }: Started, uri: string, line: number, character: number, tokens: string | undefined) {
  const textDocument = { uri }
  const position = { line, character }
  const range = {
    start: { line: Math.max(0, line - seenLines / 2), character: 0 },
    end: { line: line + seenLines / 2, character: 0 },
  }
  const offered: readonly (readonly [boolean, string, object])[] = [
    [capabilities.documentHighlightProvider !== undefined, 'documentHighlight', { position }],
    [capabilities.inlayHintProvider !== undefined, 'inlayHint', { range }],
    [capabilities.codeLensProvider !== undefined, 'codeLens', {}],
    [capabilities.documentSymbolProvider !== undefined, 'documentSymbol', {}],
    [capabilities.foldingRangeProvider !== undefined, 'foldingRange', {}],
    [capabilities.documentLinkProvider !== undefined, 'documentLink', {}],
    [capabilities.codeActionProvider !== undefined, 'codeAction', { range, context: { diagnostics: [] } }],
    [
      capabilities.semanticTokensProvider !== undefined,
      tokens === undefined ? 'semanticTokens/full' : 'semanticTokens/full/delta',
      tokens === undefined ? {} : { previousResultId: tokens },
    ],
  ]
  return offered
    .filter(([isOffered]) => isOffered)
    .map(([, method, params]) => ({ method: `textDocument/${method}`, params: { textDocument, ...params } }))
}

interface Burst {
  readonly completionMs: readonly number[]
  readonly findingsMs: readonly number[]
  readonly cancelled: number
  readonly asked: number
  readonly probed: Probed
}

/** For each character the time until the first answer that knows of it, or of what was typed after it. */
function waits(sent: readonly number[], answers: readonly { readonly upTo: number; readonly at: number }[]) {
  return sent.map((from, index) => {
    const first = answers.find(({ upTo }) => upTo >= index)
    if (first === undefined) throw new Error('nothing was answered')
    return first.at - from
  })
}

async function burst(scene: Scene, characters: number): Promise<Burst> {
  const { uri } = scene
  const server = await startServer(ownServer, {
    isProbed: true,
    ...(scene.folder === undefined ? {} : { folder: scene.folder }),
  })
  server.notify('textDocument/didOpen', {
    textDocument: { uri, languageId: 'detent', version: 1, text: scene.text },
  })
  const textDocument = { uri }
  const lines = scene.text.split('\n')
  const middle = Math.floor(lines.length / 2)
  const found = lines.findIndex((line, index) => index >= middle && scene.below.test(line))
  const at = found < 0 ? lines.findLastIndex(line => scene.below.test(line)) : found
  const changed = (version: number, range: object, text: string): void =>
    server.notify('textDocument/didChange', { textDocument: { uri, version }, contentChanges: [{ range, text }] })
  const pull = () => server.ask('textDocument/diagnostic', { textDocument })
  // The editor has shown all of it once before a person types.
  await pull().answer
  await Promise.all(asked(server, uri, at, 0, undefined).map(one => server.ask(one.method, one.params).answer))
  await rest(1000)
  const end = { line: at, character: lines[at]?.length ?? 0 }
  changed(2, { start: end, end }, '\n  ')
  await pull().answer
  await rest(500)
  await server.probed()

  const line = at + 1
  const sent: number[] = []
  const answers: Record<'completion' | 'findings', { upTo: number; at: number }[]> = { completion: [], findings: [] }
  let waiting = new Set<{ cancel(): void }>()
  let [cancelled, asks] = [0, 0]
  let tokens: string | undefined
  /** The name of the findings that the editor has: it says so when it asks again. */
  let previousResultId: string | undefined
  const look = (method: string, params: object, answered: (result: unknown) => void): void => {
    const request = server.ask(method, params)
    asks++
    const mine = waiting.add(request)
    void request.answer.then(result => {
      mine.delete(request)
      if (result !== undefined) answered(result)
    })
  }
  const findings = (): void => {
    const upTo = sent.length - 1
    look('textDocument/diagnostic', { textDocument, ...(previousResultId && { previousResultId }) }, result => {
      previousResultId = (result as { readonly resultId?: string }).resultId ?? previousResultId
      answers.findings.push({ upTo, at: performance.now() })
    })
  }
  server.onRefresh = findings
  const start = performance.now()
  for (let index = 0, column = 2; index < characters; index++) {
    await rest(Math.max(0, start + index * everyMs - performance.now()))
    // What is out of date is taken back before the next is asked.
    cancelled += waiting.size
    for (const request of waiting) request.cancel()
    waiting = new Set()
    const character = scene.typed[index % scene.typed.length] ?? ' '
    const isAgain = index > 0 && index % scene.typed.length === 0
    const from = { line, character: isAgain ? 2 : column }
    changed(index + 3, { start: from, end: { line, character: column } }, character)
    column = from.character + 1
    sent.push(performance.now())
    look('textDocument/completion', { textDocument, position: { line, character: column } }, () => {
      answers.completion.push({ upTo: index, at: performance.now() })
    })
    findings()
    for (const { method, params } of asked(server, uri, line, column, tokens))
      look(method, params, result => {
        const id = (result as { readonly resultId?: string } | null)?.resultId
        if (method.startsWith('textDocument/semanticTokens')) tokens = id
      })
  }
  while (waiting.size > 0) await rest(5)
  const probed = await server.probed()
  await server.stop()
  return {
    completionMs: waits(sent, answers.completion),
    findingsMs: waits(sent, answers.findings),
    cancelled,
    asked: asks,
    probed,
  }
}

const share95 = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b)
  return sorted[Math.ceil(0.95 * sorted.length) - 1] ?? Number.NaN
}

/** Each scene is typed in three times, by turns; the median of three is said. */
export async function bursts(scenes: readonly Scene[], size: Size, say: (row: Row) => void): Promise<void> {
  const rounds: Burst[][] = scenes.map(() => [])
  for (let round = 0; round < (size.rounds > 3 ? 3 : 1); round++)
    for (const [index, scene] of scenes.entries()) rounds[index]?.push(await burst(scene, size.characters))
  const row = (name: string, values: readonly number[], goal: number, beside: string): Row => ({
    name,
    value: spreadOf(values),
    goal,
    unit: 'ms',
    better: 'less',
    beside,
  })
  for (const [index, { name, completionP95Ms, findingsP95Ms }] of scenes.entries()) {
    const own = rounds[index] ?? []
    const cpu = spreadOf(own.map(({ probed }) => probed.cpuMs / size.characters)).median
    const back = own.reduce((sum, { cancelled }) => sum + cancelled, 0) / own.reduce((sum, one) => sum + one.asked, 0)
    const completion = own.map(({ completionMs }) => share95(completionMs))
    const found = own.map(({ findingsMs }) => share95(findingsMs))
    const beside = `${figure(cpu)} ms of the main thread a character; ${(100 * back).toFixed(0)} % taken back`
    say(row(`${name}: completion p95`, completion, completionP95Ms, beside))
    const block = spreadOf(own.map(({ probed }) => probed.longestCpuMs)).median
    say(row(`${name}: findings p95`, found, findingsP95Ms, `longest block ${figure(block)} ms`))
  }
  const turns = Array.from({ length: rounds[0]?.length ?? 0 }, (_, round) => round)
  const longest = turns.map(round => Math.max(...rounds.map(each => each[round]?.probed.longestCpuMs ?? 0)))
  const byClock = turns.map(round => Math.max(...rounds.map(each => each[round]?.probed.longestWallMs ?? 0)))
  const clock = `processor time; by the clock ${figure(spreadOf(byClock).median)} ms`
  say(row('longest block anywhere, typing', longest, 16, clock))
}
