/** How fast a long log is read, against the CSV library alone, and how memory behaves: `node tests/speed/logs.ts [MB]`. */
import Papa from 'papaparse'
import { findUnit, type Unit } from '../../grammar/units/units.ts'
import type { LogMapping } from '../../server/bench/log/mapping.ts'
import { readLog } from '../../server/bench/log/reader.ts'
import { linePieces } from '../../server/bench/log/rows.ts'
import type { LogFile } from '../../server/bench/log/source.ts'

const header = 'elapsed;core clock;die voltage;package;hot spot;a;b;c;d;e\n'
const rowsAPiece = 4000

/** A log of this size, made while it is read: one reading a tenth of a second, decimal commas, ten columns. */
function longLog(bytes: number): LogFile {
  const encoder = new TextEncoder()
  return {
    size: bytes,
    chunks: async function* () {
      yield encoder.encode(header)
      let [made, count] = [header.length, 0]
      while (made < bytes) {
        let text = ''
        for (let row = 0; row < rowsAPiece; row++, count++) {
          const swing = (count % 97) / 97
          const cells = [count / 10, 4700 + 9 * swing, 1.2 + 0.01 * swing, 180 + swing, 64 + swing]
          text += `${cells.map(cell => cell.toFixed(3).replace('.', ',')).join(';')};11;12;13;14;15\n`
        }
        made += text.length
        yield encoder.encode(text)
      }
    },
  }
}

const unit = (symbol: string): Unit => findUnit(symbol) as Unit

const mapping: LogMapping = {
  columns: [
    { kind: 'time', header: 'elapsed', unit: unit('s') },
    { kind: 'clock', header: 'core clock', unit: unit('MHz') },
    { kind: 'voltage', header: 'die voltage', unit: unit('V') },
    { kind: 'power', header: 'package', unit: unit('W') },
    { kind: 'die', header: 'hot spot', unit: unit('°C') },
  ],
}

/** Seconds of processor time. */
async function cost(work: () => Promise<unknown>): Promise<number> {
  const before = process.cpuUsage()
  await work()
  const { user, system } = process.cpuUsage(before)
  return (user + system) / 1e6
}

export async function measureLogs(megabytes: number, say: (line: string) => void): Promise<void> {
  const file = longLog(megabytes * 1e6)
  const making = await cost(async () => {
    for await (const chunk of file.chunks()) if (chunk.length === 0) throw new Error('nothing made')
  })
  const library = await cost(async () => {
    for await (const { text } of linePieces(file)) Papa.parse(text, { delimiter: ';', newline: '\n' })
  })
  let [highest, steps] = [0, 0]
  let rows = 0
  const reading = await cost(async () => {
    const log = await readLog({ open: async () => file }, 'log', mapping, {
      onProgress: () => {
        if (steps++ % 64 === 0) highest = Math.max(highest, process.memoryUsage().heapUsed)
      },
    })
    if (log.state === 'read') rows = log.rows
  })
  const [own, theirs] = [reading - making, library - making]
  say(`A log of ${megabytes} MB, ${rows} rows, processor time without the making of it`)
  say(`  the CSV library alone      ${(megabytes / theirs).toFixed(0)} MB/s`)
  say(`  read to a series           ${(megabytes / own).toFixed(0)} MB/s, ${(own / theirs).toFixed(2)} times as long`)
  say(`  highest heap on the way    ${(highest / 1e6).toFixed(0)} MB`)
}

if (import.meta.main) await measureLogs(Number(process.argv[2] ?? 100), line => console.log(line))
