import { describe, expect, it } from 'vitest'
import { failuresPerS, sharpnessesAbove } from '../../../server/bench/evidence/hazard.ts'
import { logLikelihoodOfEnd, type TrialEnd } from '../../../server/bench/evidence/survival.ts'

/** The likelihood of trials, against a published survival study and against its own integral. */

/**
 * Remission times of 42 patients in weeks (Freireich et al., Blood 21, 1963; Gehan, Biometrika 52, 1965; both printed in
 * most textbooks of survival analysis): 6-MP, with those still in remission, and placebo. The totals asked for, 9 events
 * in 359 weeks and 21 in 182, log rate ratio 1.5266 with a standard error of 0.3984, follow from the table.
 */
const treated: readonly TrialEnd[] = [
  ...[6, 6, 6, 7, 10, 13, 16, 22, 23].map(afterS => ({ kind: 'stopped' as const, afterS })),
  ...[6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35].map(forS => ({ kind: 'held' as const, forS })),
]
const placebo: readonly TrialEnd[] = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23].map(
  afterS => ({ kind: 'stopped' as const, afterS }),
)

const timeOf = (end: TrialEnd): number => (end.kind === 'held' ? end.forS : end.afterS)

/** The logarithm of the rate at which the likelihood is largest, and its standard error from the curvature there. */
function rateOf(ends: readonly TrialEnd[], knownTo: number): { logRate: number; error: number } {
  const log = (x: number): number => ends.reduce((sum, end) => sum + logLikelihoodOfEnd(end, Math.exp(x), knownTo), 0)
  let [low, high] = [-8, 0]
  for (let round = 0; round < 80; round++) {
    const [a, b] = [low + (high - low) / 3, high - (high - low) / 3]
    if (log(a) < log(b)) low = a
    else high = b
  }
  const x = (low + high) / 2
  const h = 1e-3
  return { logRate: x, error: 1 / Math.sqrt(-(log(x + h) - 2 * log(x) + log(x - h)) / (h * h)) }
}

describe('the likelihood of trials', () => {
  it('gives the rates of a published remission study', () => {
    expect([treated, placebo].map(ends => ends.reduce((sum, end) => sum + timeOf(end), 0))).toEqual([359, 182])
    // Times known to the instant are the limit of a short interval.
    const [a, b] = [rateOf(treated, 1e-5), rateOf(placebo, 1e-5)]
    expect(b.logRate - a.logRate).toBeCloseTo(1.5266, 3)
    expect(Math.hypot(a.error, b.error)).toBeCloseTo(0.3984, 3)
  })

  it('sums to one over all ways to end', () => {
    for (const ratePerS of [1e-6, 3e-4, 0.02, 3]) {
      let total = Math.exp(logLikelihoodOfEnd({ kind: 'held', forS: 3600 }, ratePerS))
      for (let minute = 1; minute <= 60; minute++)
        total += Math.exp(logLikelihoodOfEnd({ kind: 'stopped', afterS: 60 * minute }, ratePerS))
      expect(total).toBeCloseTo(1, 12)
    }
  })

  it('takes a crash at once for a high rate, and for no certain one', () => {
    const atOnce: TrialEnd = { kind: 'stopped', afterS: 1 }
    expect(logLikelihoodOfEnd(atOnce, 1)).toBeCloseTo(0, 10)
    expect(logLikelihoodOfEnd(atOnce, 100)).toBeCloseTo(0, 10)
    expect(logLikelihoodOfEnd(atOnce, 1e-4)).toBeLessThan(-5)
  })
})

describe('the rate of failure', () => {
  it('lets a voltage hold an hour with 95 % at 2.970 σ above the middle', () => {
    expect(sharpnessesAbove({ probability: 0.95, forS: 3600 })).toBeCloseTo(2.9702, 4)
    const marginV = 0.005 * sharpnessesAbove({ probability: 0.95, forS: 3600 })
    const withoutFloor = failuresPerS(marginV, 0.005) - failuresPerS(10, 0.005)
    expect(Math.exp(-withoutFloor * 3600)).toBeCloseTo(0.95, 9)
  })

  it('never falls below one stop in 200 hours, and stays finite far below the middle', () => {
    expect(failuresPerS(5, 0.005) * 200 * 3600).toBeCloseTo(1, 9)
    expect(Number.isFinite(failuresPerS(-50, 0.001))).toBe(true)
  })
})
