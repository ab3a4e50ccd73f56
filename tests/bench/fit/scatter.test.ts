import { describe, expect, it } from 'vitest'
import { usualLoop } from '../../../server/bench/likelihood/priors.ts'
import { type PointEvidence, pointEvidence } from '../../../server/bench/likelihood/seen-point.ts'
import { usualScatter } from '../../../server/bench/likelihood/sitting.ts'
import { fitEvidence } from '../../harness/at-once.ts'
import {
  benchAt,
  drawnConstants,
  drawnSetting,
  drawnSitting,
  drawnTruth,
  drawsFrom,
  type Sitting,
  seenPoint,
  stateOf,
} from '../../harness/drawn-benches.ts'

/** By how much sittings differ, which a fit finds from as many as tell. */

const all = drawnConstants.map((_, index) => index)
const unknowns = drawnConstants.map(({ value, spread }) => ({ mean: Math.log(value), sd: spread }))

/** The scatter that a fit of some points of one bench finds. @param times how many usual ones sittings differ by */
function scatterOf(points: number, times: number) {
  const draws = drawsFrom(7)
  const bench = benchAt(drawnTruth(draws))
  const found: PointEvidence[] = []
  while (found.length < points) {
    const setting = drawnSetting(draws)
    const { powerShare, stagesK } = drawnSitting(draws)
    const own: Sitting = {
      powerShare: times * powerShare,
      stagesK: [times * stagesK[0], times * stagesK[1], times * stagesK[2]],
    }
    const state = stateOf(bench, setting, own)
    const seen = seenPoint(bench, setting, draws)
    if (state === undefined || seen === undefined) continue
    const read = (value: number, standardUncertainty: number) => ({ value, standardUncertainty })
    const readings = {
      ...{ clock: read(setting.clockGhz, 0), voltage: read(setting.voltageV, 0), fan: read(setting.dutyPct, 0) },
      ...{
        power: read(state.powerW, 0.002 * state.powerW),
        die: read(state.dieC, 0.1),
        plate: read(state.plateC, 0.1),
      },
      ...{ coolant: read(state.coolantC, 0.1), air: read(setting.airC, 0.1) },
    }
    found.push(pointEvidence({ ...seen, readings }, usualLoop, benchAt, all))
  }
  return fitEvidence(unknowns, found, [], { seed: 1, steps: 400 })!.scatter
}

describe('the scatter between sittings', () => {
  it('is the usual one up to four of them', () => {
    expect(scatterOf(4, 4)).toEqual(usualScatter)
  })

  it('is what they show from five on, and more surely from more', () => {
    expect(scatterOf(5, 4)).not.toEqual(usualScatter)
    const [wide, narrow] = [scatterOf(24, 4), scatterOf(24, 0.25)]
    expect(wide.temperatureK).toBeGreaterThan(1.8)
    expect(wide.temperatureK).toBeLessThan(4)
    expect(wide.powerShare).toBeGreaterThan(0.025)
    expect(narrow.temperatureK).toBeLessThan(0.35)
    expect(narrow.powerShare).toBeLessThan(0.006)
  })
})
