import { describe, expect, it } from 'vitest'
import { dewPointC, settle } from '../../server/model/index.ts'
import type { Corner, Settled } from '../../server/model/types.ts'
import { envelopeOf } from '../../server/semantic/envelope.ts'
import type { Evaluation } from '../../server/semantic/evaluate.ts'
import { loadAtCursor } from '../harness/fixture.ts'
import { bench } from './bench.ts'

/** The figures in hovers against what the model says of the same place, and against sums done by hand. */

interface Setup {
  readonly cooler?: string
  readonly drive?: string
  readonly steps?: string
  readonly more?: string
  readonly base?: string
}

function text({
  cooler = 'te-plate',
  drive = 'dew + 2 K',
  steps = '1 to 12 cores 50x',
  more = '',
  base = bench,
}: Setup) {
  return `${base}
profile daily {
  part sample-b7
  cooler ${cooler}
  room garage
  board bench-board
  steps { ${steps} }
  ${cooler === 'te-plate' ? `drive ${drive}` : ''}
  fan { 24 °C 25 %; 48 °C 100 % }
  ${more}
}
`
}

interface Shown {
  readonly text: string
  readonly evaluation: Evaluation
  again(): string
  makeRuns(): void
}

/** The hover before the last place where `mark` stands. */
async function hoverAt(source: string, mark: string): Promise<Shown> {
  const offset = source.lastIndexOf(mark)
  const { service, cursor } = await loadAtCursor(`${source.slice(0, offset)}$0${source.slice(offset)}`)
  const again = (): string => service.features.hover(cursor.uri, cursor.offset)?.text ?? ''
  const shown = again()
  expect(shown).not.toMatch(/NaN|undefined|Infinity|null|<\/?[a-z]/)
  for (const line of shown.split('\n').filter(one => one.startsWith('|'))) {
    expect(line.split('|').length - 2, line).toBeLessThanOrEqual(4)
  }
  const evaluation = service.evaluations(cursor.uri)[0] as Evaluation
  return { text: shown, evaluation, again, makeRuns: () => service.runs.makeAll() }
}

/** The cells of the table whose first heading is `head`, without the heading. */
function tableOf(shown: string, head: string): readonly (readonly string[])[] {
  const lines = shown.split('\n')
  const start = lines.findIndex(line => line.startsWith(`| ${head} `))
  expect(start, `${head} in ${shown}`).toBeGreaterThanOrEqual(0)
  const end = lines.findIndex((line, index) => index > start && !line.startsWith('|'))
  return lines.slice(start + 2, end < 0 ? undefined : end).map(line => {
    return line
      .split('|')
      .slice(1, -1)
      .map(cell => cell.trim())
  })
}

/** Every number of a text that has this unit, in order. */
function figures(shown: string | undefined, unit: string): readonly number[] {
  return [...(shown ?? '').matchAll(new RegExp(`(-?[0-9.]+) ${unit}`, 'g'))].map(match => Number(match[1]))
}

function settledOf({ predictions }: Evaluation, load: string, airC: number, humidityPct: number): Settled {
  const found = predictions.find(({ load: one, corner }) => {
    return one.name === load && corner.airC === airC && corner.humidityPct === humidityPct
  })
  if (found === undefined) throw new Error(`${load} is not predicted`)
  return found.settled
}

/** Equal to half a step of the last digit shown: three digits, and no more than two decimals. */
function shows(shown: number | undefined, value: number | null | undefined): void {
  const actual = value ?? Number.NaN
  const step = Math.max(10 ** (Math.floor(Math.log10(Math.abs(actual))) - 2), 0.01)
  expect(Math.abs(actual - (shown ?? Number.NaN))).toBeLessThan(0.5001 * step)
}

describe('a module', () => {
  // Laird PC-128-14-06, hot side 298 K (dtsheet.com/doc/1563006): 15.4 A, 15.8 V, 151.4 W, 68 K. From these by the closed
  // forms of Kraus: 157.629 W at 19.953 A with no difference, 68 K at 15.4 A with no heat, heat from three 149.421 W.
  const laird = bench.replace(
    'module { at 27 °C; current 15 A; voltage 15.4 V; heat 142 W; difference 68 K }',
    'module { at 24.85 °C; current 15.4 A; voltage 15.8 V; heat 151.4 W; difference 68 K }',
  )

  it('shows its constants, what it can do at its best, and each figure from the other three', async () => {
    expect(laird).not.toBe(bench)
    const { text: shown } = await hoverAt(laird, 'module {')
    expect(shown).toContain('53.0 mV/K')
    expect(shown).toContain('0.792 Ω')
    expect(shown).toContain('1.38 W/K')
    expect(shown).toContain('68.0 K, at α · cold / R = 15.4 A')
    expect(shown).toContain('158 W, at α · hot / R = 20.0 A')
    const rows = tableOf(shown, 'Figure')
    expect(rows[2]).toEqual(['heat', '151.4 W', '149 W', '1.01'])
    // With these by hand: 151.4·2·298/(15.8·366) and /(15.4·366), and 298·(2·151.4/(15.4·15.8) − 1).
    expect(figures(rows[0]?.[2], 'A')[0]).toBeCloseTo(15.6, 1)
    expect(figures(rows[1]?.[2], 'V')[0]).toBeCloseTo(16.0, 1)
    expect(figures(rows[3]?.[2], 'K')[0]).toBeCloseTo(72.8, 1)
    expect(shown).toContain('The four agree')
  })

  it('says it where the datasheet contradicts itself, in the hover of the cooler too', async () => {
    const broken = laird.replace('heat 151.4 W', 'heat 120 W')
    // 120 W of 149.421 W.
    expect((await hoverAt(broken, 'module {')).text).toContain('the printed heat is 20 % less')
    expect((await hoverAt(broken, 'te-plate kind')).text).toContain('contradict each other')
    expect((await hoverAt(laird, 'te-plate kind')).text).not.toContain('contradict')
  })

  it('has its best at 27 °C where its constants are stated', async () => {
    const direct = bench.replace(
      'module { at 27 °C; current 15 A; voltage 15.4 V; heat 142 W; difference 68 K }',
      'module { seebeck 50 mV/K; resistance 0.80 Ω; conductance 1.25 W/K }',
    )
    const { text: shown } = await hoverAt(direct, 'seebeck')
    // Z = 0.05²/(0.8·1.25) = 0.0025 /K; α²Th²/(2R) = (0.05·300.15)²/1.6 = 140.8 W at 0.05·300.15/0.8 = 18.76 A.
    expect(shown).toContain('0.00250 /K')
    expect(shown).toContain('141 W, at α · hot / R = 18.8 A')
    expect(shown).not.toContain('Datasheet')
  })
})

describe('a drive', () => {
  it('shows wet point, target and what idle takes in every corner', async () => {
    const { text: shown, evaluation } = await hoverAt(text({}), 'drive dew')
    const rows = tableOf(shown, 'Corner')
    const { corners } = evaluation.input
    expect(rows.length).toBe(4)
    rows.forEach(([, wet, target, idle], index) => {
      const { airC, humidityPct } = corners[index] as Corner
      const dewC = dewPointC(airC, humidityPct)
      expect(Math.abs((figures(wet, '°C')[0] ?? 0) - dewC)).toBeLessThan(0.0501)
      expect(Math.abs((figures(target, '°C')[0] ?? 0) - dewC - 2)).toBeLessThan(0.0501)
      const { driveA, driveW } = settledOf(evaluation, 'idle', airC, humidityPct)
      shows(figures(idle, 'A')[0], driveA)
      shows(figures(idle, 'W')[0], driveW)
    })
  })

  it('shows current and electrical input of the loads beside the coldest current', async () => {
    const { text: shown, evaluation } = await hoverAt(text({ drive: 'hold 30 °C' }), 'drive hold')
    expect(shown).toContain('Target: 30 °C')
    const rows = tableOf(shown, 'Load')
    expect(rows.map(([load]) => load?.split(',')[0])).toEqual(['render (12 cores)', 'pair (2 cores)', 'idle'])
    for (const [load, amperes, watts, coldest] of rows) {
      const { driveA, driveW, notes } = settledOf(evaluation, load?.split(/[ ,]/)[0] ?? '', 24, 55)
      shows(figures(amperes, 'A')[0], driveA)
      shows(figures(watts, 'W')[0], driveW)
      shows(figures(coldest, 'A')[0], notes.coldestA)
      expect(Math.abs((figures(coldest, '°C')[0] ?? 0) - (notes.coldestPlateC ?? 0))).toBeLessThan(0.0501)
    }
  })

  it('has no currents where there is no plate to drive', async () => {
    const source = text({ cooler: 'big-loop' }).replace('  fan {', '  drive off\n  fan {')
    const { text: shown } = await hoverAt(source, 'drive off')
    expect(shown).not.toContain('Electrical input')
  })
})

describe('a cooler', () => {
  it('shows the plate under each load in the outer corners, and the margin', async () => {
    const { text: shown, evaluation } = await hoverAt(text({}), 'te-plate kind')
    const rows = tableOf(shown, 'Load')
    expect(rows.map(([load]) => load)).toEqual(['render (12 cores)', 'pair (2 cores)', 'idle'])
    for (const [load, cool, warm, margin] of rows) {
      const name = load?.split(' ')[0] ?? ''
      for (const [cell, airC, humidityPct] of [
        [cool, 18, 40],
        [warm, 24, 55],
      ] as const) {
        const { plateC, powerW } = settledOf(evaluation, name, airC, humidityPct)
        expect(Math.abs((figures(cell, '°C')[0] ?? 0) - (plateC ?? 0))).toBeLessThan(0.0501)
        shows(figures(cell, 'W')[0], powerW)
      }
      const margins = evaluation.predictions.filter(one => one.load.name === name).map(one => one.settled.marginW ?? 0)
      shows(figures(margin, 'W')[0], Math.min(...margins))
    }
  })

  it('says how much heat a plate takes: with that heat the model puts it where the hover says', async () => {
    const { text: shown, evaluation } = await hoverAt(text({}), 'te-plate kind')
    const rows = new Map(tableOf(shown, 'Most heat at which the plate').map(([name, ...cells]) => [name, cells]))
    const { bench: input } = evaluation.input
    if (input === undefined) throw new Error('nothing is predicted')
    const corner = { airC: 24, humidityPct: 55 }
    /** The plate with this heat on it: an idle part that gives exactly so much. */
    const plateAt = (idlePowerW: number): number =>
      settle({ ...input, part: { ...input.part, idlePowerW } }, { kind: 'idle' }, corner)?.plateC ?? Number.NaN
    const heldW = figures(rows.get('is held at the drive target')?.[1], 'W')[0] ?? Number.NaN
    const targetC = dewPointC(24, 55) + 2
    expect(plateAt(heldW - 1)).toBeCloseTo(targetC, 6)
    expect(plateAt(heldW + 1)).toBeGreaterThan(targetC + 0.01)
    const airW = figures(rows.get('is at the air temperature')?.[1], 'W')[0] ?? Number.NaN
    expect(plateAt(airW - 1)).toBeLessThan(24)
    expect(plateAt(airW + 1)).toBeGreaterThan(24)
    const packageW = figures(rows.get('brings the package to 100 °C')?.[1], 'W')[0] ?? Number.NaN
    expect(plateAt(packageW - 1) + 0.11 * (packageW - 1)).toBeLessThan(100)
    expect(plateAt(packageW + 1) + 0.11 * (packageW + 1)).toBeGreaterThan(100)
    expect(rows.has('is at the dew or frost point')).toBe(false)
  })
})

describe('limits', () => {
  it('say what they cap, by which load, on which core counts', async () => {
    const source = text({ steps: '1 to 12 cores 54x', more: 'limits { current 120 A; burst-power 500 W }' })
    const { text: shown, evaluation } = await hoverAt(source, 'limits {')
    const caps = envelopeOf(evaluation).filter(({ settled }) => settled.limiter === 'current')
    const counts = caps.flatMap(({ load }) => (load.kind === 'work' && load.activity === 1 ? [load.cores] : []))
    expect(Math.max(...counts)).toBe(12)
    expect(shown).toContain(
      `\`current\` holds back render on ${Math.min(...counts)} to 12 cores, at most from 5.40 GHz`,
    )
    expect(shown).not.toContain('`burst-power` holds back')
    const lowest = Math.min(...caps.map(({ settled }) => settled.clockMhz ?? Number.NaN))
    expect(shown).toContain(`to ${(lowest / 1000).toFixed(2)} GHz, with 12 cores`)
  })

  it('are compared with every number of active cores, the undeclared ones too', async () => {
    // Six cores at 54x take more than the twelve at 36x that the load declares.
    const source = text({ steps: '1 to 6 cores 54x; 7 to 12 cores 36x', more: 'limits { current 500 A }' })
    const { text: shown, evaluation } = await hoverAt(source, 'current 500')
    const most = Math.max(...envelopeOf(evaluation).map(({ settled }) => settled.currentA ?? 0))
    const declared = Math.max(...evaluation.predictions.map(({ settled }) => settled.currentA ?? 0))
    expect(most).toBeGreaterThan(declared + 1)
    const [row] = tableOf(shown, 'Limit')
    shows(figures(row?.[2], 'A')[0], most)
    expect(row?.[3]).toContain('render (6 cores, declared as 12)')
    expect(shown).toContain('It holds back no load')
  })
})

describe('a profile', () => {
  it('shows the worst over every number of active cores, and what decides it', async () => {
    const source = text({ steps: '1 to 6 cores 54x; 7 to 12 cores 36x' })
    const { text: shown, evaluation } = await hoverAt(source, 'daily {')
    const rows = tableOf(shown, 'Worst case')
    const points = envelopeOf(evaluation)
    expect(rows.find(([name]) => name === 'most power')?.[2]).toContain('render (6 cores, declared as 12)')
    const hottest = Math.max(...points.map(({ settled }) => settled.dieC ?? 0))
    expect(Math.abs((figures(rows[0]?.[1], '°C')[0] ?? 0) - hottest)).toBeLessThan(0.0501)
    const nearest = Math.min(...points.map(({ settled }) => (settled.plateC ?? Number.NaN) - settled.wetC))
    expect(Math.abs((figures(rows[3]?.[1], 'K')[0] ?? 0) - nearest)).toBeLessThan(0.0501)
  })
})

describe('what is worked out', () => {
  it('adds up to the power and to the die temperature of a load', async () => {
    const { text: shown, evaluation } = await hoverAt(text({ cooler: 'big-loop' }), 'render {')
    const settled = settledOf(evaluation, 'render', 24, 55)
    const line = shown.split('\n').find(one => one.includes('switching')) ?? ''
    const [, all, switching, cores, volts, ghz, leakage, shared] =
      /power (\S+) W = switching (\S+) W \(.*= (\d+) · 1 · 2.1 nF · \((\S+) V\)² · (\S+) GHz\) \+ leakage (\S+) W \+ shared (\S+) W/
        .exec(line)
        ?.map(Number) ?? []
    expect(Number(all)).toBeCloseTo(Number(settled.powerW?.toPrecision(3)), 6)
    expect(Math.abs(Number(cores) * 2.1 * Number(volts) ** 2 * Number(ghz) - Number(switching))).toBeLessThan(1)
    expect(Math.abs(Number(switching) + Number(leakage) + Number(shared) - Number(all))).toBeLessThan(1)
    const [, die, plate] =
      /die (\S+) °C = plate (\S+) °C \+ package 0.11 K\/W · \S+ W \+ core 0.55 K\/W · \S+ W \/ 12/
        .exec(line)
        ?.map(Number) ?? []
    expect(Math.abs(Number(die) - (settled.dieC ?? 0))).toBeLessThan(0.0501)
    const rise = 0.11 * Number(all) + (0.55 * Number(switching)) / 12
    expect(Math.abs(Number(plate) + rise - Number(die))).toBeLessThan(0.2)
  })

  it('says where figures are means over two ratios', async () => {
    const { text: shown } = await hoverAt(text({ more: 'limits { sustained-power 150 W }' }), 'render {')
    expect(shown).toMatch(/\d+(\.\d+)? % of the time at \d+x, the rest at \d+x: all figures are means/)
  })
})

describe('an expectation', () => {
  it('shows what is to spare, and the sum behind it', async () => {
    const source = text({ more: 'expect idle plate above dew by 1.5 K' })
    const { text: shown, evaluation } = await hoverAt(source, 'expect idle')
    const spares = evaluation.predictions
      .filter(({ load }) => load.name === 'idle')
      .map(({ settled }) => (settled.plateC ?? 0) - settled.wetC)
    expect(figures(/Predicted: .*/.exec(shown)?.[0], 'K')[0]).toBeCloseTo(Math.min(...spares), 1)
    expect(shown).toContain('0.5 K to spare')
    const [, spare, plate, dew] = /(\S+) K = plate (\S+) °C - dew point (\S+) °C/.exec(shown)?.map(Number) ?? []
    expect(Math.abs(Number(plate) - Number(dew) - Number(spare))).toBeLessThan(0.11)
    const drive = /drive power (\S+) W = .* = 3 · \((\S+) mV\/K · (\S+) A · (\S+) K \+ \(\S+ A\)² · (\S+) Ω\)/
      .exec(shown)
      ?.map(Number)
    const [, watts, alpha, amperes, kelvin, ohm] = drive ?? []
    const sum = 3 * ((Number(alpha) / 1000) * Number(amperes) * Number(kelvin) + Number(amperes) ** 2 * Number(ohm))
    expect(Math.abs(sum / Number(watts) - 1)).toBeLessThan(0.02)
  })

  it('says by how much it is missed, and divides current by voltage', async () => {
    const source = text({ cooler: 'big-loop', more: 'expect render current <= 100 A' })
    const { text: shown, evaluation } = await hoverAt(source, 'expect render')
    const most = Math.max(
      ...evaluation.predictions
        .filter(({ load }) => load.name === 'render')
        .map(({ settled }) => settled.currentA ?? 0),
    )
    shows(figures(/Predicted: .*/.exec(shown)?.[0], 'A')[1], most - 100)
    expect(shown).toContain('A short')
    const [, amperes, switching, leakage, volts, die, set, ohm] =
      /current (\S+) A = .* = \((\S+) W \+ (\S+) W\) \/ (\S+) V; die voltage (\S+) V = set (\S+) V - load line (\S+) mΩ/
        .exec(shown)
        ?.map(Number) ?? []
    expect(Math.abs((Number(switching) + Number(leakage)) / Number(volts) - Number(amperes))).toBeLessThan(1)
    expect(Math.abs(Number(set) - (Number(ohm) / 1000) * Number(amperes) - Number(die))).toBeLessThan(0.002)
  })

  it('waits for its run over time, and then tells how long it lasts', async () => {
    const source = text({
      cooler: 'big-loop',
      more: 'limits { sustained-power 150 W over 10 s }\n  expect render holds >= 4.9 GHz for 2 min',
    })
    const { text: shown, makeRuns, again } = await hoverAt(source, 'expect render')
    expect(shown).toContain('The run over time is being made')
    makeRuns()
    const after = again()
    expect(after).toContain('does not hold')
    expect(after).toMatch(/It lasts \d+ s of 2 min/)
    expect(after).toContain('ratio given back: sustained power')
  })
})
