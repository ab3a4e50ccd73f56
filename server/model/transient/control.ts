/**
 * The controller as it looks at the machine once a tick: bands by the sensed temperature, the die ceiling and
 * the power ceiling, each moving one ratio-step at a time (model section 10).
 */

import { capLevels } from '../limits.ts'
import type { PreparedBench, PreparedCorner, PreparedLoad } from '../prepare.ts'
import { ratioAfter, ratioStepCount, ratioStepsDown, stepRatio } from '../ratio.ts'
import type { BandRow } from '../types.ts'

export interface Decision {
  readonly ratio: number
  /** What holds the ratio below the step, or `none`. */
  readonly by: 'none' | 'band' | 'die-limit' | 'sustained-power'
}

export interface Controller {
  /** The ratio before anything is given back: the step less `vector`, under the cap. */
  readonly topRatio: number
  /**
   * Looks once. Must be called once for each tick, in order.
   * @param sensedC sensed temperature
   * @param meanW the running mean power E
   * @param dieAndLidC for the power at the power ceiling's ratio
   */
  look(sensedC: number, meanW: number, dieAndLidC: number): Decision
  /** Threshold of the deepest band that is in; null where none is. */
  bandAboveC(): number | null
}

/** A controller at the start of a load: nothing given back. */
export function createController(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  cornered: PreparedCorner,
  powerAtRatio: (ratio: number, dieAndLidC: number) => number,
): Controller {
  const { part, profile } = prepared.bench
  const { load } = loaded
  const step = stepRatio(profile, load.cores) ?? part.ratioLow
  const vectorX = load.vector ? profile.vectorDrop : 0
  const capRatio = capLevels(prepared, loaded, cornered.curve).levels[0]?.ratio ?? part.ratioLow
  const topRatio = Math.min(capRatio, ratioAfter(part, step, vectorX, 0))
  const lowest = ratioStepCount(part, topRatio)
  const rows: { readonly row: BandRow; isIn: boolean }[] = profile.bands
    .filter(row => load.cores >= row.fromCores && load.cores <= row.toCores)
    .map(row => ({ row, isIn: false }))
  const ceilingC = prepared.ceilingC
  const sustainedW = profile.limits.sustainedPowerW ?? Number.POSITIVE_INFINITY
  let dieSteps = 0
  let powerSteps = 0
  let beforeC = Number.NaN
  let deepest: BandRow | undefined

  const look = (sensedC: number, meanW: number, dieAndLidC: number): Decision => {
    deepest = undefined
    for (const band of rows) {
      if (sensedC >= band.row.aboveC) band.isIn = true
      else if (band.isIn && sensedC < band.row.aboveC - profile.returnK) band.isIn = false
      if (band.isIn && (deepest === undefined || band.row.drop > deepest.drop)) deepest = band.row
    }
    if (sensedC >= ceilingC) {
      if ((sensedC > beforeC || dieSteps === 0) && dieSteps < lowest) dieSteps++
    } else if (dieSteps > 0 && sensedC < beforeC) dieSteps--
    if (meanW >= sustainedW) {
      const atCeiling = ratioStepsDown(part, topRatio, powerSteps)
      if (powerSteps < lowest && powerAtRatio(atCeiling, dieAndLidC) > sustainedW) powerSteps++
    } else if (powerSteps > 0) powerSteps--
    beforeC = sensedC
    const byBand = ratioAfter(part, step, vectorX, deepest?.drop ?? 0)
    const byDie = ratioStepsDown(part, topRatio, dieSteps)
    const byPower = ratioStepsDown(part, topRatio, powerSteps)
    const ratio = Math.min(topRatio, byBand, byDie, byPower)
    const by =
      ratio === topRatio ? 'none' : ratio === byDie ? 'die-limit' : ratio === byPower ? 'sustained-power' : 'band'
    return { ratio, by }
  }
  return { topRatio, look, bandAboveC: () => deepest?.aboveC ?? null }
}
