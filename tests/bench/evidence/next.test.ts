import { describe, expect, it } from 'vitest'
import { bestTrials, type Candidate } from '../../../server/bench/evidence/next.ts'
import { posteriorOf } from '../../../server/bench/evidence/posterior.ts'
import { seededUniform } from '../../../server/model/random.ts'

/** What to try next: the value of a trial, against what the posterior says after either end. */

const needs = [
  { ratio: 44, voltageV: 1.1 },
  { ratio: 50, voltageV: 1.23 },
]
const ratios = needs.map(row => row.ratio)
const candidate = (ratio: number, comparableV: number, minutes: number): Candidate => ({
  ratio,
  setV: comparableV,
  comparableV,
  load: 'render',
  forS: 60 * minutes,
})

describe('the next trial', () => {
  const prior = posteriorOf(needs, [])
  const draws = prior.draws(4000, seededUniform(3))

  it('expects what the posterior then says after a hold, and after a stop', () => {
    const one = candidate(50, 1.225, 40)
    const [best] = bestTrials(draws, ratios, prior.proofSharpnesses, ratios, [one])
    const sum = (ends: Parameters<typeof posteriorOf>[1]): number =>
      posteriorOf(needs, ends).rows.reduce((total, row) => total + row.standardUncertaintyV, 0)
    const afterHold = sum([{ ratio: 50, comparableV: 1.225, end: { kind: 'held', forS: 2400 } }])
    expect((best?.afterHoldV ?? 0) / afterHold).toBeGreaterThan(0.95)
    expect((best?.afterHoldV ?? 0) / afterHold).toBeLessThan(1.05)
    // A stop counts whenever it comes: its posterior is that of "did not hold", between those of a late and an early stop.
    const [late, early] = [40, 1].map(minute =>
      sum([{ ratio: 50, comparableV: 1.225, end: { kind: 'stopped', afterS: 60 * minute } }]),
    ) as [number, number]
    expect(best?.afterStopV).toBeGreaterThan(Math.min(late, early) * 0.9)
    expect(best?.afterStopV).toBeLessThan(sum([]))
  })

  it('prefers a voltage in doubt to one that is sure to hold or sure to stop', () => {
    const [best] = bestTrials(draws, ratios, prior.proofSharpnesses, ratios, [
      candidate(50, 1.31, 40),
      candidate(50, 1.215, 40),
      candidate(50, 1.12, 40),
    ])
    expect(best?.comparableV).toBe(1.215)
  })

  it('keeps below the risk asked for, and gives one proposal a ratio', () => {
    const many = [1.1, 1.2, 1.21, 1.22, 1.23, 1.24, 1.25].flatMap(v => [
      candidate(50, v, 20),
      candidate(44, v - 0.13, 20),
    ])
    const found = bestTrials(draws, ratios, prior.proofSharpnesses, ratios, many, { risk: 0.3 })
    expect(found.length).toBe(2)
    expect(new Set(found.map(one => one.ratio)).size).toBe(2)
    for (const one of found) expect(one.stopProbability).toBeLessThanOrEqual(0.3)
    const bold = bestTrials(draws, ratios, prior.proofSharpnesses, ratios, many)
    expect(bold[0]?.gainVPerMin).toBeGreaterThanOrEqual(found[0]?.gainVPerMin ?? 0)
  })

  it('proposes nothing where nothing would be learned', () => {
    expect(
      bestTrials(draws, ratios, prior.proofSharpnesses, ratios, [candidate(50, 2, 1)])[0]?.gainVPerMin ?? 0,
    ).toBeLessThan(1e-5)
  })
})
