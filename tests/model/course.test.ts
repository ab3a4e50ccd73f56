import { describe, expect, it } from 'vitest'
import { blockAt, radiatorAt } from '../../server/model/cooler/faults.ts'
import { type Course, type CourseRun, type Load, noFaults, settle, simulate } from '../../server/model/index.ts'
import type { Bench } from '../../server/model/types.ts'
import { followCourse } from '../harness/follow-course.ts'
import { allCores, benchWith, plateCooler, room } from './transient-bench.ts'

const step = (load: Load, forS: number): Course['lines'][number] => ({
  kind: 'step',
  load,
  until: { kind: 'time', forS },
})
const idle: Load = { kind: 'idle' }
const fromIdle = { kind: 'settled', load: idle } as const

function run(bench: Bench, course: Course): CourseRun {
  const found = followCourse(bench, course, room)
  if ('undecided' in found) throw new Error(found.undecided)
  return found
}

const plated = benchWith({ cooler: plateCooler, profile: { drive: { kind: 'dew', marginK: 3 } } })
const lagging = benchWith({
  cooler: { ...plateCooler, driveLagS: 12 },
  profile: { drive: { kind: 'dew', marginK: 3 } },
})
const banded = benchWith({
  profile: {
    returnK: 2,
    bands: [{ fromCores: 1, toCores: 10, aboveC: 70, drop: 3 }],
    limits: { dieC: 80, sustainedPowerW: 150, sustainedOverS: 5 },
  },
})

describe('a course of one step from idle', () => {
  it.each([
    ['a loop', benchWith()],
    ['a driven plate', plated],
    ['a plate whose drive lags', lagging],
    ['bands and ceilings', banded],
  ])('is the run of that load, value for value: %s', (_, bench) => {
    const alone = simulate(bench, allCores, room, { overS: 20 })
    const { series } = run(bench, { start: fromIdle, lines: [step(allCores, 20)] })
    // The last look of a load alone is the next step's in a course.
    expect(series.dieC.slice(0, -1)).toEqual(alone?.series.dieC.slice(0, -1))
    expect(series.clockMhz).toEqual(alone?.series.clockMhz)
    expect(series.plateC.map(value => value.toFixed(9))).toEqual(alone?.series.plateC.map(value => value.toFixed(9)))
  })
})

describe('a course that is left once a figure is beyond a value', () => {
  const evening: Course = { start: fromIdle, lines: [step(idle, 5), step(allCores, 20), step(idle, 10)] }
  const whole = run(plated, evening)
  const leftAt = (value: number): CourseRun => {
    const found = followCourse(plated, evening, room, { endsAt: { figure: 'die', side: 'high', value } })
    if ('undecided' in found) throw new Error(found.undecided)
    return found
  }
  const highest = whole.extremes.get('die')?.high.value ?? Number.NaN

  it('is the same up to there', () => {
    const left = leftAt(highest - 5)
    expect(left.extremes.get('die')?.high.value).toBeGreaterThan(highest - 5)
    expect(left.endS).toBeGreaterThan(5)
    expect(left.endS).toBeLessThan(25)
    const full = left.series.timeS.filter(timeS => timeS < left.endS).length
    expect(left.series.dieC.slice(0, full)).toEqual(whole.series.dieC.slice(0, full))
  })

  it('is the whole where it never is', () => {
    expect(leftAt(highest + 0.001)).toEqual(whole)
  })
})

describe('from step to step', () => {
  it.each([
    ['a driven plate', lagging],
    ['bands and ceilings', banded],
  ])('all states go on, so that a load cut in two is the load: %s', (_, bench) => {
    const whole = run(bench, { start: fromIdle, lines: [step(allCores, 24)] })
    const parts = run(bench, { start: fromIdle, lines: [step(allCores, 9), step(allCores, 15)] })
    parts.series.dieC.forEach((dieC, index) => {
      if (index < 24) expect(dieC).toBeCloseTo(whole.series.dieC[index] ?? Number.NaN, 5)
    })
    expect(parts.series.clockMhz).toEqual(whole.series.clockMhz)
    expect(parts.endS).toBe(24)
  })

  it('begins where a load has settled', () => {
    const settled = settle(plated, allCores, room)
    const { steps, endS } = run(plated, { start: { kind: 'settled', load: allCores }, lines: [step(allCores, 30)] })
    expect(endS).toBe(30)
    expect(steps[0]?.endDieC).toBeCloseTo(settled?.dieC ?? Number.NaN, 3)
    expect(steps[0]?.endPlateC).toBeCloseTo(settled?.plateC ?? Number.NaN, 3)
  })

  it('begins at the temperature of the air after power-on', () => {
    const { series } = run(plated, { start: { kind: 'room' }, lines: [step(idle, 10)] })
    expect([series.dieC[0], series.plateC[0], series.coolantC[0]]).toEqual([room.airC, room.airC, room.airC])
    expect(series.clockMhz[0]).toBeNaN()
  })
})

describe('a step that waits', () => {
  const waiting = (temperatureC: number, withinS: number): Course => ({
    start: { kind: 'room' },
    lines: [
      {
        kind: 'step',
        load: idle,
        until: { kind: 'temperature', figure: 'plate', compare: '<=', temperatureC, withinS },
      },
      step(allCores, 2),
    ],
  })

  it('ends at the first tick at which it is there to 0.1 K', () => {
    const { steps } = run(plated, waiting(18, 600))
    expect(steps[0]?.ended).toBe('reached')
    expect(steps[0]?.endPlateC).toBeLessThanOrEqual(18.1)
    expect(steps[0]?.endPlateC).toBeGreaterThan(18.05)
    expect(steps[1]?.startS).toBe(steps[0]?.endS)
  })

  it('is over at once where it is there already', () => {
    const { steps, endS } = run(plated, waiting(40, 600))
    expect(steps[0]).toMatchObject({ ended: 'reached', startS: 0, endS: 0 })
    expect(endS).toBe(2)
  })

  it('goes on where it never comes', () => {
    const { steps, events } = run(plated, waiting(-40, 15))
    expect(steps[0]).toMatchObject({ ended: 'waited', endS: 15 })
    expect(steps[1]?.ended).toBe('time')
    expect(events).toContainEqual(expect.objectContaining({ kind: 'waited', timeS: 15 }))
  })
})

describe('a drive that lags', () => {
  it('lets the plate undershoot when a load ends, and one that follows at once does not', () => {
    const lines = [step(allCores, 120), step(idle, 60)]
    const lowOf = (bench: Bench): number =>
      run(bench, { start: fromIdle, lines }).steps[1]?.extremes.get('plate')?.low.value ?? 0
    const hold = { drive: { kind: 'hold', temperatureC: 24 } } as const
    expect(lowOf(benchWith({ cooler: plateCooler, profile: hold }))).toBeGreaterThan(23.95)
    expect(lowOf(benchWith({ cooler: { ...plateCooler, driveLagS: 12 }, profile: hold }))).toBeLessThan(23)
  })
})

describe('faults', () => {
  const settledLoad = { kind: 'settled', load: allCores } as const

  it('leave so much of a block and a radiator', () => {
    const at = (pumpPct: number): number => blockAt({ blockResistanceKPerW: 0.05 }, { ...noFaults, pumpPct })
    expect(at(100)).toBe(0.05)
    expect(at(50)).toBeCloseTo(0.05 / 0.5 ** 0.8, 12)
    expect(at(0)).toBeCloseTo(0.05 / 0.03, 12)
    const rows = [
      { dutyPct: 20, resistanceKPerW: 0.1 },
      { dutyPct: 100, resistanceKPerW: 0.05 },
    ]
    const fan = (fanPct: number): number => radiatorAt(rows, { ...noFaults, fanPct })[0]?.resistanceKPerW ?? 0
    expect(fan(100)).toBeCloseTo(0.05, 12)
    expect(fan(20)).toBeCloseTo(0.1, 12)
    // Conductance 10 W/K at 20 % and an eighth of 20 W/K at none: 6.25 W/K halfway.
    expect(fan(10)).toBeCloseTo(1 / 6.25, 12)
    expect(fan(0)).toBeCloseTo(0.4, 12)
    expect(radiatorAt(rows, { ...noFaults, radiatorPct: 200 }).map(row => row.resistanceKPerW)).toEqual([0.2, 0.1])
  })

  it('of the pump change nothing but by the heat of the hot side while the flow is whole', () => {
    const lines = [step(allCores, 20)]
    const { steps } = run(plated, { start: settledLoad, lines })
    const whole = run(plated, { start: settledLoad, lines: [{ kind: 'fault', word: 'pump', pct: 100 }, ...lines] })
    expect(whole.steps[0]?.endPlateC).toBeCloseTo(steps[0]?.endPlateC ?? 0, 4)
    expect(whole.faultS).toBe(0)
  })

  it('of the pump do not make the plate jump, and stop the machine in the end', () => {
    const full = benchWith({ cooler: plateCooler, profile: { drive: { kind: 'full' } } })
    const course: Course = {
      start: settledLoad,
      lines: [step(allCores, 5), { kind: 'fault', word: 'pump', pct: 0 }, step(allCores, 900)],
    }
    const { series, tripS, faultS, steps } = run(full, course)
    expect(faultS).toBe(5)
    const at = (timeS: number): number => series.plateC[series.timeS.indexOf(timeS)] ?? Number.NaN
    expect(Math.abs(at(6) - at(5))).toBeLessThan(2)
    expect(at(60)).toBeGreaterThan(at(5) + 10)
    expect(tripS).not.toBeNull()
    expect(steps.at(-1)?.ended).toBe('trip')
  })

  it('end with 100 %, and nothing is left of them', () => {
    const lines = (fault: readonly Course['lines'][number][]): Course['lines'] => [...fault, step(allCores, 5)]
    const none = run(benchWith(), { start: settledLoad, lines: lines([]) })
    const ended = run(benchWith(), {
      start: settledLoad,
      lines: lines([
        { kind: 'fault', word: 'fan', pct: 0 },
        { kind: 'fault', word: 'fan', pct: 100 },
        { kind: 'fault', word: 'radiator', pct: 300 },
        { kind: 'fault', word: 'radiator', pct: 100 },
      ]),
    })
    expect(ended.series).toEqual(none.series)
  })
})

describe('a course that cannot be followed', () => {
  it('says so where what it starts from is over its limit', () => {
    const hot = benchWith({ profile: { limits: { dieC: 25 } }, part: { ratioLow: 40 } })
    expect(followCourse(hot, { start: { kind: 'settled', load: allCores }, lines: [step(idle, 1)] }, room)).toEqual({
      undecided: 'start',
      load: allCores,
    })
  })

  it('says so where no step row covers a load', () => {
    const bare = benchWith({ profile: { steps: [{ fromCores: 1, toCores: 4, ratio: 40 }] } })
    expect(followCourse(bare, { start: fromIdle, lines: [step(allCores, 1)] }, room)).toEqual({
      undecided: 'steps',
      load: allCores,
    })
  })
})
