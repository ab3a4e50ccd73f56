import tQuantile from '@stdlib/stats-base-dists-t-quantile'
import { describe, expect, it } from 'vitest'
import { gainOf } from '../../../server/bench/statistics/gain.ts'
import { meanOf } from '../../../server/bench/statistics/moments.ts'
import { correlationTime, meanOfSeries, type SeriesMean } from '../../../server/bench/statistics/series-mean.ts'
import { pairedTest, welchTest } from '../../../server/bench/statistics/t-tests.ts'
import { seededNormal } from '../../harness/random.ts'

/** Half the width of the mean's 95 % interval: t for as many degrees of freedom as there are independent readings less one. */
function halfWidth95(series: SeriesMean): number {
  const freedom = series.effectiveN - 1
  return freedom > 0 ? tQuantile(0.975, freedom) * series.standardUncertainty : Number.NaN
}

/** First-order autoregressive readings about zero with unit spread: correlation `rho` from one to the next. */
function correlated(n: number, rho: number, normal: () => number): Float64Array {
  const values = new Float64Array(n)
  let before = normal()
  for (let index = 0; index < n; index++) {
    values[index] = before
    before = rho * before + Math.sqrt(1 - rho * rho) * normal()
  }
  return values
}

describe('the mean of a logged series', () => {
  it.each([
    [0, 1],
    [0.5, 3],
    [0.8, 9],
    [0.95, 39],
  ])('knows the correlation time of readings with correlation %d', (rho, expected) => {
    // τ = (1 + ρ)/(1 − ρ) exactly for such a series.
    const normal = seededNormal(11)
    const times = Array.from({ length: 40 }, () => correlationTime(correlated(4000, rho, normal)))
    expect(Math.abs(meanOf(times) / expected - 1)).toBeLessThan(0.08)
  })

  it.each([0, 0.6, 0.9])('covers the truth 95 times in a hundred with correlation %d', rho => {
    const normal = seededNormal(2024)
    let covered = 0
    const rounds = 1000
    for (let round = 0; round < rounds; round++) {
      const series = meanOfSeries(correlated(600, rho, normal))
      if (Math.abs(series.mean) <= halfWidth95(series)) covered++
    }
    // Three standard deviations of the count are 21; far correlations are noisy, which costs a little more.
    expect(covered).toBeGreaterThan(925)
    expect(covered).toBeLessThan(972)
  })

  it('covers it nearly as often where half an hour is worth eighteen readings', () => {
    const normal = seededNormal(2025)
    let covered = 0
    for (let round = 0; round < 1500; round++) {
      const series = meanOfSeries(correlated(1800, 0.98, normal))
      if (Math.abs(series.mean) <= halfWidth95(series)) covered++
    }
    // Three standard deviations of the share are 0.017.
    expect(covered / 1500).toBeGreaterThan(0.933)
  })

  it('would be far too sure without it', () => {
    const normal = seededNormal(3)
    const series = meanOfSeries(correlated(600, 0.9, normal))
    expect(series.standardUncertainty).toBeGreaterThan((3 * series.sd) / Math.sqrt(series.n))
  })

  it('says of what does not vary that it does not, and of one reading nothing', () => {
    expect(meanOfSeries([4, 4, 4, 4, 4])).toMatchObject({ mean: 4, sd: 0, standardUncertainty: 0, effectiveN: 5 })
    expect(meanOfSeries([4]).standardUncertainty).toBeNaN()
    expect(meanOfSeries([4, 5]).standardUncertainty).toBeCloseTo(0.5, 12)
  })

  it('never counts a series that swings as better than independent readings', () => {
    expect(correlationTime([1, -1, 1, -1, 1, -1, 1, -1])).toBe(1)
  })
})

describe('two sets', () => {
  it('without enough figures give nothing', () => {
    expect(welchTest([1], [1, 2])).toBeUndefined()
    expect(pairedTest([1, 2], [1, 2, 3])).toBeUndefined()
  })

  it('that are the same differ by nothing', () => {
    expect(welchTest([2, 2], [2, 2])).toMatchObject({ difference: 0, t: 0, p: 1, interval: [0, 0] })
  })

  it('that differ without any spread differ for certain', () => {
    expect(welchTest([2, 2], [3, 3])).toMatchObject({ difference: -1, p: 0, interval: [-1, -1] })
  })
})

describe('a gain', () => {
  it('counts a higher score, or a shorter time, as better', () => {
    const base = [100, 101, 99, 100]
    const more = [110, 111, 109, 110]
    expect(gainOf(base, more, { better: 'higher' })).toMatchObject({ verdict: 'better', method: 'welch', n: 4 })
    expect(gainOf(base, more, { better: 'higher' }).gainPct).toBeCloseTo(10, 12)
    expect(gainOf(more, base, { better: 'lower' }).gainPct).toBeCloseTo(10, 12)
    expect(gainOf(base, more, { better: 'lower' })).toMatchObject({ verdict: 'worse' })
  })

  it('of a few equal sets is not shown, which is not the same as none', () => {
    const gain = gainOf([100, 103, 98], [101, 99, 104], { better: 'higher' })
    expect(gain.verdict).toBe('not-shown')
    expect(gain.intervalPct![0]).toBeLessThan(gain.gainPct)
    expect(gain.intervalPct![1]).toBeGreaterThan(gain.gainPct)
  })

  it('of a single score has no interval', () => {
    const gain = gainOf([100], [105, 106], { better: 'higher' })
    expect(gain).toMatchObject({ verdict: 'too-few', method: 'none', intervalPct: undefined, p: undefined })
    expect(gain.gainPct).toBeCloseTo(5.5, 12)
  })

  it('is shown by pairs where evenings differ more than profiles', () => {
    const base = [100, 120, 90, 110, 105]
    const more = base.map((value, index) => value * (1.02 + 0.001 * (index % 2)))
    expect(gainOf(base, more, { better: 'higher' }).verdict).toBe('not-shown')
    const paired = gainOf(base, more, { better: 'higher', pairing: 'paired' })
    expect(paired).toMatchObject({ verdict: 'better', method: 'paired' })
    expect(paired.intervalPct![0]).toBeGreaterThan(1.9)
    expect(paired.intervalPct![1]).toBeLessThan(2.2)
  })

  it.each([
    [5, 'independent'],
    [5, 'paired'],
    [30, 'independent'],
  ] as const)('covers the true ratio 95 times in a hundred with %i scores a side, %s', (n, pairing) => {
    const normal = seededNormal(77)
    let covered = 0
    for (let round = 0; round < 1000; round++) {
      const days = Array.from({ length: n }, () => (pairing === 'paired' ? 1 + 0.05 * normal() : 1))
      const set = (mean: number, sd: number): number[] => days.map(day => day * (mean + sd * normal()))
      const [low, high] = gainOf(set(100, 1), set(103, 2), { better: 'higher', pairing }).intervalPct!
      if (low <= 3 && high >= 3) covered++
    }
    // Three standard deviations of the count are 21.
    expect(covered).toBeGreaterThan(928)
    expect(covered).toBeLessThan(976)
  })

  it('covers it where scores are skewed, as times of a busy machine are', () => {
    const normal = seededNormal(78)
    const set = (scale: number): number[] => Array.from({ length: 12 }, () => scale * (1 + 0.1 * Math.exp(normal())))
    let covered = 0
    for (let round = 0; round < 1000; round++) {
      const [low, high] = gainOf(set(1), set(1.1), { better: 'lower' }).intervalPct!
      const truth = 100 * (1 / 1.1 - 1)
      if (low <= truth && high >= truth) covered++
    }
    expect(covered).toBeGreaterThan(928)
    expect(covered).toBeLessThan(985)
  })

  describe.each([
    ['independent', 4],
    ['paired', 6],
    ['independent', 12],
  ] as const)('of %s sets of %d', (pairing, n) => {
    it('has interval, p and verdict of one kind, which agree', () => {
      const normal = seededNormal(41)
      const seen = new Set<string>()
      for (let round = 0; round < 400; round++) {
        const set = (mean: number, sd: number): number[] =>
          Array.from({ length: n }, () => Math.abs(mean + sd * normal()))
        const [base, more] = [set(100, 2 + (round % 7) * 12), set(100 + (round % 50), 3)]
        const gain = gainOf(base, more, { better: 'higher', pairing })
        seen.add(gain.intervalPct === undefined ? 'no end' : gain.verdict)
        expect(gain.verdict).toBe(gain.p! >= 0.05 ? 'not-shown' : gain.gainPct > 0 ? 'better' : 'worse')
        if (gain.intervalPct !== undefined) {
          const [low, high] = gain.intervalPct
          expect(low > 0 || high < 0).toBe(gain.p! < 0.05)
          expect(low).toBeGreaterThanOrEqual(-100)
          expect(low <= gain.gainPct && gain.gainPct <= high).toBe(true)
        }
        // Whichever way round it is asked, and whichever way is better.
        const turned = gainOf(more, base, { better: 'lower', pairing })
        expect([turned.verdict, turned.p]).toEqual([gain.verdict, gain.p])
        const other = gainOf(base, more, { better: 'lower', pairing })
        expect(other.verdict).toBe({ better: 'worse', worse: 'better' }[gain.verdict as 'better'] ?? gain.verdict)
      }
      expect(seen).toContain('better')
      expect(seen).toContain('not-shown')
      if (n === 4) expect(seen).toContain('no end')
    })
  })

  it('has an interval that ends where Student’s test of the one set and a multiple of the other does', () => {
    const [base, more] = [
      [100, 104, 97, 101],
      [110, 108, 113, 115],
    ]
    const { intervalPct } = gainOf(base, more, { better: 'higher', pairing: 'paired' })
    for (const end of intervalPct!) {
      const scaled = base.map(value => value * (1 + end / 100))
      expect(pairedTest(more, scaled)!.p).toBeCloseTo(0.05, 10)
    }
  })

  it('is not worse for one that scatters, and never more than all', () => {
    const [base, scores] = [
      [50, 150, 100],
      [40, 42, 41],
    ]
    expect(gainOf(base, scores, { better: 'higher' })).toMatchObject({ verdict: 'not-shown', intervalPct: undefined })
    expect(gainOf(base, scores, { better: 'lower' }).verdict).toBe('not-shown')
    expect(gainOf(base, scores, { better: 'lower' }).intervalPct![0]).toBe(-100)
  })

  it('is not certain where rounded scores are the same', () => {
    const two = gainOf([100, 100], [101, 101], { better: 'higher' })
    expect(two).toMatchObject({ verdict: 'not-shown', coarse: true })
    expect(two.p).toBeGreaterThan(0.05)
    // Twelve of them are rounded alike, and know no better.
    const many = gainOf(Array(12).fill(100), Array(12).fill(101), { better: 'higher' })
    expect(many.method).toBe('welch')
    expect(many.p).toBeGreaterThan(0.01)
    const pairs = gainOf([100, 90, 95], [101, 91, 96], { better: 'higher', pairing: 'paired' })
    expect(pairs).toMatchObject({ verdict: 'not-shown' })
    // Ten times as finely written they are ten times as well known.
    expect(gainOf([100.1, 100.1, 100.1], [101, 101, 101], { better: 'higher' })).toMatchObject({ verdict: 'better' })
    expect(gainOf([100, 100], [100, 100], { better: 'higher' })).toMatchObject({ p: 1, verdict: 'not-shown' })
  })
})
