import { describe, expect, it } from 'vitest'
import { findUnit } from '../../../grammar/units/units.ts'
import { proposeMapping } from '../../../server/bench/log/propose.ts'
import { readLog } from '../../../server/bench/log/reader.ts'
import { memoryLogs } from '../../../server/bench/log/source.ts'
import { demo } from '../../checks/demo.ts'
import { loadFixture, uriOf } from '../../harness/fixture.ts'

/** Logs with one very long cell, which once held the reader up for minutes. */

const long = 300_000
const cells: readonly (readonly [string, string])[] = [
  ['blanks', `1${' '.repeat(long)}x`],
  ['blanks alone', ' '.repeat(long)],
  ['digits', '1'.repeat(long)],
  ['points', `1${'.'.repeat(long)}`],
  ['opened brackets', '['.repeat(long)],
  ['brackets and blanks', `[${' '.repeat(long)}`],
  ['half a time', `1${' '.repeat(long)}:00`],
  ['a time and blanks', `10:00:00${' '.repeat(long)}x`],
  ['two words of a header', 'core clock '.repeat(long / 11)],
]
const columns = [
  { kind: 'time', header: 'elapsed', unit: findUnit('s')! },
  { kind: 'power', header: 'package', unit: findUnit('W')! },
] as const

const rows = Array.from({ length: 20 }, (_, at) => `${at};180.5`)
/** Where the long cell stands, and how many rows are then left out. */
const places: readonly (readonly [string, (cell: string) => string, number])[] = [
  ['under a figure', cell => ['elapsed;package', ...rows, `20;${cell}`, '21;180.5'].join('\n'), 1],
  ['under the time', cell => ['elapsed;package', ...rows, `${cell};180.5`, '21;180.5'].join('\n'), 1],
  ['in the header', cell => [`elapsed;package;${cell}`, ...rows.map(row => `${row};1`)].join('\n'), 0],
  ['below the header', cell => ['elapsed;package', `${cell};${cell}`, ...rows].join('\n'), 1],
]

describe.each(places)('a very long cell %s', (_place, logOf, left) => {
  it.each(cells)('of %s holds nothing up', async (_name, cell) => {
    const source = memoryLogs({ log: logOf(cell) })
    for (const delimiter of [';', undefined] as const) {
      const log = await readLog(source, 'log', { columns, ...(delimiter === undefined ? {} : { delimiter }) })
      if (delimiter === undefined) continue
      expect(log).toMatchObject({ state: 'read', malformed: { count: left } })
      if (log.state === 'read' && left > 0)
        expect(log.malformed.first[0]?.reason).toMatch(/^a cell has \d+ characters, more than 1000$/)
    }
    await proposeMapping(source, 'log')
  })
})

it('a very long cell has a finding that says which line is left out', async () => {
  const lines = Array.from({ length: 3000 }, (_, at) => `${at},${(40 + Math.sin(at * 7.3) * 0.2).toFixed(3)}`)
  lines[7] = `7,${' '.repeat(long)}`
  const log = `elapsed,package\n${lines.join('\n')}\n`
  const { service } = await loadFixture(`--- a.detent\n${demo('run-log')}--- logs/evening.csv\n${log}`)
  const found = service.findings(uriOf('a.detent')).filter(({ finding }) => finding.code === 'run-log')
  const messages = found.map(({ finding }) => finding.message)
  expect(messages).toEqual([
    expect.stringMatching(/^1 of 3000 rows .*line 9: a cell has 300000 characters, more than 1000/),
  ])
})
