import { describe, expect, it } from 'vitest'
import { findUnit, type Unit } from '../../../grammar/units/units.ts'
import type { ColumnKind, LogMapping } from '../../../server/bench/log/mapping.ts'
import { type LogResult, type ReadLog, readLog } from '../../../server/bench/log/reader.ts'
import { memoryLogs } from '../../../server/bench/log/source.ts'

const unit = (symbol: string): Unit => findUnit(symbol)!

const column = (kind: ColumnKind, header: string, symbol: string) => ({ kind, header, unit: unit(symbol) })

const usual = [
  column('time', 'elapsed', 's'),
  column('clock', 'core clock', 'MHz'),
  column('power', 'package', 'W'),
  column('die', 'hot spot', '°C'),
]

async function reading(
  text: string | Uint8Array,
  mapping: Partial<LogMapping> = {},
  pieceBytes?: number,
): Promise<LogResult> {
  return readLog(memoryLogs({ log: text }, pieceBytes), 'log', { columns: usual, ...mapping })
}

async function read(text: string | Uint8Array, mapping?: Partial<LogMapping>, pieceBytes?: number): Promise<ReadLog> {
  const found = await reading(text, mapping, pieceBytes)
  expect(found.state).toBe('read')
  return found as ReadLog
}

const plain = `elapsed,core clock,package,hot spot
0,4700,180.5,63.5
1,4710,181.5,64
2,4690,182,64.5
`

describe('a log', () => {
  it('is read in base units', async () => {
    const log = await read(plain)
    expect(log).toMatchObject({ rows: 3, delimiter: ',', decimal: '.', headerLine: 1, malformed: { count: 0 } })
    expect([...log.series.timeS]).toEqual([0, 1, 2])
    expect([...log.series.figures.clock!]).toEqual([4.7, 4.71, 4.69])
    expect([...log.series.figures.die!]).toEqual([63.5, 64, 64.5])
    expect(log.series.figures.voltage).toBeUndefined()
    expect(log.assumed).toEqual(['delimiter comma', 'decimal point'])
  })

  it.each([
    ['semicolons and decimal commas', plain.replaceAll(',', ';').replaceAll('.', ','), ';', ','],
    ['bars', plain.replaceAll(',', '|'), '|', '.'],
    ['quotes and decimal commas', plain.replaceAll(/[^,\n]+/g, '"$&"').replaceAll('.', ','), ',', ','],
    ['tabs', plain.replaceAll(',', '\t'), '\t', '.'],
    ['Windows line ends', plain.replaceAll('\n', '\r\n'), ',', '.'],
    ['carriage returns alone', plain.replaceAll('\n', '\r'), ',', '.'],
    ['a byte order mark', `\ufeff${plain}`, ',', '.'],
    ['quotes', plain.replaceAll(/[^,\n]+/g, '"$&"'), ',', '.'],
    ['no line end at its end', plain.trimEnd(), ',', '.'],
    [
      'columns aligned with spaces',
      plain.replace('core clock', 'clk').replace('hot spot', 'hot').replaceAll(',', '   '),
      ' ',
      '.',
    ],
  ] as const)('may have %s', async (_, text, delimiter, decimal) => {
    const columns =
      delimiter === ' ' ? [usual[0]!, column('clock', 'clk', 'MHz'), usual[2]!, column('die', 'hot', '°C')] : usual
    for (const bytes of [65_536, 7, 1]) {
      const log = await read(text, { columns }, bytes)
      expect(log).toMatchObject({ rows: 3, delimiter, decimal, malformed: { count: 0 } })
      expect([...log.series.figures.power!]).toEqual([180.5, 181.5, 182])
    }
  })

  it('may have any one character between its cells', async () => {
    for (const delimiter of ['|', '^', '~', ':']) {
      const log = await read(plain.replaceAll(',', delimiter), { delimiter })
      expect(log).toMatchObject({ rows: 3, malformed: { count: 0 }, assumed: ['decimal point'] })
    }
  })

  it('may have commas that part thousands', async () => {
    const text = plain.replaceAll(/,47(\d\d),/g, ',"4,7$1",').replaceAll(/\.\d/g, '')
    expect((await read(text)).decimal).toBe('.')
  })

  it('may be in UTF-16 or in an old one-byte encoding', async () => {
    const text = plain.replace('hot spot', 'hot spot °C')
    const columns = [...usual.slice(0, 3), column('die', 'hot spot °C', '°C')]
    const wide = new Uint8Array(2 + text.length * 2)
    wide.set([0xff, 0xfe])
    for (let at = 0; at < text.length; at++) wide[2 + at * 2] = text.charCodeAt(at)
    const old = Uint8Array.from(text, character => character.charCodeAt(0))
    for (const bytes of [wide, old]) {
      const log = await read(bytes, { columns })
      expect([log.rows, log.missingColumns]).toEqual([3, []])
    }
  })

  it('may have anything before its header, and a row of units below it', async () => {
    const text = `Some logger 3\nstarted,2026-01-12\n\n${plain.replace('hot spot\n', 'hot spot\n[s],[MHz],[W],[°C]\n')}`
    expect(await read(text)).toMatchObject({ rows: 3, headerLine: 4, malformed: { count: 0, first: [] } })
  })

  it('may have its header again, with the columns in another order, and its time from the beginning', async () => {
    const text = `${plain}hot spot,elapsed,package,core clock\n70,0,190,4600\n71,1,191,4600\n`
    const log = await read(text)
    expect(log).toMatchObject({ rows: 5, repeatedHeaders: 1, malformed: { count: 0 } })
    expect([...log.series.figures.die!]).toEqual([63.5, 64, 64.5, 70, 71])
    const times = [...log.series.timeS]
    expect(times.every((time, index) => index === 0 || time > times[index - 1]!)).toBe(true)
  })

  it('may have headers in another case, and others that are not asked for', async () => {
    const text = plain.replace('core clock', 'Core  Clock').replaceAll('\n', ',x\n')
    expect(await read(text)).toMatchObject({ rows: 3, missingColumns: [] })
  })

  it('may have units in its cells', async () => {
    const log = await read(plain.replace('180.5', '180.5 W').replace('181.5', '0.1815 kW').replace('64.5', '64.5 ℃'))
    expect([...log.series.figures.power!]).toEqual([180.5, 181.5, 182])
  })

  it('may have times of day, over midnight too', async () => {
    const times = ['23:59:58', '23:59:59.5', '00:00:01']
    const dated = times.map((time, at) => `2026-01-${at < 2 ? 12 : 13} ${time}`)
    for (const lines of [times, dated]) {
      const log = await read(`${plain.split('\n')[0]}\n${lines.map(time => `${time},4700,180,64`).join('\n')}`)
      expect([...log.series.timeS]).toEqual([0, 1.5, 3])
      expect(log.clockStartS).toBe(86_398)
    }
  })

  it('may have dates, and a night between two sessions', async () => {
    const times = ['2026-01-12 20:00:00', '2026-01-12 20:00:01', '2026-01-13 19:00:00', '2026-01-13 19:00:01']
    const log = await read(`${plain.split('\n')[0]}\n${times.map(time => `${time},4700,180,64\n`).join('')}`)
    expect(log).toMatchObject({ rows: 4, clockStartS: 72_000, malformed: { count: 0 } })
    expect([...log.series.timeS]).toEqual([0, 1, 82_800, 82_801])
  })

  it('may have dates in a column of their own', async () => {
    const rows = ['12.1.2026,20:00:00', '12.1.2026,20:00:01', '13.1.2026,19:00:00', '13.1.2026,19:00:01']
    const text = `Date,${plain.split('\n')[0]}\n${rows.map(time => `${time},4700,180,64\n`).join('')}`
    const log = await read(text)
    expect(log).toMatchObject({ rows: 4, clockStartS: 72_000, malformed: { count: 0 } })
    expect([...log.series.timeS]).toEqual([0, 1, 82_800, 82_801])
  })

  it.each([
    ['seconds since some day', ['1768250000', '1768250001', '1768250003'], undefined],
    ['minutes and seconds', ['59:58', '59:59', '60:01'], undefined],
    ['minutes and seconds without hours', ['59:58', '59:59', '00:01'], undefined],
    ['hours that go on', ['123:59:58', '123:59:59', '124:00:01'], 446_398],
    ['half days', ['12:59:58 PM', '12:59:59 PM', '01:00:01 PM'], 46_798],
    [
      'another time zone',
      ['2026-03-29T01:59:58+01:00', '2026-03-29T01:59:59+01:00', '2026-03-29T03:00:01+02:00'],
      7198,
    ],
  ] as const)('may have %s, which count from its first row', async (_, times, clockStartS) => {
    const log = await read(`${plain.split('\n')[0]}\n${times.map(time => `${time},4700,180,64\n`).join('')}`)
    expect([...log.series.timeS]).toEqual([0, 1, 3])
    expect(log.clockStartS).toBe(clockStartS)
  })

  it('tells headers of the mapping that stand twice: the first counts', async () => {
    const log = await read(plain.replace('hot spot', 'package'), { columns: usual.slice(0, 3) })
    expect(log.twice).toEqual(['package'])
    expect(log.series.figures.power?.[0]).toBe(180.5)
  })

  it('may be without a time', async () => {
    const log = await read(plain, { columns: usual.slice(1) })
    expect(log.assumed).toContain('1 s from row to row')
    expect([...log.series.timeS]).toEqual([0, 1, 2])
  })
})

describe('gaps', () => {
  it('of a sensor are counted by figure, and the row is taken', async () => {
    const log = await read(plain.replace('181.5', '').replace('182', 'N/A'))
    expect(log).toMatchObject({ rows: 3, empty: { power: 2 }, malformed: { count: 0 } })
    expect([...log.series.figures.power!]).toEqual([180.5, Number.NaN, Number.NaN])
  })

  it('of time are found', async () => {
    const rows = [0, 1, 2, 3, 4, 5, 60, 61].map(time => `${time},4700,180,64`)
    const log = await read(`${plain.split('\n')[0]}\n${rows.join('\n')}`)
    expect(log).toMatchObject({ gapCount: 1, gaps: [{ fromS: 5, toS: 60 }] })
  })
})

describe('one time that is out of line', () => {
  const at = (times: readonly (number | string)[]): string =>
    `${plain.split('\n')[0]}\n${times.map(time => `${time},4700,180,64\n`).join('')}`
  const line = Array.from({ length: 60 }, (_, second) => second)

  it.each([
    ['in the middle', line.with(30, 99_999_999), [32]],
    ['at the beginning', line.with(0, 99_999_999), [2]],
    ['near the beginning', line.with(1, 99_999_999), [3]],
    ['and another one', line.with(30, 99_999_999).with(31, 99_999_999).with(50, 5e6), [32, 33, 52]],
    ['before a gap', line.map(second => (second < 30 ? second : second + 1000)).with(29, 1e7), [31]],
  ] as const)('costs its own row: %s', async (_, times, lines) => {
    const log = await read(at(times))
    expect(log.rows).toBe(60 - lines.length)
    expect(log.malformed.first.map(one => one.line)).toEqual(lines)
    expect(log.malformed.first[0]?.reason).toMatch(/is out of line with the rows around it$/)
  })

  it('as a time of day costs its own row', async () => {
    const times = line.map(second => `20:00:${String(second).padStart(2, '0')}`).with(30, '03:00:00')
    const log = await read(at(times))
    expect([log.rows, log.series.timeS.at(-1)]).toEqual([59, 59])
  })

  it('has no finding where the log goes on from there', async () => {
    const log = await read(at(line.map(second => (second < 30 ? second : second + 40_000))))
    expect(log).toMatchObject({ rows: 60, gapCount: 1, gaps: [{ fromS: 29, toS: 40_030 }], malformed: { count: 0 } })
    const late = line.map(second => (second < 30 ? `23:59:${second + 30}` : `06:00:${second - 20}`))
    expect(await read(at(late))).toMatchObject({ rows: 60, malformed: { count: 0 } })
  })
})

describe('malformed rows', () => {
  const bad = (...lines: string[]): string => plain + lines.map(line => `${line}\n`).join('')

  it.each([
    ['3,4700', '2 cells, none under "package"'],
    ['3,4700,180,64,9,9', '6 cells where the header has 4'],
    ['3,4,400.1,180.5,64', '5 cells where the header has 4'],
    ['1,2', '2 cells, none under "package"'],
    ['3,4700,hot,64', '"hot" under "package" is no number'],
    ['3,4700,180;5,64', '"180;5" under "package" is no number'],
    ['3,4700,"180,64', 'a quote is never closed'],
    ['1,4700,180,64', 'the time goes back to 1'],
    [',4700,180,64', 'nothing under "elapsed"'],
    ['soon,4700,180,64', '"soon" under "elapsed" is no number'],
  ])('%s is counted and named', async (line, reason) => {
    const log = await read(bad(line, '4,4700,180,64'))
    expect(log.rows).toBe(4)
    expect(log.malformed).toEqual({ count: 1, first: [{ line: 5, reason }] })
  })

  it('are named without what a terminal would obey', async () => {
    const rows = Array.from({ length: 500 }, (_, at) => `${at + 3},4700,180,64`)
    const log = await read(bad(...rows, '600,4700,1\0\u001b[31m\u202e,64'))
    expect(log.malformed.first).toEqual([
      { line: 505, reason: '"1\ufffd\ufffd[31m\ufffd" under "package" is no number' },
    ])
  })

  it('are no fault with a separator at their end, or without columns that nobody asked for', async () => {
    const text = plain.replaceAll('\n', ',\n').replace('hot spot,', 'hot spot,fan')
    expect(await read(text.replace('64,', '64'))).toMatchObject({ rows: 3, malformed: { count: 0 } })
    expect(await read(plain.replaceAll(/(\.\d|64)\n/g, '$1,\n'))).toMatchObject({ rows: 3, malformed: { count: 0 } })
  })

  it('are all counted; the first few are named by their line', async () => {
    const log = await read(bad(...Array.from({ length: 900 }, () => 'x,x,x,x')), {}, 100)
    expect(log.malformed.count).toBe(900)
    expect(log.malformed.first.map(({ line }) => line)).toEqual([5, 6, 7, 8, 9])
  })

  it('with an open quote cost themselves alone', async () => {
    const log = await read(bad('3,4700,"180,64', '4,4700,"182",64', '5,4700,183,64'))
    expect(log.rows).toBe(5)
    expect([...log.series.figures.power!].slice(3)).toEqual([182, 183])
  })

  it('are those with the other decimal mark', async () => {
    const log = await read(plain.replaceAll(',', ';'), { decimal: ',' })
    expect(log.malformed.first[0]).toEqual({ line: 2, reason: '"180.5" under "package" is no number' })
  })
})

describe('a log that cannot be read by its mapping', () => {
  it('is not there', async () => {
    expect(await readLog(memoryLogs({}), 'log', { columns: usual })).toEqual({ state: 'missing' })
  })

  it('is empty', async () => {
    for (const text of ['', '\n\n']) expect(await reading(text)).toEqual({ state: 'unreadable', why: 'it is empty' })
  })

  it('has none of the headers: those that it has are named', async () => {
    const columns = [column('power', 'watts', 'W')]
    expect(await reading(plain, { columns })).toEqual({
      state: 'no-header',
      headers: ['elapsed', 'core clock', 'package', 'hot spot'],
      delimiter: ',',
    })
  })

  it('lacks a column: the others are read', async () => {
    const log = await read(plain, { columns: [...usual, column('voltage', 'die voltage', 'V')] })
    expect(log).toMatchObject({ rows: 3, missingColumns: [{ kind: 'voltage', header: 'die voltage' }] })
  })

  it('breaks off while it is read', async () => {
    const source = {
      open: async () => ({
        size: undefined,
        chunks: async function* () {
          yield new TextEncoder().encode(plain)
          throw new Error('the disk is gone')
        },
      }),
    }
    expect(await readLog(source, 'log', { columns: usual })).toEqual({ state: 'unreadable', why: 'the disk is gone' })
  })
})

describe('a long log', () => {
  const rows = 50_000
  const lines = Array.from({ length: rows }, (_, at) => `${at * 0.5},${4700 + (at % 3)},${180 + (at % 7)},64`)
  const text = `${plain.split('\n')[0]}\n${lines.join('\n')}\n`

  it('comes to a bounded number of points with the same means', async () => {
    const { series, rows: taken } = await read(text)
    expect(taken).toBe(rows)
    expect(series.timeS.length).toBeLessThanOrEqual(8192)
    expect(series.rowsPerPoint).toBe(8)
    const mean = [...series.figures.power!].reduce((sum, value) => sum + value, 0) / series.timeS.length
    expect(mean).toBeCloseTo(183, 2)
    expect(series.toS.at(-1)).toBe((rows - 1) / 2)
  })

  it('tells how far it is, and can be left', async () => {
    const seen: number[] = []
    const control = new AbortController()
    const onProgress = (bytes: number, size: number | undefined): void => {
      seen.push(bytes / size!)
      if (seen.length === 4) control.abort()
    }
    const source = memoryLogs({ log: text })
    await expect(readLog(source, 'log', { columns: usual }, { onProgress, signal: control.signal })).rejects.toThrow()
    expect(seen).toHaveLength(4)
    expect(seen.every((share, index) => share <= 1 && share > (seen[index - 1] ?? 0))).toBe(true)
  })

  it('with a gap at every other row ends all the same', async () => {
    const torn = Array.from(
      { length: 40_000 },
      (_, at) => `${at < 10 ? at : Math.floor(at / 2) * 100 + (at % 2)},1,1,1`,
    )
    const { series, rows: taken } = await read(`${plain.split('\n')[0]}\n${torn.join('\n')}`)
    expect(taken).toBe(40_000)
    expect(series.timeS.length).toBeLessThanOrEqual(8192)
  })
})
