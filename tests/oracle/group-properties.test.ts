/** What must hold of parts with groups, on the random benches of the reference. */
import { describe, expect, it } from 'vitest'
import { groupLoads, groupsOf, partOfGroup, settle, type Work } from '../../server/model/index.ts'
import type { BandRow, Bench, Corner, GroupSettings, NamedGroup, Settled } from '../../server/model/types.ts'
import { isWhole, leastOf } from '../harness/sampled.ts'
import { benchOf, loadOf } from './as-bench.ts'
import { diceFrom, sampleOf, wantedOf } from './generate.ts'
import { groupSampleOf } from './generate-groups.ts'

/** Figures that say nothing of one group in particular. */
const whole = [
  'powerW',
  'dynamicW',
  'leakageW',
  'dieC',
  'plateC',
  'coolantC',
  'driveW',
  'marginW',
  'shareHigh',
] as const
/** Those of the first group that has active cores. */
const first = ['ratio', 'ratioLow', 'ratioHigh', 'clockMhz', 'setV', 'voltageV', 'needV', 'currentA'] as const

/** One line for each figure by which two results differ by more than 1e-9. */
const unlike = (got: Settled | null, expected: Settled | null, names: readonly (keyof Settled)[]): string[] => {
  if (got === null || expected === null) return got === expected ? [] : ['one of them settles nowhere']
  if (got.state !== expected.state || got.limiter !== expected.limiter)
    return [`${got.state} ${got.limiter} instead of ${expected.state} ${expected.limiter}`]
  return names.flatMap(name => {
    const [ours, theirs] = [got[name], expected[name]]
    if (typeof ours !== 'number' || typeof theirs !== 'number')
      return ours === theirs ? [] : [`${name}: ${ours} instead of ${theirs}`]
    return Math.abs(ours - theirs) <= 1e-9 * Math.max(1, Math.abs(theirs))
      ? []
      : [`${name}: ${ours} instead of ${theirs}`]
  })
}

/** A third of the random benches in a usual run. */
const chips = (whole: number): number => (isWhole ? whole : Math.ceil(whole / 3))

const everyCount = { fromCores: 1, toCores: 1024 }

/** A plain bench with one ratio and one band table at every count, all ratios on the grid. */
const onGrid = (bench: Bench, top: number): Bench => {
  const { part, profile } = bench
  const { ratioLow, ratioStep } = part
  const steps = [{ ...everyCount, ratio: ratioLow + Math.max(1, Math.round((top - ratioLow) / ratioStep)) * ratioStep }]
  const bands = profile.bands.map((band): BandRow => {
    return { ...band, ...everyCount, drop: Math.round(band.drop / ratioStep) * ratioStep }
  })
  const vectorDrop = Math.round(profile.vectorDrop / ratioStep) * ratioStep
  return { ...bench, profile: { ...profile, steps, bands, vectorDrop } }
}

const settingsOf = ({ steps, bands, returnK, vectorDrop, voltage }: GroupSettings): GroupSettings => {
  return { steps, bands, returnK, vectorDrop, voltage }
}

/** The same bench with its cores as two groups. */
const cut = ({ part, profile, ...bench }: Bench, cores: readonly number[]): Bench => {
  const groups = cores.map((own, index): NamedGroup => {
    return { ...part, cores: own, leakageW: (part.leakageW * own) / part.cores, name: `part-${index}`, rail: 'main' }
  })
  return { ...bench, part: { ...part, groups }, profile: { ...profile, groups: cores.map(() => settingsOf(profile)) } }
}

const split = (load: Work, counts: readonly number[]): Work => {
  return { ...load, groups: counts.map(cores => ({ cores, activity: load.activity })) }
}

describe('parts with groups', () => {
  it('a group cut into two alike is the group', () => {
    let compared = 0
    for (let seed = 0; seed < chips(100); seed++) {
      const { bench, load, corner } = sampleOf(seed, wantedOf(seed))
      if (load.kind !== 'work') continue
      const dice = diceFrom(seed)
      const plain = onGrid(bench, bench.profile.steps[0]?.ratio ?? 50)
      const { cores } = plain.part
      const ofFirst = dice.whole(1, cores - 1)
      const grouped = cut(plain, [ofFirst, cores - ofFirst])
      const expected = settle(plain, load, corner)
      const [least, most] = [Math.max(0, load.cores - (cores - ofFirst)), Math.min(ofFirst, load.cores)]
      for (const busy of new Set([least, dice.whole(least, most), most])) {
        const found = unlike(settle(grouped, split(load, [busy, load.cores - busy]), corner), expected, [
          ...whole,
          ...first,
        ])
        expect(found, `seed ${seed}, ${busy} of ${load.cores} cores`).toEqual([])
        compared++
      }
    }
    expect(compared).toBeGreaterThan(leastOf(120, 0.3))
  })

  it('one active group on one rail is the plain part of its cores with the leakage of all', () => {
    let compared = 0
    for (let seed = 0; seed < chips(120); seed++) {
      const { chip, task, corner } = groupSampleOf(seed, wantedOf(seed))
      if (chip.rails.length > 1) continue
      const bench = benchOf({ ...chip, groups: chip.groups.map(group => notFixed(group)) })
      const index = task.cores.findIndex(cores => cores > 0)
      const load = loadOf({ ...task, cores: task.cores.map((own, at) => (at === index ? own : 0)) })
      const own = load.groups?.[index]
      if (own === undefined) continue
      const plain = plainOf(bench, index)
      const { groups: _, ...bare } = { ...load, ...own }
      expect(
        unlike(settle(bench, load, corner), settle(plain, bare, corner), [...whole, ...first]),
        `seed ${seed}`,
      ).toEqual([])
      compared++
    }
    expect(compared).toBeGreaterThan(leastOf(30, 0.3))
  })

  it('the order of the groups decides no figure of the whole', () => {
    for (let seed = 0; seed < chips(80); seed++) {
      const { chip, task, corner } = groupSampleOf(seed, wantedOf(seed))
      const turned = { ...chip, groups: chip.groups.toReversed() }
      const back = { ...task, cores: task.cores.toReversed(), activity: task.activity.toReversed() }
      const got = settle(benchOf(turned), loadOf(back), corner)
      const expected = settle(benchOf(chip), loadOf(task), corner)
      expect(unlike(got, expected, whole), `seed ${seed}`).toEqual([])
      const ratios = (settled: Settled | null) => settled?.groups?.map(({ ratioHigh }) => ratioHigh)
      expect(ratios(got)).toEqual(ratios(expected)?.toReversed())
    }
  })

  it('nor does a rail for each, without load lines, where all are asked for the same voltage', () => {
    let compared = 0
    for (let seed = 0; seed < chips(80); seed++) {
      const { chip, task, corner } = groupSampleOf(seed, wantedOf(seed))
      if (task.cores.includes(0)) continue
      const groups = chip.groups.map(group => ({ ...group, voltage: { kind: 'fixed', voltageV: 1.15 } as const }))
      const together = { ...chip, rails: [{ loadLineOhm: 0 }], groups: groups.map(group => ({ ...group, rail: 0 })) }
      const rails = groups.map(() => ({ loadLineOhm: 0 }))
      const apart = { ...chip, rails, groups: groups.map((group, rail) => ({ ...group, rail })) }
      const [got, expected] = [apart, together].map(one => settle(benchOf(one), loadOf(task), corner))
      expect(unlike(got ?? null, expected ?? null, whole), `seed ${seed}`).toEqual([])
      compared++
    }
    expect(compared).toBeGreaterThan(leastOf(20, 0.3))
  })

  it('without a load line a lower step of any group never raises power or die temperature below all bands', () => {
    let compared = 0
    for (let seed = 0; seed < chips(120); seed++) {
      const { chip, task, corner } = groupSampleOf(seed, wantedOf(seed))
      const rails = chip.rails.map(() => ({ loadLineOhm: 0 }))
      const groups = chip.groups.map(group => ({ ...notFixed(group), bands: [] }))
      const bench = free(benchOf({ ...chip, rails, groups }))
      const before = steadyAt(bench, loadOf(task), corner)
      if (before === undefined) continue
      for (const index of groups.keys()) {
        const lower = (at: GroupSettings, own: number): GroupSettings =>
          own === index ? { ...at, steps: at.steps.map(row => ({ ...row, ratio: row.ratio - 3 })) } : at
        const profile = { ...bench.profile, groups: bench.profile.groups?.map(lower) ?? [] }
        const after = steadyAt({ ...bench, profile }, loadOf(task), corner)
        if (after === undefined) throw new Error(`seed ${seed}: a lower step is not steady`)
        expect(after.powerW, `seed ${seed}`).toBeLessThanOrEqual(before.powerW + 1e-9)
        expect(after.dieC, `seed ${seed}`).toBeLessThanOrEqual(before.dieC + 1e-9)
        compared++
      }
    }
    expect(compared).toBeGreaterThan(leastOf(30, 0.3))
  })

  it('one number of cores fills the groups in their order', () => {
    const { chip } = groupSampleOf(7, wantedOf(7))
    const { part } = benchOf(chip)
    const sizes = groupsOf(part).map(({ cores }) => cores)
    const filled = (cores: number) => groupLoads(part, { cores }).map(own => own.cores)
    expect(filled(1)).toEqual([1, ...sizes.slice(1).map(() => 0)])
    expect(filled((sizes[0] ?? 0) + 1)).toEqual([sizes[0], 1, ...sizes.slice(2).map(() => 0)])
    expect(filled(part.cores)).toEqual(sizes)
  })
})

type Group = Parameters<typeof benchOf>[0]['groups'][number]

const notFixed = (group: Group): Group =>
  group.voltage.kind === 'needs' && group.voltage.set.length === 0
    ? group
    : { ...group, voltage: { kind: 'needs', offsetV: 0, set: [] } }

/** Its limits taken away. */
const free = (bench: Bench): Bench => ({ ...bench, profile: { ...bench.profile, limits: {} } })

const steadyAt = (bench: Bench, load: Work, corner: Corner): { powerW: number; dieC: number } | undefined => {
  const found = settle(bench, load, corner)
  if (found === null || (found.limiter !== 'step' && found.limiter !== 'vector') || found.state !== 'steady')
    return undefined
  return found.powerW === null || found.dieC === null ? undefined : { powerW: found.powerW, dieC: found.dieC }
}

/** The cores of one group alone, with the leakage of all brought to its voltage and temperature. */
const plainOf = (bench: Bench, index: number): Bench => {
  const { part, profile, board } = bench
  const own = partOfGroup(part, index)
  const { leakageExponent: k, leakageDoublingK: doublingK } = part
  const leakageW = groupsOf(part).reduce((sum, one) => {
    const byVolts = (own.leakageAtV / one.leakageAtV) ** k
    return sum + one.leakageW * byVolts * 2 ** ((own.leakageAtC - one.leakageAtC) / doublingK)
  }, 0)
  const { groups, limits, ...rest } = profile
  const { railCurrentA, ...others } = limits
  const currentA = railCurrentA?.main
  const { rails, ...ofAll } = board
  return {
    ...bench,
    board: { ...ofAll, ...rails?.main },
    part: { ...own, leakageW },
    profile: {
      ...rest,
      ...groups?.[index],
      limits: { ...others, ...(currentA === undefined ? {} : { currentA }) },
    },
  }
}
