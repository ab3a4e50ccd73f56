import { describe, expect, test } from 'vitest'
import { settle, simulate } from '../../server/model/index.ts'
import type { WorkLoad } from '../../server/model/prepare.ts'
import type { Bench, GroupLoad, GroupSettings, NamedGroup } from '../../server/model/types.ts'
import { followCourse } from '../harness/follow-course.ts'
import { benchOf, loadOf } from '../oracle/as-bench.ts'
import { wantedOf } from '../oracle/generate.ts'
import { groupSampleOf } from '../oracle/generate-groups.ts'
import { allCores, benchWith, loopCooler, room } from './transient-bench.ts'

const little = { ...loopCooler, plateHeatJPerK: 40, coolantHeatJPerK: 150 }

/** A plain bench that gives ratio back at a band and at its power limit. */
const plain = benchWith({
  cooler: little,
  board: { loadLineOhm: 0.0004, coreVoltageStepV: 0.005 },
  profile: {
    bands: [{ fromCores: 1, toCores: 10, aboveC: 46, drop: 2 }],
    returnK: 1.5,
    limits: { sustainedPowerW: 170, sustainedOverS: 4 },
  },
})

const settingsOf = ({ steps, bands, returnK, vectorDrop, voltage }: GroupSettings): GroupSettings => {
  return { steps, bands, returnK, vectorDrop, voltage }
}

/** The same cores as two groups, the second on a supply of that name. */
const cut = ({ part, profile, ...bench }: Bench, rail: string): Bench => {
  const groups = [4, 6].map((cores, index): NamedGroup => {
    const leakageW = (part.leakageW * cores) / part.cores
    return { ...part, cores, leakageW, name: `cut-${index}`, rail: index === 0 ? 'main' : rail }
  })
  return { ...bench, part: { ...part, groups }, profile: { ...profile, groups: groups.map(() => settingsOf(profile)) } }
}

const spread = (...counts: readonly number[]): WorkLoad => ({
  ...allCores,
  cores: counts.reduce((sum, own) => sum + own, 0),
  groups: counts.map((cores): GroupLoad => ({ cores, activity: 1 })),
})

/** What two groups with settings of their own run at: the first has a band, the second none. */
function twoKinds(change: Partial<Bench['profile']> = {}): Bench {
  const made = cut(benchWith({ cooler: little, profile: { limits: change.limits ?? {} } }), 'main')
  const [first, second] = made.profile.groups ?? []
  if (first === undefined || second === undefined) throw new Error('two groups')
  const band = { fromCores: 1, toCores: 4, aboveC: 42, drop: 4 }
  return { ...made, profile: { ...made.profile, groups: [{ ...first, bands: [band], returnK: 2 }, second] } }
}

describe('groups of cores over time', () => {
  test('the bench gives ratio back at its band and at its power limit', () => {
    const kinds = simulate(plain, allCores, room, { overS: 60 })?.events.map(({ kind }) => kind)
    expect(kinds).toContain('band')
    expect(kinds).toContain('sustained-power')
  })

  test.each([
    [4, 6],
    [4, 3],
    [0, 6],
    [4, 0],
  ])('a group cut into two alike is the group: %d and %d cores', (one, two) => {
    const load = spread(one, two)
    const expected = simulate(plain, { ...allCores, cores: one + two }, room, { overS: 60 })
    const got = simulate(cut(plain, 'main'), load, room, { overS: 60 })
    for (const name of ['timeS', 'clockMhz', 'powerW', 'dieC', 'plateC', 'coolantC'] as const) {
      expect(got?.series[name]).toHaveLength(61)
      got?.series[name].forEach((value, at) => {
        expect(Math.abs(value - (expected?.series[name][at] ?? Number.NaN)), `${name} at ${at} s`).toBeLessThan(1e-6)
      })
    }
    expect(got?.lowestSecondMhz).toBeCloseTo(expected?.lowestSecondMhz ?? Number.NaN, 6)
    expect(got?.groups?.map(({ group }) => group)).toEqual(
      ['cut-0', 'cut-1'].filter((_, index) => [one, two][index] !== 0),
    )
    for (const own of got?.groups ?? []) expect(own.lowestSecondMhz).toBeCloseTo(expected?.lowestSecondMhz ?? 0, 6)
  })

  test('a rail for each group without load lines is one rail', () => {
    const straight = { ...plain, board: { ...plain.board, loadLineOhm: 0 } }
    const load = spread(4, 6)
    const [one, two] = ['main', 'second'].map(rail => simulate(cut(straight, rail), load, room, { overS: 60 }))
    expect(one?.events.length).toBeGreaterThan(0)
    expect(two?.events).toEqual(one?.events)
    for (const [at, value] of (one?.series.powerW ?? []).entries()) expect(two?.series.powerW[at]).toBeCloseTo(value, 6)
    for (const [at, value] of (one?.series.dieC ?? []).entries()) expect(two?.series.dieC[at]).toBeCloseTo(value, 6)
  })

  test('a band lowers its own group alone, and says whose it is', () => {
    const run = simulate(twoKinds(), spread(4, 6), room, { overS: 60 })
    const [first, second] = run?.groups ?? []
    expect(first?.lowestSecondMhz).toBeLessThan(4899)
    expect(second?.lowestSecondMhz).toBeCloseTo(4900, 6)
    expect(run?.lowestSecondMhz).toBe(first?.lowestSecondMhz)
    expect(run?.events.map(({ what }) => what)).toEqual(['ratio of cut-0 given back: band above 42 °C'])
  })

  test('a group deep in its bands waits until the ceiling comes down to it', () => {
    const limits = { sustainedPowerW: 150, sustainedOverS: 2 }
    const run = simulate(twoKinds({ limits }), spread(4, 6), room, { overS: 60, sampleS: 0.01 })
    const [first, second] = run?.series.groups ?? []
    const ratios = first?.clockMhz
      .slice(1)
      .map((mhz, at) => [mhz, second?.clockMhz[at + 1] ?? 0].map(one => Math.round(one / 100)))
    // With its band in the first group is at 45x until the ceiling, which the second is at, has come down to that.
    const unlike = ratios?.filter(([own, ceiling]) => own !== ceiling && own !== Math.min(45, ceiling ?? 0))
    expect(unlike).toEqual([])
    expect(ratios).toContainEqual([45, 47])
    expect(run?.events.map(({ kind }) => kind)).toContain('sustained-power')
  })

  test('an idle group has no clock and goes on leaking', () => {
    const bench = twoKinds()
    const run = simulate(bench, spread(0, 6), room, { overS: 5 })
    const [first, second] = run?.series.groups ?? []
    expect(first?.clockMhz.every(Number.isNaN)).toBe(true)
    expect(second?.clockMhz).toEqual(run?.series.clockMhz)
    expect(run?.groups?.map(({ group }) => group)).toEqual(['cut-1'])
    const dry = bench.part.groups?.map((group, index) => (index === 0 ? { ...group, leakageW: 0 } : group)) ?? []
    const without = simulate({ ...bench, part: { ...bench.part, groups: dry } }, spread(0, 6), room, { overS: 5 })
    expect(without?.series.powerW.at(-1)).toBeLessThan((run?.series.powerW.at(-1) ?? 0) - 1)
  })

  test('no run where a group has no step for its count', () => {
    const bench = twoKinds()
    const [first, second] = bench.profile.groups ?? []
    if (first === undefined || second === undefined) throw new Error('two groups')
    const short = { ...second, steps: [{ fromCores: 1, toCores: 2, ratio: 49 }] }
    const profile = { ...bench.profile, groups: [first, short] }
    expect(simulate({ ...bench, profile }, spread(4, 3), room, { overS: 1 })).toBeUndefined()
    expect(simulate({ ...bench, profile }, spread(4, 2), room, { overS: 1 })).toBeDefined()
  })

  test('a course keeps the figures of each group, step by step', () => {
    const both = spread(4, 6)
    const one = spread(0, 3)
    const lines = [both, one, { kind: 'idle' as const }].map(load => {
      return { kind: 'step' as const, load, until: { kind: 'time' as const, forS: 4 } }
    })
    const run = followCourse(twoKinds(), { start: { kind: 'settled', load: both }, lines }, room)
    if ('undecided' in run) throw new Error(run.undecided)
    expect(run.steps.map(step => step.groups?.map(({ group }) => group))).toEqual([['cut-0', 'cut-1'], ['cut-1'], []])
    const [first, second] = run.groups ?? []
    expect(first?.extremes.get('clock')?.low.value).toBeLessThan(4899)
    expect(second?.extremes.get('clock')?.low.value).toBeCloseTo(4900, 6)
    expect(first?.extremes.get('voltage')?.high.value).toBeGreaterThan(1)
    expect(run.steps[0]?.extremes.get('clock')).toEqual(run.steps[0]?.groups?.[0]?.extremes.get('clock'))
    expect(run.steps[1]?.extremes.get('current')).toEqual(run.steps[1]?.groups?.[0]?.extremes.get('current'))
    expect(run.series.groups?.[0]?.clockMhz.slice(5).every(Number.isNaN)).toBe(true)
  })
})

/** Less to heat and a shorter mean make for shorter runs and change nothing in the long one. */
function quick(bench: Bench): Bench {
  const heats = bench.cooler.kind === 'chilled' ? { plateHeatJPerK: 40 } : { plateHeatJPerK: 40, coolantHeatJPerK: 150 }
  const limits = { ...bench.profile.limits, sustainedOverS: 5 }
  return { ...bench, cooler: { ...bench.cooler, ...heats } as Bench['cooler'], profile: { ...bench.profile, limits } }
}

describe('a load left running is where it settles, group by group', () => {
  // Modules take long to follow, and have nothing that goes by group.
  const samples = Array.from({ length: 45 }, (_, seed) => ({ seed, ...groupSampleOf(seed, wantedOf(seed)) }))
  const cases = samples.flatMap(({ seed, chip, task, corner }) => {
    if (chip.bench.cooler.kind === 'thermoelectric') return []
    const bench = quick(benchOf({ ...chip, groups: chip.groups.map(group => ({ ...group, returnK: 0 })) }))
    const settled = settle(bench, loadOf(task), corner)
    const idle = settle(bench, { kind: 'idle' }, corner)
    if (settled === null || idle?.dieC == null || settled.state === 'runaway' || settled.state === 'over-limit')
      return []
    return [{ name: `${seed}: ${settled.state} ${settled.limiter}`, bench, load: loadOf(task), corner, settled }]
  })

  test('all states are among the cases', () => {
    const words = new Set(cases.flatMap(({ name }) => name.split(' ')))
    for (const word of ['steady', 'alternating', 'throttled', 'band', 'sustained-power', 'die-limit'])
      expect(words).toContain(word)
  })

  test.each(cases)('$name', { timeout: 60_000 }, ({ bench, load, corner, settled }) => {
    const run = simulate(bench, load, corner, { overS: 400, sampleS: 10 })
    const stepMhz = bench.part.ratioStep * bench.part.referenceGhz * 1000
    expect(run?.groups?.length).toBe(load.groups?.filter(({ cores }) => cores > 0).length)
    for (const { group, lateMhz } of run?.groups ?? []) {
      const own = settled.groups?.find(one => one.group === group)
      expect(Math.abs((lateMhz ?? Number.NaN) - (own?.clockMhz ?? Number.NaN)) / stepMhz, group).toBeLessThan(0.1)
    }
    expect(Math.abs((run?.late?.dieC ?? Number.NaN) - (settled.dieC ?? Number.NaN))).toBeLessThan(0.1)
  })
})
