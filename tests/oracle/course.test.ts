/** The reference's courses held to closed forms and to what must not move. */
import { describe, expect, it } from 'vitest'
import type { Bench } from '../../server/model/types.ts'
import { makeChilled, makePlate } from '../harness/make.ts'
import { chipOf, taskOf } from './chip.ts'
import { type Course, faultedBench, soundBench } from './course/course.ts'
import { type CourseRun, courseRun } from './course/run.ts'
import { corner, loop, withProfile } from './paper-bench.ts'
import { oracleSettle } from './settle.ts'

const work = { kind: 'work' as const, task: taskOf({ kind: 'work', cores: 8, activity: 1, vector: false }) }
const idle = { kind: 'idle' as const }
const light = { plateHeatJPerK: 5, coolantHeatJPerK: 5 }

/** Paper's loop with little to heat: within seconds it is where it goes. */
const quick: Bench = { ...loop, cooler: { ...loop.cooler, ...light } as Bench['cooler'] }
const plate: Bench = { ...withProfile({}), cooler: makePlate({ ...light, plateHeatJPerK: 20 }) }

const follow = (bench: Bench, course: Course, lagS = 0): CourseRun => {
  const run = courseRun(chipOf(bench), corner, course, { lagS })
  if (!run) throw new Error('the course has no start')
  return run
}

const last = (run: CourseRun) => {
  const tick = run.ticks.at(-1)
  if (!tick) throw new Error('no tick')
  return tick
}

const step = (doing: typeof work | typeof idle | { kind: 'off' }, lastsS: number) => ({
  kind: 'step' as const,
  doing,
  lastsS,
})

describe('where a course starts', () => {
  it('a settled load stays where it settled', () => {
    const settled = oracleSettle(loop, { kind: 'work', cores: 8, activity: 1, vector: false }, corner)
    const run = follow(loop, { start: { kind: 'settled', doing: work }, lines: [step(work, 2)] })
    for (const tick of run.ticks) {
      expect(tick.ratios).toEqual([50])
      expect(tick.dieC).toBeCloseTo(settled.dieC ?? 0, 8)
    }
  })

  it('a throttled one keeps what was given back, not more than a ratio-step from it', () => {
    const throttled = withProfile({ limits: { dieC: 50 } })
    const settled = oracleSettle(throttled, { kind: 'work', cores: 8, activity: 1, vector: false }, corner)
    const run = follow(throttled, { start: { kind: 'settled', doing: work }, lines: [step(work, 1)] })
    expect(run.ticks[0]?.ratios[0]).toBeLessThanOrEqual(settled.ratioHigh ?? 0)
    for (const tick of run.ticks) expect(Math.abs((tick.ratios[0] ?? 0) - (settled.ratio ?? 0))).toBeLessThan(3)
  })

  it('a room is at the air, and warms to idle', () => {
    const run = follow(quick, { start: { kind: 'room' }, lines: [step(idle, 60)] })
    // 10 ms of 9 W into 12 J/K.
    expect(run.ticks[0]?.dieC).toBeCloseTo(25 + (9 * 0.01) / 12, 4)
    expect(last(run).plateC).toBeCloseTo(25 + 0.1 * 9, 5)
    expect(last(run).dieC).toBeCloseTo(25 + 0.2 * 9, 5)
  })
})

describe('faults', () => {
  const faults = (what: 'pump' | 'fan' | 'radiator', pct: number): CourseRun =>
    follow(quick, { start: { kind: 'idle' }, lines: [{ kind: 'fault', what, pct }, step(idle, 600)] })

  it.each([
    ['radiator', 200, 2 * 0.05 + 0.05],
    ['pump', 50, 0.05 + 0.05 / 0.5 ** 0.8],
    ['pump', 0, 0.05 + 0.05 / 0.03],
    ['pump', 100, 0.1],
    // One point at 100 %: straight down to an eighth of its conductance.
    ['fan', 60, 0.05 / (0.125 + 0.875 * 0.6) + 0.05],
    ['fan', 0, 8 * 0.05 + 0.05],
  ] as const)('%s %d %% comes to %d K/W', (what, pct, kPerW) => {
    expect(last(faults(what, pct)).plateC).toBeCloseTo(25 + 9 * kPerW, 3)
  })

  it('a fan above its lowest duty follows its power law, and the table has nothing to say', () => {
    const radiator = [
      { dutyPct: 25, resistanceKPerW: 0.4 },
      { dutyPct: 80, resistanceKPerW: 0.125 },
    ]
    const bench = { ...withProfile({ fan: [{ coolantC: 30, dutyPct: 30 }] }), cooler: { ...loop.cooler, radiator } }
    const at = (fan: number) => {
      const left = faultedBench(bench as Bench, { ...soundBench, fan })
      return left.cooler.kind === 'loop' && left.profile.fan.length === 0
        ? left.cooler.radiator[0]?.resistanceKPerW
        : undefined
    }
    expect(at(50)).toBeCloseTo(0.2, 12)
    // 10 W/K at 100 %: an eighth at rest, 2.5 W/K at 25 %.
    expect(1 / (at(10) ?? 0)).toBeCloseTo(1.25 + (1.25 * 10) / 25, 12)
  })

  it('a chiller loses capacity', () => {
    const chilled: Bench = {
      ...loop,
      cooler: makeChilled({
        coolantC: 8,
        capacityW: 100,
        beyondKPerW: 0.5,
        blockResistanceKPerW: 0.05,
        plateHeatJPerK: 5,
      }),
    }
    const lines = [{ kind: 'fault' as const, what: 'chiller' as const, pct: 4 }, step(idle, 200)]
    const run = follow(chilled, { start: { kind: 'idle' }, lines })
    expect(run.ticks[0]?.coolantC).toBeGreaterThan(8)
    expect(last(run).coolantC).toBeCloseTo(8 + 0.5 * 5, 5)
  })

  it('modules keep their hot side over a pump that stops, and settle where they did once it runs', () => {
    const pump = (pct: number) => ({ kind: 'fault' as const, what: 'pump' as const, pct })
    const still = follow(plate, { start: { kind: 'idle' }, lines: [step(idle, 1), pump(100), step(idle, 30)] })
    expect(last(still).plateC).toBeCloseTo(still.ticks[0]?.plateC ?? 0, 6)
    const stopped = follow(plate, { start: { kind: 'idle' }, lines: [step(idle, 1), pump(0), step(idle, 1)] })
    const moved = stopped.ticks.map((tick, at) =>
      Math.abs(tick.plateC - (stopped.ticks[at - 1]?.plateC ?? tick.plateC)),
    )
    expect(Math.max(...moved)).toBeLessThan(0.5)
    expect(last(stopped).plateC).toBeGreaterThan((still.ticks[0]?.plateC ?? 0) + 1)
  })
})

describe('drive', () => {
  it('a lag brings the current up exponentially, and a fault ends it at once', () => {
    const drive = (pct: number) => ({ kind: 'fault' as const, what: 'drive' as const, pct })
    const lines = [step(idle, 1), drive(0), step(idle, 0.5), drive(100), step(idle, 0.5)]
    const run = follow(plate, { start: { kind: 'room' }, lines }, 0.4)
    expect(run.ticks[99]?.currentA).toBeCloseTo(9 * (1 - Math.exp(-1 / 0.4)), 9)
    expect(run.ticks[100]?.currentA).toBe(0)
    expect(last(run).currentA).toBeCloseTo(9 * (1 - Math.exp(-0.5 / 0.4)), 9)
  })
})

describe('steps', () => {
  it('wait for a temperature, or as long as they may', () => {
    const until = (targetC: number) => ({ of: 'plate' as const, direction: 'at-most' as const, targetC })
    const lines = [
      { ...step(idle, 60), until: until(27) },
      { ...step(idle, 2), until: until(20) },
    ]
    const run = follow(quick, { start: { kind: 'settled', doing: work }, lines })
    const [first, second] = run.steps
    expect(first?.ended).toBe('reached')
    const at = Math.round((first?.endS ?? 0) / 0.01)
    expect(run.ticks[at - 1]?.plateC).toBeLessThanOrEqual(27.1)
    expect(run.ticks[at - 2]?.plateC).toBeGreaterThan(27.1)
    expect(second?.ended).toBe('waited')
    expect((second?.endS ?? 0) - (second?.startS ?? 0)).toBeCloseTo(2, 9)
  })

  it('a trip ends the course', () => {
    const stuck: Bench = { ...quick, part: { ...quick.part, ratioLow: 49, dieLimitC: 60 } }
    const lines = [{ kind: 'fault' as const, what: 'pump' as const, pct: 0 }, step(work, 100), step(idle, 5)]
    const run = follow(stuck, { start: { kind: 'settled', doing: work }, lines })
    expect(run.steps).toHaveLength(1)
    expect(run.steps[0]?.ended).toBe('trip')
    expect(run.tripS).toBeCloseTo(last(run).timeS, 9)
    expect(last(run).dieC).toBeGreaterThanOrEqual(70)
  })
})
