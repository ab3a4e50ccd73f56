import tCdfOf from '@stdlib/stats-base-dists-t-cdf'
import tQuantileOf from '@stdlib/stats-base-dists-t-quantile'
import { describe, expect, it } from 'vitest'
import { tCdf, tQuantile } from '../../../server/bench/statistics/t-distribution.ts'

/** Held to @stdlib's, which is built on Boost's special functions and agrees with printed tables. */

const degrees = [1, 1.5, 2, 3, 4.7, 9, 17.776473516178488, 30, 120, 999, 1e5]

describe('the t distribution', () => {
  it('has the shares of the reference library', () => {
    for (const nu of degrees) {
      for (const t of [-40, -8, -2.5, -1, -0.01, 0, 0.3, 1.96, 6, 30]) {
        // Far out in the tail both may be nothing at all.
        expect(Math.abs(tCdf(t, nu) - tCdfOf(t, nu)), `${t} ${nu}`).toBeLessThanOrEqual(1e-9 * tCdfOf(t, nu) + 1e-20)
      }
    }
  })

  it('has the quantiles of the reference library', () => {
    for (const nu of degrees) {
      for (const p of [1e-4, 0.005, 0.025, 0.2, 0.4999, 0.6, 0.9, 0.975, 0.995, 0.9999]) {
        expect(Math.abs(tQuantile(p, nu) / tQuantileOf(p, nu) - 1), `${p} ${nu}`).toBeLessThan(1e-9)
      }
    }
    expect(tQuantile(0.5, 3)).toBe(0)
  })

  it('has no answer where there is none', () => {
    expect(tCdf(1, 0)).toBeNaN()
    expect(tQuantile(1.5, 3)).toBeNaN()
    expect(tQuantile(1, 3)).toBe(Number.POSITIVE_INFINITY)
  })
})
