import { describe, expect, it } from 'vitest'
import { failuresPerS, sharpnessesAbove } from '../../../server/bench/evidence/hazard.ts'
import { logLikelihoodOfEnd, type TrialEnd } from '../../../server/bench/evidence/survival.ts'

/** The likelihood of trials against its own integral; published studies are in `tests/published/survival.test.ts`. */

describe('the likelihood of trials', () => {
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
