import { describe, expect, it } from 'vitest'
import { bootstrapInterval } from '../../server/bench/bootstrap.ts'
import { gainOf } from '../../server/bench/gain.ts'
import { meanOf } from '../../server/bench/moments.ts'
import { correlationTime, halfWidth95, meanOfSeries } from '../../server/bench/series-mean.ts'
import { pairedTest, welchTest } from '../../server/bench/t-tests.ts'
import { seededNormal } from '../../server/model/uncertainty.ts'

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
    expect(bootstrapInterval([[1]], () => 0)).toBeUndefined()
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

  it('is taken from the bootstrap where there are ten scores, and is near Welch’s for an even spread', () => {
    const normal = seededNormal(5)
    const set = (mean: number): number[] => Array.from({ length: 30 }, () => mean + normal())
    const gain = gainOf(set(100), set(101), { better: 'higher', seed: 1 })
    expect(gain.method).toBe('bootstrap')
    expect(gain.intervalPct).toEqual(gain.bootstrapPct)
    for (const end of [0, 1] as const) expect(gain.bootstrapPct![end]).toBeCloseTo(gain.tIntervalPct![end], 0)
    expect(gainOf(set(100), set(101), { better: 'higher', seed: 1 }).method).toBe('bootstrap')
  })

  it('covers the true ratio 95 times in a hundred with five scores a side', () => {
    const normal = seededNormal(77)
    const set = (mean: number, sd: number): number[] => Array.from({ length: 5 }, () => mean + sd * normal())
    let covered = 0
    for (let round = 0; round < 1000; round++) {
      const interval = gainOf(set(100, 1), set(103, 2), { better: 'higher' }).tIntervalPct!
      if (interval[0] <= 3 && interval[1] >= 3) covered++
    }
    expect(covered).toBeGreaterThan(928)
    expect(covered).toBeLessThan(976)
  })
})
