import { describe, expect, it } from 'vitest'
import { type Chooser, evening, halving, proposing, samplesOf } from './evenings.ts'

/** A small part of `npm run trials -- next`, on a few samples that are soon known: a loss of what 300 samples prove shows here. */

describe('evenings at the bench', () => {
  const samples = samplesOf(12, 3).filter(({ sharpnessV }) => sharpnessV < 0.0045)

  it('are fewer with the trials that are proposed than with halving, and end with honest intervals', () => {
    const all = (choose: Chooser) => samples.slice(0, 4).map((sample, index) => evening(sample, choose, 50 + index))
    const [proposed, halved] = [all(proposing(1, 150)), all(halving(0.06))]
    const hours = (evenings: typeof proposed): number => evenings.reduce((sum, one) => sum + one.hours, 0)
    expect([...proposed, ...halved].every(one => one.done)).toBe(true)
    expect(hours(proposed) / hours(halved)).toBeLessThan(0.8)
    // Of twenty intervals at least 0.92 are asked for, less two standard errors.
    expect(proposed.reduce((sum, one) => sum + one.covered, 0)).toBeGreaterThanOrEqual(17)
  })
})
