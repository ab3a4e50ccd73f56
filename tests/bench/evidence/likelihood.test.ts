import { describe, expect, it } from 'vitest'
import { failuresPerS, type VoltageTrial } from '../../../server/bench/evidence/hazard.ts'
import { logLikelihoodAt } from '../../../server/bench/evidence/likelihood.ts'
import { logLikelihoodOfEnd } from '../../../server/bench/evidence/survival.ts'
import { randomFrom } from '../../oracle/generate.ts'

describe('the likelihood of all trials at one ratio', () => {
  it('is the sum of that of each, whose formulas are held to published figures', () => {
    const uniform = randomFrom(7)
    let compared = 0
    for (let round = 0; round < 200; round++) {
      const sharpnessV = 0.002 + 0.01 * uniform()
      const trials = Array.from({ length: 1 + Math.floor(5 * uniform()) }, (): VoltageTrial => {
        const timeS = 10 ** (5 * uniform())
        const end =
          uniform() < 0.5 ? ({ kind: 'held', forS: timeS } as const) : ({ kind: 'stopped', afterS: timeS } as const)
        return { ratio: 49, comparableV: 1.15 + 0.1 * uniform(), end }
      })
      const joint = logLikelihoodAt(trials, sharpnessV)
      for (let middleV = 1.1; middleV < 1.3; middleV += 0.01) {
        const rates = trials.map(({ comparableV }) => failuresPerS(comparableV - middleV, sharpnessV))
        // Beyond that the rate is capped: a trial fails within its first microsecond either way.
        if (trials.some(({ comparableV }) => (middleV - comparableV) / sharpnessV > 30)) continue
        const sum = trials.reduce((log, { end }, at) => log + logLikelihoodOfEnd(end, rates[at] as number), 0)
        expect(Math.abs(joint(middleV) - sum)).toBeLessThan(1e-9 * (1 + Math.abs(sum)))
        compared++
      }
    }
    expect(compared).toBeGreaterThan(2000)
  })
})
