import { describe, expect, it } from 'vitest'
import type { VoltageTrial } from '../../../server/bench/evidence/hazard.ts'
import { ledgerOf } from '../../../server/bench/evidence/ledger.ts'
import { usualProof } from '../../../server/semantic/proof.ts'
import { held, stopped } from './ends.ts'
import { walk } from './walk.ts'

/** The ledger's figures and the word that it finds for each ratio. */

const needs = [
  { ratio: 40, voltageV: 1.06 },
  { ratio: 50, voltageV: 1.23 },
  { ratio: 53, voltageV: 1.31 },
]

const at = (ratio: number, ...trials: readonly VoltageTrial[]) => {
  const row = ledgerOf(needs, trials, 1).rows.find(one => one.ratio === ratio)
  if (row === undefined) throw new Error(`no row at ${ratio}`)
  return row
}

describe('the ledger', () => {
  it('calls a ratio untested where no trial comes near', () => {
    expect(at(50).word).toBe('untested')
    expect(at(40, held(50, 1.23)).word).toBe('untested')
  })

  it('calls an hour held at the stated voltage likely: 0.72', () => {
    const row = at(50, held(50, 1.23))
    expect(row.probability).toBeCloseTo(0.72, 2)
    expect(row).toMatchObject({ word: 'likely', heldS: 3600, heldV: 1.23, stops: 0 })
  })

  it('calls an hour each at 0, −10 and −20 mV proven: 0.95', () => {
    const row = at(50, held(50, 1.23), held(50, 1.22), held(50, 1.21))
    expect(row.probability).toBeCloseTo(0.95, 2)
    expect(row).toMatchObject({ word: 'proven', heldV: 1.21 })
  })

  it('calls a stop at the stated voltage after twelve minutes contradicted', () => {
    const row = at(50, stopped(50, 1.23, 12))
    expect(row.probability).toBeLessThan(0.1)
    expect(row).toMatchObject({ word: 'contradicted', stops: 1, heldS: undefined })
    expect(row.proofV).toBeGreaterThan(1.23)
  })

  it('calls a stop not far below the stated voltage doubtful', () => {
    const trials = [stopped(50, 1.21, 5)]
    const row = at(50, ...trials)
    const walked = walk(needs, trials, usualProof, 400_000, 7).rows[needs.findIndex(({ ratio }) => ratio === 50)]
    expect(Math.abs(row.probability - (walked?.probability ?? Number.NaN))).toBeLessThan(0.03)
    expect(row.word).toBe('doubtful')
  })

  it('calls short holds unclear, and a stop well below the stated voltage no contradiction', () => {
    expect(at(50, held(50, 1.26, 10)).word).toBe('unclear')
    expect(at(50, stopped(50, 1.19, 5)).word).not.toBe('contradicted')
  })

  it('counts what held at a higher ratio, and a stop at a lower one', () => {
    expect(at(50, held(53, 1.23), held(53, 1.22), held(53, 1.21)).word).toBe('proven')
    const near = ledgerOf([...needs.slice(0, 2), { ratio: 53, voltageV: 1.245 }], [stopped(50, 1.24, 5)], 1)
    expect(near.rows.find(row => row.ratio === 53)?.word).toBe('contradicted')
  })

  it('has a row for each ratio that was tried, on the line between the stated ones', () => {
    const row = at(51.5, held(51.5, 1.27))
    expect(row.statedV).toBeCloseTo(1.27, 12)
    expect(row.probability).toBeGreaterThan(0.6)
    expect(ledgerOf(needs, [held(51.5, 1.27)], 1).rows.map(one => one.ratio)).toEqual([40, 50, 51.5, 53])
  })

  it('asks for more voltage the longer and the surer a load is to hold', () => {
    const trials = [held(50, 1.23), stopped(50, 1.2, 20)]
    const usual = ledgerOf(needs, trials, 1).rows[1]
    const strict = ledgerOf(needs, trials, 1, { probability: 0.99, forS: 8 * 3600 }).rows[1]
    expect(strict?.proofV).toBeGreaterThan((usual?.proofV ?? 0) + 0.005)
  })
})

describe('trials beside the rows', () => {
  const only = [{ ratio: 50, voltageV: 1.23 }]

  it('are not taken for more than they say below the first row and beyond a single one', () => {
    expect(at(40, held(36, 0.98)).probability).toBeCloseTo(0.5, 2)
    expect(at(40, stopped(36, 1.07, 5)).word).toBe('contradicted')
    const [row] = ledgerOf(only, [stopped(54, 1.23, 5)], 1).rows
    expect(row?.probability).toBeCloseTo(0.5, 2)
    expect(ledgerOf(only, [held(54, 1.23), held(54, 1.22), held(54, 1.21)], 1).rows[0]?.word).toBe('proven')
  })

  it('that stopped far above all that held are probably not the voltage’s', () => {
    const row = at(50, held(50, 1.21, 240), stopped(50, 1.3, 30))
    expect(row).toMatchObject({ word: 'proven', stops: 1, oddStops: 1, stop: undefined })
    expect(at(50, stopped(50, 1.23, 12))).toMatchObject({ oddStops: 0 })
  })
})
