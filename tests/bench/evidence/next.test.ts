import { describe, expect, it } from 'vitest'
import type { RowPosterior } from '../../../server/bench/evidence/marginal.ts'
import { bestTrials, type Candidate } from '../../../server/bench/evidence/next.ts'
import { posteriorOf } from '../../../server/bench/evidence/posterior.ts'
import type { TrialEnd } from '../../../server/bench/evidence/survival.ts'
import { seededUniform } from '../../../server/model/random.ts'
import { held, stopped } from './ends.ts'

/** What to try next: the value of a trial, against what the posterior says after either end. */

const needs = [
  { ratio: 44, voltageV: 1.1 },
  { ratio: 50, voltageV: 1.23 },
]
const ratios = needs.map(row => row.ratio)
const candidate = (ratio: number, comparableV: number): Candidate => ({
  ratio,
  setV: comparableV,
  comparableV,
  load: 'render',
})

describe('the next trial', () => {
  const prior = posteriorOf(needs, [])
  const draws = prior.draws(4000, seededUniform(3))

  it('expects what the posterior then says after a hold, and after a stop', () => {
    const [best] = bestTrials(draws, ratios, prior.proofSharpnesses, ratios, [candidate(50, 1.225)])
    if (best === undefined) throw new Error('nothing is proposed')
    const rowsAfter = (end: TrialEnd) => posteriorOf(needs, [{ ratio: 50, comparableV: 1.225, end }]).rows
    const sum = (rows: readonly RowPosterior[]): number =>
      rows.reduce((total, row) => total + row.standardUncertaintyV, 0)
    const { forS, stopProbability, ifHeld, ifStopped } = best
    const held = rowsAfter({ kind: 'held', forS })
    expect(best.afterHoldV / sum(held)).toBeCloseTo(1, 1)
    expect(ifHeld.meanV).toBeCloseTo(held[1]?.meanV ?? 0, 2)
    expect(ifHeld.standardUncertaintyV / (held[1]?.standardUncertaintyV ?? 1)).toBeCloseTo(1, 1)
    // A stop counts whenever it comes: its posterior is that of all minutes together.
    const minutes = Array.from({ length: forS / 60 }, (_, at) => {
      const rows = rowsAfter({ kind: 'stopped', afterS: 60 * (at + 1) })
      return rows[1]?.meanV ?? 0
    })
    expect(ifStopped.meanV).toBeGreaterThan(Math.min(...minutes) - 0.001)
    expect(ifStopped.meanV).toBeLessThan(Math.max(...minutes) + 0.001)
    expect(best.nowV).toBeGreaterThan(best.afterHoldV)
    const row = prior.rows[1] as RowPosterior
    expect(1 - stopProbability).toBeCloseTo(row.holds(1.225, forS), 1)
  })

  it('prefers a voltage in doubt to one that is sure to hold or sure to stop', () => {
    const [best] = bestTrials(draws, ratios, prior.proofSharpnesses, ratios, [
      candidate(50, 1.31),
      candidate(50, 1.215),
      candidate(50, 1.12),
    ])
    expect(best?.comparableV).toBe(1.215)
  })

  it('keeps below the risk asked for, and gives one proposal a ratio', () => {
    const many = [1.1, 1.2, 1.21, 1.22, 1.23, 1.24, 1.25].flatMap(v => [candidate(50, v), candidate(44, v - 0.13)])
    const found = bestTrials(draws, ratios, prior.proofSharpnesses, ratios, many, { risk: 0.2 })
    expect(found.length).toBe(2)
    expect(new Set(found.map(one => one.ratio)).size).toBe(2)
    for (const one of found) expect(one.stopProbability).toBeLessThanOrEqual(0.2)
    const bold = bestTrials(draws, ratios, prior.proofSharpnesses, ratios, many)
    expect(bold[0]?.stopProbability).toBeGreaterThan(0.2)
    expect(bold[0]?.gainPerMin).toBeGreaterThan(found[0]?.gainPerMin ?? 0)
  })

  it('proposes nothing where nothing would be learned', () => {
    const [sure] = bestTrials(draws, ratios, prior.proofSharpnesses, ratios, [candidate(50, 2)])
    expect(sure?.gainPerMin ?? 0).toBeLessThan(1e-4)
    const trials = [1.23, 1.2].flatMap(v =>
      ratios.map(ratio => (ratio === 50 ? held(50, v, 600) : held(44, v - 0.13, 600))),
    )
    const known = posteriorOf(needs, [...trials, stopped(50, 1.185, 5), stopped(44, 1.055, 5), stopped(50, 1.18, 1)])
    for (const row of known.rows) expect(row.standardUncertaintyV).toBeLessThan(0.008)
    const after = bestTrials(known.draws(1000, seededUniform(4)), ratios, known.proofSharpnesses, ratios, [
      candidate(50, 1.2),
      candidate(44, 1.07),
    ])
    for (const one of after) expect(one.gainPerMin).toBeLessThan(2e-3)
  })
})
