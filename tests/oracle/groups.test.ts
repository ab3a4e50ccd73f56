/** The reference's groups held to cases worked out by hand, and to what does not change when a group is cut or moved. */
import { describe, expect, it } from 'vitest'
import { type Chip, chipOf, type Group, ofActive, type Task, taskOf } from './chip.ts'
import { running } from './die.ts'
import { sampleOf, wantedOf } from './generate.ts'
import { groupSampleOf } from './generate-groups.ts'
import { ceilingRatios, levelsOf } from './levels.ts'
import { corner, loop, withProfile } from './paper-bench.ts'
import { type OracleSettled, oracleSettle, settleTask } from './settle.ts'

const rowsTo = (toCores: number, ratio: number) => [{ fromCores: 1, toCores, ratio }]

/** Two cores of 3 nF at 50x and six of 1 nF at 40x, both on paper's 1.2 V. */
const plainGroup = chipOf(loop).groups[0] as Group
const wide: Group = { ...plainGroup, cores: 2, switchingNf: 3, coreResistanceKPerW: 0.5, steps: rowsTo(2, 50) }
const dense: Group = { ...plainGroup, cores: 6, switchingNf: 1, coreResistanceKPerW: 1.5, steps: rowsTo(6, 40) }
const pair: Chip = { bench: loop, groups: [wide, dense], rails: [{ loadLineOhm: 0 }] }
const both: Task = { cores: [2, 6], activity: [1, 0.5], vector: false, uneven: 1 }
const wideW = 2 * 3 * 1.44 * 5
const denseW = 6 * 0.5 * 1 * 1.44 * 4

const change = (chip: Chip, first: Partial<Group>, second: Partial<Group> = {}): Chip => ({
  ...chip,
  groups: [
    { ...(chip.groups[0] as Group), ...first },
    { ...(chip.groups[1] as Group), ...second },
  ],
})

describe('two groups on paper', () => {
  it('add their power, and the hottest core is that of the group with the larger rise', () => {
    const powerW = wideW + denseW + 10
    const got = settleTask(pair, both, corner)
    expect(got).toMatchObject({ state: 'steady', limiter: 'step', ratio: 50, clockMhz: 5000 })
    expect(got.dynamicW).toBeCloseTo(wideW + denseW, 9)
    expect(got.dieC).toBeCloseTo(25 + 0.2 * powerW + (0.5 * wideW) / 2, 9)
    expect(got.groups[1]).toMatchObject({ cores: 6, ratio: 40, ratioLow: 40, ratioHigh: 40, clockMhz: 4000 })
    expect(got.groups[1]?.coreC).toBeCloseTo(25 + 0.2 * powerW + (1.5 * denseW) / 6, 9)
  })

  it('an idle group has no clock, and leaks', () => {
    const leaky = change(pair, {}, { leakageW: 10, leakageAtC: 60, leakageAtV: 1.2 })
    const got = settleTask(leaky, { ...both, cores: [2, 0] }, corner)
    expect(got.groups[1]).toMatchObject({
      cores: 0,
      ratio: null,
      clockMhz: null,
      needV: null,
      coreC: null,
      dynamicW: 0,
    })
    const warm = 10 * 2 ** (((got.dieC ?? 0) - 60) / 25)
    expect(got.leakageW).toBeCloseTo(warm, 9)
    expect(got.dieC).toBeCloseTo(25 + 0.2 * (wideW + warm + 10) + (0.5 * wideW) / 2, 9)
  })

  it('a rail stands at what the most demanding active group asks for', () => {
    const needs = (voltageV: number) => ({
      needs: [{ ratio: 40, voltageV }],
      voltage: { kind: 'needs' as const, offsetV: 0, set: [] },
    })
    const asking = change(pair, needs(1.1), needs(1.25))
    expect(settleTask(asking, both, corner).setV).toBe(1.25)
    expect(settleTask(asking, { ...both, cores: [2, 0] }, corner).setV).toBe(1.1)
    // A fixed voltage counts while its group is idle.
    const fixed = change(asking, {}, { voltage: { kind: 'fixed', voltageV: 1.3 } })
    expect(settleTask(fixed, { ...both, cores: [2, 0] }, corner).setV).toBe(1.3)
    // On rails of their own each has its own; a rail without active groups takes its lowest ratio's.
    const apart = { ...change(asking, {}, { rail: 1 }), rails: [{ loadLineOhm: 0 }, { loadLineOhm: 0 }] }
    const got = settleTask(apart, { ...both, cores: [2, 0] }, corner)
    expect(got.groups.map(group => group.setV)).toEqual([1.1, 1.25])
  })

  it('behind load lines each rail falls by its own current', () => {
    const apart = { ...change(pair, {}, { rail: 1 }), rails: [{ loadLineOhm: 1e-3 }, { loadLineOhm: 4e-3 }] }
    const at = running(apart, both, [50, 40], 60)
    // P_dyn = G V² gives V = V_set / (1 + R G).
    expect(at.rails[0]?.dieV).toBeCloseTo(1.2 / (1 + (1e-3 * wideW) / 1.44), 12)
    expect(at.rails[1]?.dieV).toBeCloseTo(1.2 / (1 + (4e-3 * denseW) / 1.44), 12)
  })

  it('shares time so that the mean of the two rises stands in the mean temperature', () => {
    const got = settleTask({ ...pair, bench: withProfile({ limits: { dieC: 40 } }) }, both, corner)
    expect(got).toMatchObject({ state: 'throttled', dieC: 40 })
    const share = got.shareHigh ?? 0
    const rise = (ratios: readonly (number | null)[]): number => running(pair, both, ratios, 40).riseK
    const low = got.groups.map(group => group.ratioLow)
    const high = got.groups.map(group => group.ratioHigh)
    expect(high.map((ratio, index) => (ratio ?? 0) - (low[index] ?? 0))).toEqual([1, 1])
    const meanRise = share * rise(high) + (1 - share) * rise(low)
    expect(25 + 0.2 * (got.powerW ?? 0) + meanRise).toBeCloseTo(40, 9)
  })

  it('a level lowers the groups whose bands deepen, and the ceiling brings all down', () => {
    const row = (aboveC: number, drop: number) => ({ fromCores: 1, toCores: 6, aboveC, drop })
    const banded = change(
      pair,
      { bands: [row(50, 2), row(60, 4)], returnK: 2, ratioLow: 45 },
      { bands: [row(50, 3), row(70, 1)], returnK: 3, ratioLow: 35 },
    )
    const levels = levelsOf(banded, both, { count: 1, limiter: 'current' })
    expect(levels.map(({ ratios, enteredC, returnK }) => [...ratios, enteredC, returnK])).toEqual([
      [49, 39, Number.NEGATIVE_INFINITY, 0],
      [48, 37, 50, 3],
      [46, 37, 60, 2],
      // Two and three ratio-steps down lower nobody.
      [46, 36, 110, 0],
      [45, 35, 110, 0],
    ])
  })
})

/** The figures that no cut, order or rail may move. */
const figuresOf = (at: OracleSettled) => [
  at.clockMhz,
  at.powerW,
  at.dynamicW,
  at.leakageW,
  at.dieC,
  at.plateC,
  at.marginW,
]

const expectSame = (got: OracleSettled, expected: OracleSettled): void => {
  expect([got.state, got.limiter]).toEqual([expected.state, expected.limiter])
  const figures = figuresOf(expected)
  figuresOf(got).forEach((figure, index) => {
    const other = figures[index] ?? null
    if (figure === null || other === null) expect(figure).toBe(other)
    else expect(Math.abs(figure - other)).toBeLessThanOrEqual(1e-7 * Math.max(1, Math.abs(other)))
  })
}

describe('what no cut and no order moves', () => {
  it.each(Array.from({ length: 12 }, (_, index) => 100 + index * 3))('a part cut in two, bench %d', seed => {
    const { bench, load } = sampleOf(seed, wantedOf(seed % 9))
    if (load.kind !== 'work' || load.cores < 2) throw new Error('the seeds are those of loads on several cores')
    const cornered = sampleOf(seed, wantedOf(seed % 9)).corner
    const [whole] = chipOf(bench).groups
    if (!whole) throw new Error('a plain part is one group')
    const task = taskOf(load)
    const half = Math.floor(load.cores / 2)
    const step = whole.steps.find(row => row.fromCores <= load.cores && load.cores <= row.toCores)
    const anyCount = { fromCores: 1, toCores: 99 }
    const cut = {
      ...whole,
      leakageW: whole.leakageW / 2,
      steps: [{ ...anyCount, ratio: step?.ratio ?? 0 }],
      bands: whole.bands.map(row => ({ ...row, ...anyCount })),
    }
    const chip: Chip = { ...chipOf(bench), groups: [cut, cut] }
    const expected = oracleSettle(bench, load, cornered)
    for (const left of [half, 0]) {
      const cores = [left, load.cores - left]
      // The rise of a core counts the cores of its own group: power by core stays the same.
      const got = settleTask(chip, { ...task, cores, activity: [load.activity, load.activity] }, cornered)
      expectSame(got, expected)
    }
  })

  it.each(Array.from({ length: 8 }, (_, index) => index))('the order of the groups, bench %d', seed => {
    const { chip, task, corner: cornered } = groupSampleOf(seed, wantedOf(seed % 9))
    const turned = [...chip.groups.keys()].reverse()
    const of = <T>(list: readonly T[]): T[] => turned.map(index => list[index] as T)
    const expected = settleTask(chip, task, cornered)
    const other = { ...task, cores: of(task.cores), activity: of(task.activity) }
    const got = settleTask({ ...chip, groups: of(chip.groups) }, other, cornered)
    expectSame({ ...got, clockMhz: null }, { ...expected, clockMhz: null })
    expect(got.groups.map(group => group.clockMhz)).toEqual(
      of(expected.groups).map(group => (group.clockMhz === null ? null : expect.closeTo(group.clockMhz, 3))),
    )
  })
})

it('names the ratio of active groups alone', () => {
  const task: Task = { ...both, cores: [0, 4] }
  expect(ceilingRatios(pair, task, 3)).toEqual([null, 37])
  expect(ofActive(pair, task, (_, cores) => cores)).toEqual([null, 4])
})
