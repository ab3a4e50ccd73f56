/**
 * Runs within `node --expose-gc`: works the server in rounds and prints, as one line of JSON, the heap in use after each,
 * in bytes, all garbage collected. Usage: node --expose-gc tests/protocol/heap-rounds.ts files|edits new|old
 */
import { setTimeout as wait } from 'node:timers/promises'
import { bench, dailyText } from '../features/bench.ts'
import { modernCapabilities, oldCapabilities, startClient } from '../harness/client.ts'

const [work, age] = process.argv.slice(2)
const collect = globalThis.gc
if (collect === undefined) throw new Error('run this with --expose-gc')

const profile = `
${dailyText(['expect render holds >= 4.6 GHz'])}`
const text = `${bench}${profile}`
const client = await startClient({
  capabilities: age === 'old' ? oldCapabilities : modernCapabilities,
  folders: ['memory://bench/'],
})
let told = 0

/** Everything an editor asks while a person reads and types. */
async function ask(uri: string): Promise<void> {
  const textDocument = { uri }
  const line = text.slice(0, text.indexOf('57x')).split('\n').length - 1
  const position = { line, character: 20 }
  if (age === 'new') await client.diagnostics(uri)
  for (const method of ['documentSymbol', 'foldingRange'])
    await client.request(`textDocument/${method}`, { textDocument })
  for (const method of ['hover', 'completion']) {
    await client.request(`textDocument/${method}`, { textDocument, position })
  }
}

/** 100 files, each with a name that never was before. */
async function files(round: number): Promise<void> {
  for (let index = 0; index < 100; index++) {
    const uri = `memory://many/round-${round}/file-${index}.detent`
    await client.open(uri, `${text}load extra-${round}-${index} { cores 1 }\n`)
    await ask(uri)
    await client.close(uri)
    client.published.delete(uri)
  }
}

const edited = 'memory://bench/edited.detent'
const digit = text.slice(0, text.indexOf('50x')).split('\n')
const place = { line: digit.length - 1, character: (digit.at(-1)?.length ?? 0) + 1 }

/** 250 edits of one character, and as many of a comment that is never the same. */
async function edits(round: number): Promise<void> {
  for (let index = 0; index < 250; index++) {
    const version = 2 + 2 * (round * 250 + index)
    const changed = [
      { range: { start: place, end: { ...place, character: place.character + 1 } }, text: String(index % 9) },
    ]
    await client.change(edited, version, changed)
    const comment = { start: { line: 0, character: 8 }, end: { line: 0, character: 1000 } }
    await client.change(edited, version + 1, [{ range: comment, text: ` # edit ${round} ${index}` }])
    await ask(edited)
  }
}

if (work === 'edits') await client.open(edited, text)
const heap: number[] = []
for (let round = 0; round < 5; round++) {
  await (work === 'files' ? files(round) : edits(round))
  // What is sent after a pause is sent.
  await wait(200)
  told += client.published.size
  client.log.length = 0
  collect()
  heap.push(process.memoryUsage().heapUsed)
}
await client.stop()
console.log(JSON.stringify({ heap, told }))
