import { isDeepStrictEqual } from 'node:util'
import { describe, expect, test } from 'vitest'
import { DRAWS, type FigureOf, type Propagation } from '../../server/model/draws.ts'
import { settle, settlingOnce } from '../../server/model/settle.ts'
import { finished } from '../../server/model/slices.ts'
import type { Bench, Corner, Load, Settled } from '../../server/model/types.ts'
import { propagateInSlices } from '../../server/model/uncertainty.ts'
import { allWanted, randomFrom, sampleOf } from '../oracle/generate.ts'
import { allCores, benchWith, room } from './transient-bench.ts'

/**
 * Intervals and probabilities compared with independent draws: another generator, and a normal law by twelve uniform
 * numbers less six.
 */

type Model = (shifts: readonly number[]) => Settled | null

function independent(model: Model, standard: readonly number[], count: number, seed: number): (Settled | null)[] {
  const uniform = randomFrom(seed)
  const normal = (): number => Array.from({ length: 12 }, uniform).reduce((sum, one) => sum + one, -6)
  return Array.from({ length: count }, () => model(standard.map(sd => sd * normal())))
}

const figures: readonly (readonly [string, FigureOf, 'above' | 'below'])[] = [
  ['clock', one => one.clockMhz, 'below'],
  ['power', one => one.powerW, 'above'],
  ['die temperature', one => one.dieC, 'above'],
  ['plate temperature', one => one.plateC, 'above'],
  ['margin', one => one.marginW, 'below'],
]

/** Four standard errors of a share that two counts tell. */
const told = (share: number, count: number): number => 4 * Math.sqrt(share * (1 - share) * (1 / count + 1 / DRAWS))

/** Ends and probabilities of every figure against independent draws, a tenth of an uncertainty aside. */
function faultsOf(found: Propagation, drawn: readonly (Settled | null)[]): string[] {
  const faults: string[] = []
  for (const [name, figure, unbalanced] of figures) {
    const { value, low, high, standardUncertainty } = found.interval(figure, unbalanced)
    if (value === null) continue
    const lost = unbalanced === 'above' ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY
    const values = drawn.map(one => (one === null ? lost : (figure(one) ?? lost)))
    const share = (passes: (one: number) => boolean): number => values.filter(passes).length / values.length
    const slack = 0.1 * (standardUncertainty ?? 0) + 1e-6 * Math.max(1, Math.abs(value))
    const allowed = told(0.025, values.length)
    const [from, to] = [low ?? Number.NEGATIVE_INFINITY, high ?? Number.POSITIVE_INFINITY]
    const outside = [share(one => one < from - slack), share(one => one > to + slack)]
    if (Math.max(...outside) > 0.025 + allowed) faults.push(`${name}: ${outside} lie outside of ${low} to ${high}`)
    const inside = [share(one => one <= from + slack), share(one => one >= to - slack)]
    if (Math.min(...inside) < 0.025 - allowed) faults.push(`${name}: only ${inside} lie beyond ${low} and ${high}`)
    for (const limit of [from, value, to].filter(Number.isFinite)) {
      const passed = share(one => one <= limit + slack)
      const failed = share(one => one < limit - slack)
      // What has no balance passes nothing, whatever is asked.
      const unpassed = unbalanced === 'below' ? share(one => one === lost) : 0
      const stated = found.probability(figure, '<=', limit) + unpassed
      const off = Math.max(failed - stated, stated - passed)
      if (off > told(0.5, values.length)) faults.push(`${name} <= ${limit}: ${stated} is not ${failed} to ${passed}`)
    }
  }
  return faults
}

describe('on random benches of every kind', () => {
  const moved = (
    bench: Bench,
    [switching = 0, leakage = 0, doubling = 0, thermal = 0, block = 0]: readonly number[],
  ) => ({
    ...bench,
    part: {
      ...bench.part,
      switchingNf: bench.part.switchingNf * (1 + switching),
      leakageW: bench.part.leakageW * (1 + leakage),
      leakageDoublingK: bench.part.leakageDoublingK * (1 + doubling),
      packageResistanceKPerW: bench.part.packageResistanceKPerW * (1 + thermal),
    },
    cooler: { ...bench.cooler, blockResistanceKPerW: bench.cooler.blockResistanceKPerW * (1 + block) },
  })
  const modelOf =
    (bench: Bench, load: Load, corner: Corner): Model =>
    shifts =>
      settle(moved(bench, shifts), load, corner)

  // Every second combination of cooler, drive and fan, by turns barely and well uncertain.
  const cases = allWanted.flatMap((wanted, index) =>
    index % 2 === 0 ? [{ seed: 90_000 + index, wanted, share: index % 4 === 0 ? 0.004 : 0.03 }] : [],
  )
  const reasons = new Set<string>()

  test.each(cases)('$wanted.cooler, $wanted.drive, fan $wanted.fan: ± $share', ({ seed, wanted, share }) => {
    const { bench, load, corner } = sampleOf(seed, wanted)
    const model = modelOf(bench, load, corner)
    const standard = [1, 3, 1.5, 1, 2].map(times => times * share)
    const found = finished(propagateInSlices(model, { standard }))
    reasons.add(found.drawnFor ?? 'straight')
    expect(faultsOf(found, independent(model, standard, 600, seed))).toEqual([])
  })

  test('first order and draws both decided', () => {
    expect([...reasons].sort()).toEqual(expect.arrayContaining(['bend', 'level', 'straight']))
  })
})

describe('a die on the edge of running away', () => {
  // Leakage feeds on itself: the die temperature rises ever more steeply with it.
  const leaky = benchWith({ part: { ratioLow: 49, leakageW: 24, leakageDoublingK: 20, dieLimitC: 140 } })
  const model: Model = ([leakage = 0]) =>
    settle({ ...leaky, part: { ...leaky.part, leakageW: leaky.part.leakageW + leakage } }, allCores, room)
  const standard = [4]
  const found = finished(propagateInSlices(model, { standard }))
  const drawn = independent(model, standard, 4000, 3)
  const dieOf: FigureOf = one => one.dieC

  test('is not described by first order, by half of its width above', () => {
    const straight = ((model([4])?.dieC ?? 0) - (model([-4])?.dieC ?? 0)) / 2
    const { value, high } = found.interval(dieOf)
    expect(found.drawnFor).toBeDefined()
    expect((high ?? Number.POSITIVE_INFINITY) - (value ?? 0)).toBeGreaterThan(1.5 * 1.96 * straight)
  })

  test('has the interval and the probabilities of independent draws', () => {
    expect(faultsOf(found, drawn)).toEqual([])
  })

  test('does not certainly meet what lies beyond three standard uncertainties of first order', () => {
    const straight = ((model([4])?.dieC ?? 0) - (model([-4])?.dieC ?? 0)) / 2
    const limit = (found.interval(dieOf).value ?? 0) + 3 * straight
    const counted = drawn.filter(one => (one?.dieC ?? Number.POSITIVE_INFINITY) <= limit).length / drawn.length
    const stated = found.probability(dieOf, '<=', limit)
    expect(counted).toBeLessThan(0.99)
    expect(Math.abs(stated - counted)).toBeLessThan(told(counted, drawn.length))
  })
})

describe('a clock that alternates', () => {
  // The band holds the die at its threshold, at the stated constants and some way to either side.
  const free = settle(benchWith(), allCores, room)?.dieC ?? 0
  const banded = benchWith({ profile: { bands: [{ fromCores: 1, toCores: 10, aboveC: free - 1, drop: 2 }] } })
  const model: Model = ([switching = 0]) =>
    settle({ ...banded, part: { ...banded.part, switchingNf: banded.part.switchingNf + switching } }, allCores, room)

  test('does not state ± 0 for the die where the band does not hold it all the way', () => {
    expect(settle(banded, allCores, room)?.state).toBe('alternating')
    const standard = [0.05]
    const found = finished(propagateInSlices(model, { standard }))
    expect(found.drawnFor).toBe('level')
    const drawn = independent(model, standard, 4000, 4)
    const { standardUncertainty } = found.interval(one => one.dieC)
    expect(standardUncertainty).toBeGreaterThan(0.1)
    expect(faultsOf(found, drawn)).toEqual([])
  })

  test('states ± 0 for the die, and not for the clock, where it does', () => {
    const found = finished(propagateInSlices(model, { standard: [0.002] }))
    expect(found.interval(one => one.dieC).standardUncertainty).toBeCloseTo(0, 9)
    expect(found.interval(one => one.clockMhz).standardUncertainty).toBeGreaterThan(1)
  })
})

describe('draws without margins', () => {
  const free = settle(benchWith(), allCores, room)?.dieC ?? 0
  const banded = benchWith({ profile: { bands: [{ fromCores: 1, toCores: 10, aboveC: free + 0.5, drop: 2 }] } })
  const moved = ([switching = 0]: readonly number[]): Bench => ({
    ...banded,
    part: { ...banded.part, switchingNf: banded.part.switchingNf + switching },
  })
  const model: Model = shifts => settle(moved(shifts), allCores, room)
  const spread = { standard: [0.05] }
  const margin: FigureOf = one => one.marginW
  const once = settlingOnce(room)

  test('give the very figures of draws with them, and look for no margin until one is read', () => {
    let margins = 0
    const counted = (shifts: readonly number[]) => {
      margins += 1
      return once.withMargin(moved(shifts), allCores)
    }
    const whole = finished(propagateInSlices(model, spread))
    const found = finished(propagateInSlices(counted, spread, shifts => once.withoutMargin(moved(shifts), allCores)))
    expect(whole.drawnFor).toBe('level')
    expect(found.drawnFor).toBe('level')
    for (const [name, figure, unbalanced] of figures) {
      if (name === 'margin') continue
      expect(found.interval(figure, unbalanced)).toEqual(whole.interval(figure, unbalanced))
      expect(found.probability(figure, '<=', whole.interval(figure).value ?? 0)).toBe(
        whole.probability(figure, '<=', whole.interval(figure).value ?? 0),
      )
    }
    expect(margins).toBeLessThan(20)
    expect(found.interval(margin, 'below')).toEqual(whole.interval(margin, 'below'))
    expect(margins).toBeGreaterThanOrEqual(DRAWS)
  })

  test('have their margins drawn once where that is asked for', () => {
    let margins = 0
    const found = finished(
      propagateInSlices(
        shifts => {
          margins += 1
          return once.withMargin(moved(shifts), allCores)
        },
        spread,
        shifts => once.withoutMargin(moved(shifts), allCores),
      ),
    )
    finished(found.marginsInSlices())
    finished(found.marginsInSlices())
    const drawn = margins
    expect(found.interval(margin, 'below')).toEqual(
      finished(propagateInSlices(model, spread)).interval(margin, 'below'),
    )
    expect(margins).toBe(drawn)
    expect(drawn).toBeLessThan(DRAWS + 20)
  })
})

test('benches settled once each, of one cooler or of two by turns, have the figures they have alone', () => {
  const apart: string[] = []
  for (let seed = 0; seed < 120; seed++) {
    const { bench, load, corner } = sampleOf(seed, allWanted[seed % allWanted.length] as (typeof allWanted)[number])
    const once = settlingOnce(corner)
    const other = { ...bench.cooler, ratingW: 100 }
    for (const share of [0, 0.002, 0.004, -0.003]) {
      const part = { ...bench.part, switchingNf: bench.part.switchingNf * (1 + share) }
      const moved = { ...bench, part, cooler: share === 0.004 ? other : bench.cooler }
      const { notes: _, ...alone } = settle({ ...moved }, load, corner) as Settled
      const { marginW, ...figures } = alone
      if (!isDeepStrictEqual(once.withoutMargin(moved, load), figures)) apart.push(`seed ${seed}, ${share}`)
      if (!isDeepStrictEqual(once.withMargin(moved, load), alone)) apart.push(`seed ${seed}, ${share}: ${marginW} W`)
    }
  }
  expect(apart).toEqual([])
})
