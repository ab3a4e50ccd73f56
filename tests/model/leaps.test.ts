/** Leaps over many ticks, compared with the same load in pieces too short to leap, which are walked tick by tick. */
import { describe, expect, it } from 'vitest'
import { type Course, type CourseRun, followCourseInSlices, type Load } from '../../server/model/index.ts'
import type { Bench } from '../../server/model/types.ts'
import { followCourse } from '../harness/follow-course.ts'
import { allCores, benchWith, fanTable, plateCooler, realPlate, room } from './transient-bench.ts'

const idle: Load = { kind: 'idle' }
const twoCores: Load = { kind: 'work', cores: 2, activity: 0.6, vector: false }
const step = (load: Load, forS: number): Course['lines'][number] => ({
  kind: 'step',
  load,
  until: { kind: 'time', forS },
})
/** Far shorter than the least leap, of 2⁷ ticks of 10 ms. */
const PIECE_S = 0.15

function run(bench: Bench, lines: Course['lines']): CourseRun {
  const found = followCourse(bench, { start: { kind: 'room' }, lines }, room)
  if ('undecided' in found) throw new Error(found.undecided)
  return found
}
const inPieces = (load: Load, forS: number): Course['lines'] =>
  Array.from({ length: Math.round(forS / PIECE_S) }, () => step(load, PIECE_S))

const dew = { kind: 'dew', marginK: 3 } as const
const quick = { plateHeatJPerK: 30, coolantHeatJPerK: 120 }
const benches: readonly [string, Bench][] = [
  ['a loop with a fan table', benchWith({ cooler: benchCooler(), profile: { fan: fanTable } })],
  ['a plate at a held current', benchWith({ cooler: { ...plateCooler, ...quick } })],
  ['a plate driven to the dew point', benchWith({ cooler: { ...plateCooler, ...quick }, profile: { drive: dew } })],
  [
    'a plate whose drive lags',
    benchWith({ cooler: { ...plateCooler, ...quick, driveLagS: 4 }, profile: { drive: dew } }),
  ],
  ['a plate with all that a real one has', benchWith({ cooler: { ...realPlate, ...quick }, profile: { drive: dew } })],
  [
    'a plate on a supply',
    benchWith({ cooler: { ...realPlate, ...quick }, profile: { drive: { kind: 'supply', voltageV: 12 } } }),
  ],
]

function benchCooler(): Bench['cooler'] {
  return { ...benchWith().cooler, ...quick } as Bench['cooler']
}

describe.each(benches)('%s', (_, bench) => {
  const loads: readonly (readonly [Load, number])[] = [
    [idle, 30],
    [twoCores, 45],
    [idle, 30],
  ]
  const whole = run(
    bench,
    loads.map(([load, forS]) => step(load, forS)),
  )
  const walked = run(
    bench,
    loads.flatMap(([load, forS]) => inPieces(load, forS)),
  )

  it.each(['dieC', 'plateC', 'coolantC', 'driveA'] as const)('has the same %s', figure => {
    expect(whole.series[figure].length).toBe(106)
    whole.series[figure].forEach((value, index) => {
      expect(Math.abs(value - (walked.series[figure][index] ?? Number.NaN))).toBeLessThan(2e-6)
    })
  })

  it('has the same clocks, and the same power but for what is allowed a mean', () => {
    expect(whole.series.clockMhz).toEqual(walked.series.clockMhz)
    whole.series.powerW.forEach((value, index) => {
      expect(Math.abs(value - (walked.series.powerW[index] ?? Number.NaN))).toBeLessThan(1e-4)
    })
  })

  it('has the same extremes, those that lie within a step among them', () => {
    expect(walked.extremes.size).toBeGreaterThan(3)
    for (const [figure, { low, high }] of walked.extremes) {
      if (figure === 'clock') continue
      const own = whole.extremes.get(figure)
      // What the drive takes is looked at ten times a second, and at the ends of leaps.
      const allowed = figure === 'drive-power' ? 1e-3 : 1e-5
      expect(Math.abs((own?.low.value ?? Number.NaN) - low.value)).toBeLessThan(allowed)
      expect(Math.abs((own?.high.value ?? Number.NaN) - high.value)).toBeLessThan(allowed)
    }
  })
})

describe('what happens within a long step', () => {
  const bench = benchWith({ cooler: { ...plateCooler, ...quick, driveLagS: 4 }, profile: { drive: dew } })

  it('a temperature is reached at the tick at which it is reached in pieces', () => {
    const until = { kind: 'temperature', figure: 'plate', compare: '<=', temperatureC: 15, withinS: 600 } as const
    const reached = run(bench, [{ kind: 'step', load: idle, until }]).steps[0]
    expect(reached?.ended).toBe('reached')
    const walked = run(bench, inPieces(idle, 60))
    const first = walked.steps.find(({ endPlateC }) => endPlateC <= 15.1)
    expect(first?.endS).toBeGreaterThanOrEqual(reached?.endS ?? Number.NaN)
    expect((first?.endS ?? 0) - (reached?.endS ?? 0)).toBeLessThan(PIECE_S)
    expect(reached?.endPlateC).toBeLessThanOrEqual(15.1)
    expect(reached?.endPlateC).toBeGreaterThan(15.09)
  })

  it('a band and the trip come at the same times', () => {
    const hot = benchWith({
      part: { tripC: 66, ratioLow: 47 },
      cooler: { ...benchCooler(), radiator: [{ dutyPct: 100, resistanceKPerW: 0.2 }] } as Bench['cooler'],
      profile: { bands: [{ fromCores: 1, toCores: 10, aboveC: 60, drop: 1 }], returnK: 2 },
    })
    const whole = run(hot, [step(allCores, 120)])
    const walked = run(hot, inPieces(allCores, 120))
    expect(whole.tripS).not.toBeNull()
    expect(whole.tripS).toBe(walked.tripS)
    expect(whole.events.map(({ timeS }) => timeS)).toEqual(
      [...new Map(walked.events.map(({ what, timeS }) => [what, timeS] as const).reverse()).values()].reverse(),
    )
  })
})

describe('a day', () => {
  it.each(benches)('takes a few thousand slices at most, not a hundred thousand: %s', (_, bench) => {
    const course: Course = {
      start: { kind: 'room' },
      lines: [step(idle, 8 * 3600), step(twoCores, 8 * 3600), step(idle, 8 * 3600)],
    }
    const following = followCourseInSlices(bench, course, room, { sampleS: 600 })
    let slices = 0
    let one = following.next()
    for (; one.done !== true; one = following.next()) slices++
    expect(slices).toBeLessThan(6000)
    if ('undecided' in one.value) throw new Error('it is followed')
    expect(one.value.endS).toBe(86_400)
    expect(one.value.series.timeS.length).toBe(145)
  })
})
