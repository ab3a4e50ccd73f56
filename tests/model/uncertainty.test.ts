import { describe, expect, test } from 'vitest'
import { DRAWS, type FigureOf } from '../../server/model/draws.ts'
import { normalShareBelow, seededUniform, stratifiedNormal } from '../../server/model/random.ts'
import { settle } from '../../server/model/settle.ts'
import { finished } from '../../server/model/slices.ts'
import type { Bench, Settled } from '../../server/model/types.ts'
import { propagateInSlices } from '../../server/model/uncertainty.ts'
import { seededNormal } from '../harness/random.ts'
import { randomFrom } from '../oracle/generate.ts'
import { allCores, benchWith, plateCooler, room } from './transient-bench.ts'

const propagate = (...asked: Parameters<typeof propagateInSlices>) => finished(propagateInSlices(...asked))

describe('the normal distribution function', () => {
  // Quantiles of the standard normal distribution, last row of a table of Student's t recomputed in 30-digit
  // arithmetic; the shares below one and below six are from memory.
  test.each([
    [0, 0.5],
    [1, 0.841344746068543],
    [1.2815515655446, 0.9],
    [1.64485362695147, 0.95],
    [1.95996398454005, 0.975],
    [2.32634787404084, 0.99],
    [2.5758293035489, 0.995],
  ])('below %d', (z, share) => {
    expect(Math.abs(normalShareBelow(z) - share)).toBeLessThan(1e-14)
    expect(Math.abs(normalShareBelow(-z) - (1 - share))).toBeLessThan(1e-14)
  })
  test('keeps its digits far out', () => {
    expect(normalShareBelow(-6) / 9.865876450376946e-10).toBeCloseTo(1, 10)
  })

  test('seeded normal numbers are normal', () => {
    const normal = seededNormal(7)
    const drawn = Array.from({ length: 40_000 }, normal)
    const mean = drawn.reduce((sum, one) => sum + one, 0) / drawn.length
    const variance = drawn.reduce((sum, one) => sum + (one - mean) ** 2, 0) / drawn.length
    // Four standard errors of each.
    expect(Math.abs(mean)).toBeLessThan(4 / Math.sqrt(40_000))
    expect(Math.abs(variance - 1)).toBeLessThan(4 * Math.sqrt(2 / 40_000))
    for (const z of [-2, -1, 0, 1, 2]) {
      const share = normalShareBelow(z)
      const counted = drawn.filter(one => one < z).length / drawn.length
      expect(Math.abs(counted - share)).toBeLessThan(4 * Math.sqrt((share * (1 - share)) / 40_000))
    }
  })

  test('draws from even slices are normal, in no order, and independent of the next constant’s', () => {
    const uniform = seededUniform(5)
    const [one, other] = [stratifiedNormal(DRAWS, uniform), stratifiedNormal(DRAWS, uniform)]
    const sorted = one.toSorted()
    for (const share of [0.025, 0.25, 0.5, 0.75, 0.975]) {
      const at = sorted[Math.floor(share * DRAWS)] as number
      // Each slice has one draw, so shares are right to a slice.
      expect(Math.abs(normalShareBelow(at) - share)).toBeLessThan(1.01 / DRAWS)
    }
    const products = one.map((value, index) => value * (other[index] as number))
    const inOrder = one.slice(1).map((value, index) => value * (one[index] as number))
    for (const row of [products, inOrder])
      expect(Math.abs(row.reduce((sum, value) => sum + value, 0) / row.length)).toBeLessThan(4 / Math.sqrt(DRAWS))
  })
})

const settled = settle(benchWith(), allCores, room) as Settled
const dieOf: FigureOf = one => one.dieC

describe('correlated constants', () => {
  // JCGM 100:2008 (GUM), H.3: a thermometer's correction is a straight line with correlated intercept and slope,
  // y1 = −0.1712(29) °C at 20 °C, y2 = 0.00218(67), r = −0.930; the correction at 30 °C is −0.1494(41) °C. Data and
  // printed results agree in METAS's and MSL's published scripts; the further digits are recomputed.
  const standard = [0.00287759783515996, 0.000667938773227833]
  const r = -0.930429603093446
  const line = (shifts: readonly number[]): Settled => {
    const [dy1 = 0, dy2 = 0] = shifts
    return { ...settled, dieC: -0.17120379013135 + dy1 + (0.0021826977398872 + dy2) * (30 - 20) }
  }
  test('the correction at 30 °C', () => {
    const correlation = [
      [1, r],
      [r, 1],
    ]
    const found = propagate(line, { standard, correlation })
    const interval = found.interval(dieOf)
    expect(found.drawnFor).toBeUndefined()
    expect(interval.value).toBeCloseTo(-0.149376812732478, 12)
    expect(interval.standardUncertainty).toBeCloseTo(0.00413859575285495, 12)
    expect(interval.standardUncertainty?.toFixed(4)).toBe('0.0041')
    expect(interval.high).toBeCloseTo(-0.149376812732478 + 1.95996398454005 * 0.00413859575285495, 12)
  })
  test('independent, it would be wider', () => {
    const found = propagate(line, { standard })
    expect(found.interval(dieOf).standardUncertainty).toBeCloseTo(
      Math.hypot(standard[0] as number, 10 * (standard[1] as number)),
      12,
    )
  })
  test('sampling draws them together', () => {
    // A step of the ladder inside the interval makes it sample; the line itself is the same.
    const stepped = (shifts: readonly number[]): Settled => {
      const moved = line(shifts)
      return { ...moved, ratioLow: (moved.dieC ?? 0) > -0.15 ? 50 : 49 }
    }
    const correlation = [
      [1, r],
      [r, 1],
    ]
    const found = propagate(stepped, { standard, correlation })
    expect(found.drawnFor).toBe('level')
    // 2000 draws: the standard deviation is good to 1.6 %, taken four times.
    const { standardUncertainty } = found.interval(dieOf)
    expect(Math.abs((standardUncertainty ?? 0) / 0.00413859575285495 - 1)).toBeLessThan(0.064)
  })
})

/** The constants that are moved below, with their standard uncertainties. */
const standard = [0.06, 1.5, 2, 0.004, 0.002]

function movedBench(bench: Bench, shifts: readonly number[]): Bench {
  const [switching = 0, leakage = 0, doubling = 0, thermal = 0, block = 0] = shifts
  const { part, cooler } = bench
  return {
    ...bench,
    part: {
      ...part,
      switchingNf: part.switchingNf + switching,
      leakageW: part.leakageW + leakage,
      leakageDoublingK: part.leakageDoublingK + doubling,
      packageResistanceKPerW: part.packageResistanceKPerW + thermal,
    },
    cooler: { ...cooler, blockResistanceKPerW: cooler.blockResistanceKPerW + block },
  }
}

const modelOf = (bench: Bench) => (shifts: readonly number[]) => settle(movedBench(bench, shifts), allCores, room)

/** Plain sampling with a generator and a normal law of the test's own: twelve uniform numbers less six. */
function sampleFigures(bench: Bench, count: number, seed: number, by = standard): Settled[] {
  const uniform = randomFrom(seed)
  const normal = (): number => Array.from({ length: 12 }, uniform).reduce((sum, one) => sum + one, -6)
  const model = modelOf(bench)
  return Array.from({ length: count }, () => model(by.map(sd => sd * normal())) as Settled)
}

const figures: readonly (readonly [string, FigureOf])[] = [
  ['die temperature', one => one.dieC],
  ['power', one => one.powerW],
  ['margin', one => one.marginW],
  ['plate temperature', one => one.plateC],
]

describe('first order against 4000 samples', () => {
  const samples = 4000
  // Small enough that no figure bends by a tenth of its own uncertainty.
  const small = standard.map(sd => sd / 8)
  test.each([
    ['a loop', benchWith()],
    ['a loop behind a load line', benchWith({ board: { loadLineOhm: 3e-4 } })],
    ['a thermoelectric plate at full drive', benchWith({ cooler: plateCooler })],
  ] as const)('%s', (_name, bench) => {
    const found = propagate(modelOf(bench), { standard: small })
    expect(found.drawnFor).toBeUndefined()
    const drawn = sampleFigures(bench, samples, 11, small)
    for (const [name, figure] of figures) {
      const { value, standardUncertainty: u } = found.interval(figure)
      const values = drawn.map(one => figure(one) as number)
      const mean = values.reduce((sum, one) => sum + one, 0) / samples
      const deviation = Math.sqrt(values.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (samples - 1))
      // Four standard errors of a sampled deviation, and 1 % for what is not straight.
      expect(Math.abs(deviation / (u ?? 0) - 1), name).toBeLessThan(4 / Math.sqrt(2 * samples) + 0.01)
      expect(Math.abs(mean - (value ?? 0)), name).toBeLessThan((4 / Math.sqrt(samples) + 0.03) * (u ?? 0))
    }
    // The clock does not move at all, and is known exactly.
    expect(found.interval(one => one.clockMhz)).toMatchObject({
      value: 4900,
      standardUncertainty: 0,
      low: 4900,
      high: 4900,
    })
  })

  test('probabilities, over a range of limits', () => {
    const bench = benchWith()
    const found = propagate(modelOf(bench), { standard: small })
    const drawn = sampleFigures(bench, samples, 12, small)
    const { value, standardUncertainty } = found.interval(dieOf)
    for (const z of [-1.5, -0.5, 0, 0.7, 1.6]) {
      const limit = (value ?? 0) + z * (standardUncertainty ?? 0)
      const counted = drawn.filter(one => (one.dieC ?? 0) <= limit).length / samples
      const stated = found.probability(dieOf, '<=', limit)
      expect(stated).toBeCloseTo(normalShareBelow(z), 9)
      expect(Math.abs(counted - stated)).toBeLessThan(4 * Math.sqrt(0.25 / samples) + 0.01)
      expect(found.probability(dieOf, '>=', limit)).toBeCloseTo(1 - stated, 6)
    }
  })
})

describe('where a level changes inside the interval', () => {
  // The die settles within half a kelvin of the band.
  const dieC = settled.dieC ?? 0
  const banded = benchWith({ profile: { bands: [{ fromCores: 1, toCores: 10, aboveC: dieC + 0.3, drop: 6 }] } })
  const found = propagate(modelOf(banded), { standard })
  const drawn = sampleFigures(banded, 4000, 13)

  test('sampling decides and says so', () => {
    expect(found.drawnFor).toBe('level')
  })

  test('its interval and probability are those of other samples', () => {
    const clockOf: FigureOf = one => one.clockMhz
    for (const limit of [4890, 4800, 4600]) {
      const counted = drawn.filter(one => (one.clockMhz ?? 0) >= limit).length / 4000
      // Four standard errors of both.
      const bound = 4 * Math.sqrt(counted * (1 - counted) * (1 / 4000 + 1 / DRAWS)) + 1e-3
      expect(Math.abs(found.probability(clockOf, '>=', limit) - counted)).toBeLessThan(bound)
    }
    const full = found.probability(clockOf, '>=', 4899.9)
    expect(full).toBeGreaterThan(0.4)
    expect(full).toBeLessThan(0.7)
    const interval = found.interval(clockOf)
    const sorted = drawn.map(one => one.clockMhz ?? 0).sort((a, b) => a - b)
    // Between the shares that 2000 draws can tell from 2.5 %: 1 % and 4 %.
    expect(interval.low).toBeGreaterThan((sorted[40] as number) - 1)
    expect(interval.low).toBeLessThan((sorted[160] as number) + 1)
    expect(interval.high).toBeCloseTo(4900, 6)
    expect(interval.value).toBe(4900)
  })

  test('is the same each time', () => {
    const again = propagate(modelOf(banded), { standard })
    for (const [, figure] of figures) expect(again.interval(figure)).toEqual(found.interval(figure))
    expect(again.probability(dieOf, '<=', dieC)).toBe(found.probability(dieOf, '<=', dieC))
  })

  test('two constants can reach a level together that neither reaches alone', () => {
    const alone = settle(movedBench(benchWith(), [2 * 0.06, 0, 0, 0, 0]), allCores, room)?.dieC ?? 0
    const further = settle(movedBench(benchWith(), [0, 0, 0, 2 * 0.004, 0]), allCores, room)?.dieC ?? 0
    const bands = [{ fromCores: 1, toCores: 10, aboveC: Math.max(alone, further) + 0.02, drop: 6 }]
    const both = propagate(modelOf(benchWith({ profile: { bands } })), { standard: [0.06, 0, 0, 0.004, 0] })
    expect(both.drawnFor).toBe('level')
  })
})

describe('where some of the constants run away', () => {
  const bench = benchWith({ part: { leakageDoublingK: 15, ratioLow: 49, dieLimitC: 300 } })
  const edge = (shifts: readonly number[]): Settled | null =>
    settle(movedBench(bench, [0, shifts[0] ?? 0, 0, 0, 0]), allCores, room)

  test('the interval has no upper end, and a runaway counts as failed', () => {
    let low = 0
    let high = 400
    for (let round = 0; round < 60; round++) {
      const middle = (low + high) / 2
      if (edge([middle])?.state === 'runaway') high = middle
      else low = middle
    }
    // The edge lies one standard uncertainty above the stated leakage.
    const found = propagate(shifts => edge([(shifts[0] ?? 0) + low - 2]), { standard: [2] })
    expect(found.drawnFor).toBe('no-balance')
    const interval = found.interval(dieOf)
    expect(interval.value).not.toBeNull()
    expect(interval).toMatchObject({ high: null, standardUncertainty: null })
    // The lower end is the die temperature at the leakage 1.96 standard uncertainties down, right to a slice or two.
    const down = (z: number): number => edge([low - 2 + z * 2])?.dieC ?? Number.NaN
    expect(interval.low).toBeGreaterThan(down(-2))
    expect(interval.low).toBeLessThan(down(-1.92))
    // Counted from below, as a clock or a margin is, it is the other end that lies among them.
    expect(found.interval(dieOf, 'below')).toMatchObject({ low: null, high: expect.any(Number) })
    // 84.13 % of a normal law lie below one standard uncertainty; even slices tell it to one of them.
    expect(Math.abs(found.probability(dieOf, '<=', 1000) - 0.8413)).toBeLessThan(2 / DRAWS)
    expect(found.probability(dieOf, '>=', -1000)).toBe(found.probability(dieOf, '<=', 1000))
  })
})

test('nothing that can be settled gives no interval', () => {
  const found = propagate(() => null, { standard: [1] })
  expect(found.interval(dieOf)).toMatchObject({ value: null, low: null, high: null })
  expect(found.probability(dieOf, '<=', 1e9)).toBe(0)
})
