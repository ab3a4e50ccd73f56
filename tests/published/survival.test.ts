import { describe, expect, it } from 'vitest'
import { BACKGROUND_PER_S, failuresPerS } from '../../server/bench/evidence/hazard.ts'
import { logLikelihoodOfEnd, type TrialEnd } from '../../server/bench/evidence/survival.ts'

/** The likelihood of trials against published studies: a constant rate, and a rate that is log-linear in a dose. */

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

/**
 * Beetles killed by five hours of carbon disulphide (Bliss, Annals of Applied Biology 22, 1935), as in Dobson, An
 * Introduction to Generalized Linear Models: log dose, number of beetles, number killed. The complementary log-log model
 * there has the coefficients -39.572 (3.240) and 22.041 (1.799) and a deviance of 3.446.
 */
const beetles = [
  [1.6907, 59, 6],
  [1.7242, 60, 13],
  [1.7552, 62, 18],
  [1.7842, 56, 28],
  [1.8113, 63, 52],
  [1.8369, 59, 53],
  [1.861, 62, 61],
  [1.8839, 60, 60],
] as const

/** An hour's trial that held, or is only known to have stopped within the hour. */
const HOUR_S = 3600
const logShare = (end: TrialEnd, ratePerS: number): number => logLikelihoodOfEnd(end, ratePerS, HOUR_S)
const lived: TrialEnd = { kind: 'held', forS: HOUR_S }
const died: TrialEnd = { kind: 'stopped', afterS: HOUR_S }

/**
 * A dose is a voltage with the opposite sign: λ = exp(-(V - μ)/σ) an hour is log-linear with slope 1/σ. Parameters are
 * ln λ at a dose in the middle, and the slope.
 */
const MIDDLE = 1.793
type Line = readonly [number, number]
function logOf(end: TrialEnd, dose: number, [level, slope]: Line): number {
  // Without the floor of stops that have another cause, which the study does not have.
  const ratePerS = failuresPerS(-(level / slope + dose - MIDDLE), 1 / slope) - BACKGROUND_PER_S
  return logShare(end, ratePerS)
}

/** Slopes of the logarithm, by differences. */
function scoreOf(end: TrialEnd, dose: number, [level, slope]: Line): Line {
  const along = (a: number, b: number): number =>
    (logOf(end, dose, [level + a, slope + b]) - logOf(end, dose, [level - a, slope - b])) / 2
  return [along(1e-5, 0) / 1e-5, along(0, 1e-4) / 1e-4]
}

/** Fisher's scoring: the inverse of the expected information is the covariance. */
function fitted(start: Line): { readonly line: Line; readonly covariance: readonly [number, number, number] } {
  let line = start
  let covariance: [number, number, number] = [0, 0, 0]
  for (let round = 0; round < 30; round++) {
    const sum = [0, 0]
    const information = [0, 0, 0]
    for (const [dose, tried, killed] of beetles) {
      for (const [end, count] of [
        [died, killed],
        [lived, tried - killed],
      ] as const) {
        const [a, b] = scoreOf(end, dose, line)
        const expected = tried * Math.exp(logOf(end, dose, line))
        sum[0]! += count * a
        sum[1]! += count * b
        information[0]! += expected * a * a
        information[1]! += expected * a * b
        information[2]! += expected * b * b
      }
    }
    const [aa, ab, bb] = information as [number, number, number]
    const determinant = aa * bb - ab * ab
    covariance = [bb / determinant, -ab / determinant, aa / determinant]
    const [a, b] = sum as [number, number]
    line = [line[0] + covariance[0] * a + covariance[1] * b, line[1] + covariance[1] * a + covariance[2] * b]
  }
  return { line, covariance }
}

describe('the likelihood of trials', () => {
  it('has the rates of the remission study', () => {
    expect([treated, placebo].map(ends => ends.reduce((sum, end) => sum + timeOf(end), 0))).toEqual([359, 182])
    // Times known to the instant are the limit of a short interval.
    const [a, b] = [rateOf(treated, 1e-5), rateOf(placebo, 1e-5)]
    expect(b.logRate - a.logRate).toBeCloseTo(1.5266, 3)
    expect(Math.hypot(a.error, b.error)).toBeCloseTo(0.3984, 3)
  })

  it('has the slope of the beetle study, where the rate is log-linear in what is given', () => {
    const { line, covariance } = fitted([0, 20])
    const [level, slope] = line
    expect(slope).toBeCloseTo(22.041, 3)
    expect(level - slope * MIDDLE).toBeCloseTo(-39.572, 3)
    const [ofLevel, both, ofSlope] = covariance
    expect(Math.sqrt(ofSlope)).toBeCloseTo(1.799, 3)
    expect(Math.sqrt(ofLevel - 2 * MIDDLE * both + MIDDLE ** 2 * ofSlope)).toBeCloseTo(3.24, 3)
    const saturated = beetles.reduce((sum, [, tried, killed]) => {
      const [k, rest] = [killed, tried - killed]
      return sum + k * Math.log(k / tried) + (rest === 0 ? 0 : rest * Math.log(rest / tried))
    }, 0)
    const found = beetles.reduce((sum, [dose, tried, killed]) => {
      return sum + killed * logOf(died, dose, line) + (tried - killed) * logOf(lived, dose, line)
    }, 0)
    expect(2 * (saturated - found)).toBeCloseTo(3.446, 3)
  })
})
