import { describe, expect, it } from 'vitest'
import { findUnit, type Unit } from '../../grammar/units/units.ts'
import { type LogReading, type ReadLog, readLog } from '../../server/bench/log-reader.ts'
import { memoryLogs } from '../../server/bench/log-source.ts'
import type { ColumnKind, LogMapping } from '../../server/bench/runs.ts'

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
): Promise<LogReading> {
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
    const lines = ['23:59:58', '23:59:59.5', '00:00:01'].map(time => `2026-01-12 ${time},4700,180,64`)
    const log = await read(`${plain.split('\n')[0]}\n${lines.join('\n')}`)
    expect([...log.series.timeS].map(time => time - log.series.timeS[0]!)).toEqual([0, 1.5, 3])
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

describe('malformed rows', () => {
  const bad = (...lines: string[]): string => plain + lines.map(line => `${line}\n`).join('')

  it.each([
    ['3,4700', '2 cells, none under "package"'],
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

  it('has none of the headers: those that it has are told', async () => {
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
