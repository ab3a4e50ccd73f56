import { describe, expect, it } from 'vitest'
import { BACKGROUND_PER_S, failuresPerS, type VoltageTrial } from '../../../server/bench/evidence/hazard.ts'
import { posteriorOf } from '../../../server/bench/evidence/posterior.ts'
import { placeAmong, voltageAt } from '../../../server/bench/evidence/rows.ts'
import { seededUniform } from '../../../server/model/random.ts'
import { type Proof, usualProof } from '../../../server/semantic/proof.ts'
import { held, stopped } from './ends.ts'
import { type WalkFigures, walk } from './walk.ts'

/** The posterior of voltages: exact sums on a grid, held to a long random walk by other code. */

const rows = [
  { ratio: 40, voltageV: 1.06 },
  { ratio: 46, voltageV: 1.15 },
  { ratio: 50, voltageV: 1.23 },
  { ratio: 53, voltageV: 1.31 },
]

const cases: readonly (readonly [string, readonly VoltageTrial[], Proof])[] = [
  ['holds alone', [held(50, 1.23, 60), held(50, 1.21, 60), held(46, 1.13, 30)], usualProof],
  ['stops alone', [stopped(50, 1.23, 12), stopped(53, 1.3, 0.5)], usualProof],
  [
    'a bracket between rows',
    [held(48, 1.2, 60), stopped(48, 1.17, 4), held(51, 1.26, 20), stopped(51, 1.23, 25)],
    usualProof,
  ],
  ['beyond the last row', [held(54, 1.35, 40), stopped(55, 1.35, 6)], usualProof],
  ['a contradiction', [held(50, 1.2, 120), stopped(50, 1.25, 3), held(46, 1.12, 60)], usualProof],
  ['another proof', [held(50, 1.22, 60), stopped(50, 1.2, 30)], { probability: 0.99, forS: 8 * 3600 }],
]

describe('the posterior', () => {
  it.each(cases)('is that of a long walk: %s', (_name, trials, proof) => {
    const found = posteriorOf(rows, trials, proof)
    const walked: WalkFigures = walk(rows, trials, proof, 400_000, 7)
    for (const [index, row] of found.rows.entries()) {
      const other = walked.rows[index] as WalkFigures['rows'][number]
      expect(Math.abs(row.meanV - other.meanV), `mean at ${row.ratio}`).toBeLessThan(0.001)
      expect(row.standardUncertaintyV / other.spreadV, `spread at ${row.ratio}`).toBeGreaterThan(0.93)
      expect(row.standardUncertaintyV / other.spreadV, `spread at ${row.ratio}`).toBeLessThan(1.07)
      expect(Math.abs(row.probability - other.probability), `probability at ${row.ratio}`).toBeLessThan(0.03)
    }
    expect(found.sharpness.medianV / walked.sharpnessMedianV).toBeGreaterThan(0.93)
    expect(found.sharpness.medianV / walked.sharpnessMedianV).toBeLessThan(1.07)
  })

  it('is the prior where nothing was tried', () => {
    for (const row of posteriorOf(rows, []).rows) {
      expect(row.probability).toBeCloseTo(0.5, 1)
      expect(row.standardUncertaintyV).toBeGreaterThan(0.02)
      expect(row.standardUncertaintyV).toBeLessThan(0.026)
    }
  })

  it('gives draws that are the same posterior', () => {
    const found = posteriorOf(rows, cases[2]?.[1] ?? [])
    const draws = found.draws(20_000, seededUniform(5))
    for (const [index, row] of found.rows.entries()) {
      const values = draws.map(draw => draw.rowsV[index] as number)
      const mean = values.reduce((sum, value) => sum + value, 0) / values.length
      const spread = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length)
      expect(Math.abs(mean - row.meanV)).toBeLessThan(0.0006)
      expect(spread / row.standardUncertaintyV).toBeGreaterThan(0.97)
      expect(spread / row.standardUncertaintyV).toBeLessThan(1.03)
    }
  })

  it('gives the voltage between rows, and the chance to hold there, as the draws have it', () => {
    const found = posteriorOf(rows, cases[2]?.[1] ?? [])
    const draws = found.draws(8000, seededUniform(6))
    for (const ratio of [43, 48, 51, 54]) {
      const line = placeAmong(
        rows.map(row => row.ratio),
        ratio,
      )
      const volts = draws.map(draw => voltageAt(draw.rowsV, line))
      const { meanV, standardUncertaintyV, statedV, probability, enough, holds } = found.at(ratio)
      const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length
      expect(Math.abs(mean(volts) - meanV), `${ratio}`).toBeLessThan(0.0008)
      expect(Math.sqrt(mean(volts.map(v => (v - meanV) ** 2))) / standardUncertaintyV, `${ratio}`).toBeCloseTo(1, 1)
      expect(mean(volts.map(v => (v <= statedV ? 1 : 0))) - probability, `${ratio}`).toBeCloseTo(0, 1)
      expect(enough(statedV)).toBe(probability)
      const shares = draws.map(({ sharpnessV }, index) => {
        const marginV = statedV - (volts[index] as number) + found.proofSharpnesses * sharpnessV
        return Math.exp(-1200 * (failuresPerS(marginV, sharpnessV) - BACKGROUND_PER_S))
      })
      expect(mean(shares) - holds(statedV, 1200), `${ratio}`).toBeCloseTo(0, 2)
    }
  })

  it('lets one odd stop not overturn hours that held below it', () => {
    const hours = [1, 2, 3, 4, 5, 6].map(() => held(50, 1.21, 60))
    const without = posteriorOf(rows, hours).rows[2]
    const withOne = posteriorOf(rows, [...hours, stopped(50, 1.23, 20)]).rows[2]
    expect(withOne?.meanV).toBeLessThan((without?.meanV ?? 0) + 0.012)
    expect(withOne?.probability).toBeGreaterThan(0.85)
  })
})
