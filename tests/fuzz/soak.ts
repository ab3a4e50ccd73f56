/**
 * The soak: many thousand edits with hover, completion and findings between, and what is left of them once all garbage is
 * collected. Usage: npm run soak -- --edits 50000. Ends with 1 where heap or handles grow.
 */
import { parseArgs } from 'node:util'
import { bench, dailyText } from '../features/bench.ts'
import { startClient } from '../harness/client.ts'

const { values } = parseArgs({ options: { edits: { type: 'string', default: '50000' } } })
const edits = Number(values.edits)
const collect = globalThis.gc
if (collect === undefined || !Number.isSafeInteger(edits) || edits < 500) {
  console.error('usage: npm run soak -- --edits N (500 or more; Node needs --expose-gc)')
  process.exit(2)
}

const rounds = 10
/**
 * What the rounds after the second may add in all: the engine's own bookkeeping grows a little,
 * most of it at the start; 50,000 kept texts are 100 MB, and 500 kept trees of one are 10.
 */
const mostBytes = edits < 5_000 ? 3_000_000 : 1_500_000
/** A timer or two of the server's pauses may just be waiting. */
const mostHandles = 3

const uri = 'memory://soak/a.detent'
const textDocument = { uri }
const profile = `
${dailyText(['expect render holds >= 4.6 GHz'])}`
const text = `${bench}${profile}`
const lines = text.split('\n')
const line = lines.findIndex(one => one.includes('50x'))
const column = (lines[line] as string).indexOf('50x') + 1

interface Round {
  readonly edits: number
  readonly heapBytes: number
  readonly handles: number
  readonly seconds: number
}

const client = await startClient({ folders: ['memory://soak/'] })
await client.open(uri, text)
let version = 1
let length = 1

/** One character of a ratio is typed over: never the same text twice in a row, and now and then one that does not read. */
async function edit(count: number): Promise<void> {
  const inserted = count % 50 === 7 ? '{' : count % 50 === 23 ? '' : String(count % 10)
  const range = { start: { line, character: column }, end: { line, character: column + length } }
  length = inserted.length
  await client.change(uri, ++version, [{ range, text: inserted }])
}

async function ask(count: number): Promise<void> {
  const position = { line: count % lines.length, character: 4 }
  const asked = [
    client.request('textDocument/hover', { textDocument, position }),
    client.request('textDocument/completion', { textDocument, position }),
  ]
  if (count % 5 === 0) asked.push(client.diagnostics(uri))
  // Overtaken by the next edit is an answer, too.
  await Promise.allSettled(asked)
}

async function measure(done: number, since: number): Promise<Round> {
  client.log.length = 0
  // Timers of the server's pauses run out.
  await new Promise(resolve => setTimeout(resolve, 600))
  client.log.length = 0
  collect?.()
  collect?.()
  const handles = process.getActiveResourcesInfo().length
  return { edits: done, heapBytes: process.memoryUsage().heapUsed, handles, seconds: (Date.now() - since) / 1000 }
}

const measured: Round[] = []
const start = Date.now()
let done = 0
for (let round = 1; round <= rounds; round++) {
  for (const end = Math.round((edits * round) / rounds); done < end; done++) {
    await edit(done)
    await ask(done)
    if (done % 200 === 0) client.log.length = 0
  }
  const one = await measure(done, start)
  measured.push(one)
  console.log(
    `${one.edits} edits  ${(one.heapBytes / 1e6).toFixed(2)} MB  ${one.handles} handles  ${one.seconds.toFixed(0)} s`,
  )
}
await client.stop()
const [, second] = measured
const last = measured.at(-1)
const grown = (last?.heapBytes ?? 0) - (second?.heapBytes ?? 0)
const handles = (last?.handles ?? 0) - (second?.handles ?? 0)
const isFlat = grown <= mostBytes && handles <= mostHandles
console.log(
  `${isFlat ? 'flat' : 'grows'}: heap ${(grown / 1e6).toFixed(2)} MB, handles ${handles} since the second round`,
)
process.exit(isFlat ? 0 : 1)
