import { describe, expect, it } from 'vitest'
import { loadFixture } from '../harness/fixture.ts'
import { seededNormal } from '../harness/random.ts'
import { demo, edited } from './demo.ts'

/** Columns whose figures cannot be: another unit, nothing at all, a sensor that stands still. */

interface Column {
  readonly kind: string
  readonly header: string
  readonly unit: string
  readonly value: (t: number) => number | string
}

const normal = seededNormal(3)
const near = (value: number, spread: number, digits: number) => (): number =>
  Number((value + spread * normal()).toFixed(digits))
const elapsed: Column = { kind: 'time', header: 'elapsed', unit: 's', value: t => t }
const power: Column = { kind: 'power', header: 'package', unit: 'W', value: near(38, 0.2, 2) }
const clock: Column = { kind: 'clock', header: 'core clock', unit: 'MHz', value: near(4600, 2, 0) }
const die: Column = { kind: 'die', header: 'hot spot', unit: '°C', value: near(41, 0.3, 1) }
const voltage: Column = { kind: 'voltage', header: 'feed', unit: 'V', value: near(1.16, 0.001, 4) }

const found = (...columns: Column[]) => foundWith('', ...columns)

/** @param end how the run ended, as a line of it */
async function foundWith(end: string, ...columns: Column[]) {
  const lines = columns.map(({ kind, header, unit }) => `    column ${kind} "${header}" ${unit}\n`)
  const own = '    column time "elapsed" s\n    column power "package" W\n'
  const text = edited(demo('run-log'), [own, lines.join('')]).replace(/^ {2}log /m, `${end}  log `)
  const rows = Array.from({ length: 3000 }, (_, t) => columns.map(({ value }) => value(t)).join(','))
  const log = [columns.map(({ header }) => header).join(','), ...rows].join('\n')
  const { service } = await loadFixture(`--- a.detent\n${text}--- logs/evening.csv\n${log}\n`)
  const uri = 'file:///bench/a.detent'
  const [run] = service.bench.compared(uri)
  if (run === undefined) throw new Error('there is no run')
  const all = service.findings(uri).map(({ finding, start, end }) => ({ ...finding, under: text.slice(start, end) }))
  const findings = all.filter(({ code }) => code === 'run-log')
  return { findings, off: all.filter(({ code }) => code === 'prediction-off'), run, service, uri }
}

describe('a column with figures that cannot be', () => {
  it('is not there where all is well', async () => {
    const { findings, run } = await found(elapsed, power, clock, voltage)
    expect(findings).toEqual([])
    expect(Object.keys(run.figures)).toEqual(['clock', 'voltage', 'power'])
  })

  it.each([
    [
      'a clock in MHz',
      { ...clock, unit: 'GHz' },
      /the clock reads 4,600 GHz|the clock reads 4,\d+ to 4,\d+ GHz/,
      'MHz',
    ],
    ['a clock in Hz', { ...clock, value: near(4.6e9, 1e6, 0) }, /reads 4,600,000,000 MHz|reads 4,\d+,\d+,\d+/, 'Hz'],
    [
      'a clock in GHz',
      { ...clock, value: near(4.6, 0.002, 3) },
      /reads 4\.6 MHz, where 667 to 6,000 MHz can be/,
      'GHz',
    ],
    ['a voltage in mV', { ...voltage, value: near(1160, 1, 0) }, /the voltage reads 1,160 V/, 'mV'],
    ['a voltage in V', { ...voltage, unit: 'mV' }, /the voltage reads 1\.16 mV/, 'V'],
    ['a power in mW', { ...power, value: near(38_000, 200, 0) }, /the power reads 3\d,\d00 to 3\d,\d00 W/, 'mW'],
  ])('is named with what was seen, and read in the one unit that it can be in: %s', async (_, column, text, unit) => {
    const others = [power, clock].filter(({ kind }) => kind !== column.kind)
    const { findings, off, run } = await found(elapsed, ...others, column)
    const [one, ...more] = findings
    expect(more).toEqual([])
    expect(one).toMatchObject({
      severity: 'warning',
      under: `column ${column.kind} "${column.header}" ${column.unit}`,
    })
    expect(one?.message).toMatch(text)
    expect(one?.message).toContain(`is the unit ${unit}?`)
    const [fix] = one?.fixes ?? []
    expect(fix).toMatchObject({ preferred: true, edits: [{ text: unit }] })
    const [edit] = fix?.edits ?? []
    expect(edit?.chunk.text.slice(edit.start, edit.end)).toBe(column.unit)
    expect(run.figures[column.kind as 'clock']).toBeUndefined()
    expect(off.filter(({ message }) => message.includes(column.kind))).toEqual([])
  })

  it('is named without a fix where no unit would do: °F, negative power', async () => {
    const { findings } = await found(elapsed, power, { ...die, value: near(131, 0.5, 1) })
    expect(findings[0]?.message).toMatch(/the die reads 1\d\d to 1\d\d °C, where -80 to 110 °C can be\..*°F or K/)
    expect(findings[0]?.fixes).toEqual([])
    const negative = await found(elapsed, die, { ...power, value: t => -38 - Math.sin(t) })
    expect(negative.findings[0]).toMatchObject({ under: 'column power "package" W', fixes: [] })
    expect(negative.findings[0]?.message).toContain('the power reads -39 to -37 W')
  })

  it('is named where it has no value at all, or never changes', async () => {
    const empty = await found(elapsed, power, { ...clock, value: () => '' })
    expect(empty.findings.map(({ under, message }) => [under, message])).toContainEqual([
      'column clock "core clock" MHz',
      expect.stringContaining('the clock has no value in any row'),
    ])
    const still = await found(elapsed, clock, { ...power, value: () => 38 })
    const [one] = still.findings
    expect(one).toMatchObject({ severity: 'information', under: 'column power "package" W' })
    expect(one?.message).toContain('reads 38 W in every row')
    // It may be a coarse sensor: what it says still counts.
    expect(still.run.figures.power?.value).toBe(38)
  })

  it('may be the time', async () => {
    const still = await found({ ...elapsed, value: () => 0 }, power)
    expect(still.findings.map(({ message }) => message)).toContainEqual(
      expect.stringContaining('the time reads the same in every row'),
    )
  })

  it.each([
    // A row each second or half second; the numbers are milliseconds or seconds, and the unit says otherwise.
    ['s', 1000, '1,000 s from row to row, 3,000,000 s in all', 'ms', ''],
    ['s', 500, '500 s from row to row, 1,500,000 s in all', 'ms', ''],
    ['ms', 1, '1 ms from row to row, 3,000 ms in all', 's', ''],
    ['min', 1, '1 min from row to row, 3,000 min in all', 's', '  held 50 min\n'],
    ['ms', 100, '100 ms from row to row, 300,000 ms in all', 's', '  stopped after 90 h "hang"\n'],
  ] as const)('may be the time in %s, known by its step, its length and the run’s end', async (...asked) => {
    const [unit, step, text, meant, end] = asked
    const { findings, run } = await foundWith(end, { ...elapsed, unit, value: t => step * t }, power)
    expect(findings).toHaveLength(1)
    expect(findings[0]?.message).toContain(
      `the time goes on by ${text}: is the unit ${meant}? Until that is right, nothing`,
    )
    expect(findings[0]?.fixes?.[0]?.edits[0]?.text).toBe(meant)
    expect(run.settled).toBeUndefined()
  })

  it.each([
    ['s', 1, ''],
    ['s', 100, ''],
    ['ms', 5, ''],
    ['s', 1, '  held 10 min\n'],
  ] as const)('is no time in %s by steps of %d', async (unit, step, end) => {
    const { findings } = await foundWith(end, { ...elapsed, unit, value: t => step * t }, power)
    expect(findings.filter(({ message }) => message.includes('the time'))).toEqual([])
  })

  it('is no part of a fit, which says why', async () => {
    const { service, run, uri } = await found(elapsed, power, die, { ...clock, unit: 'GHz' })
    const fit = service.bench.fit(uri, 'willow-4', [run])
    expect(fit?.result.skipped).toEqual([
      { run: 'evening', why: expect.stringMatching(/^the clock reads 4,\d00 GHz.* is the unit MHz\?$/) },
    ])
  })
})

describe('a figure read off by hand that cannot be', () => {
  it('takes nothing from the log, nor the log from it', async () => {
    const own = '    column time "elapsed" s\n    column power "package" W\n  }\n'
    const text = edited(demo('run-log'), [
      own,
      own.replace('package" W', 'package" kW').concat('  measured { power 38 W; die 300 °C }\n'),
    ])
    const rows = Array.from({ length: 3000 }, (_, t) => `${t},${power.value(t)}`).join('\n')
    const { service } = await loadFixture(`--- a.detent\n${text}--- logs/evening.csv\nelapsed,package\n${rows}\n`)
    const [run] = service.bench.compared('file:///bench/a.detent')
    expect(run?.odd.map(({ kind, from }) => `${kind} ${from}`)).toEqual(['power log', 'die hand'])
    expect(run?.figures.power?.value).toBe(38)
    expect(run?.figures.die).toBeUndefined()
  })

  it('is named at its line, and not compared', async () => {
    const text = edited(demo('run-log'), [
      '  log "logs/evening.csv" {              # finds: run-log\n    column time "elapsed" s\n    column power "package" W\n  }\n'.replace(
        / +# finds: run-log/,
        '',
      ),
      '  measured {\n    clock 4600 GHz\n    power 38 W\n  }\n',
    ])
    const { service } = await loadFixture(text)
    const uri = 'file:///bench/a.detent'
    const found = service.findings(uri).filter(({ finding }) => finding.code === 'run-log')
    expect(found).toHaveLength(1)
    expect(text.slice(found[0]!.start, found[0]!.end)).toBe('clock 4600 GHz')
    expect(found[0]?.finding.message).toContain('the clock reads 4,600 GHz')
    expect(service.bench.compared(uri)[0]?.compared.map(({ figure }) => figure)).toEqual(['power'])
  })
})
