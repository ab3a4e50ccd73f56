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

/** What a controller remembers from tick to tick, and from one load to the next. */
export interface ControllerState {
  /** For each band row of the profile, whether or not it covers the count at work, whether it is in. */
  readonly bandIsIn: boolean[]
  /** Ratio-steps that the two ceilings have given back, counted from the cap of the load at work. */
  dieSteps: number
  powerSteps: number
  /** The sensed temperature at the look before. */
  beforeC: number
}

/** Nothing given back. */
export const freshState = (bands: readonly BandRow[]): ControllerState => ({
  bandIsIn: bands.map(() => false),
  dieSteps: 0,
  powerSteps: 0,
  beforeC: Number.NaN,
})

/** The ratio of a load before anything is given back, and how many ratio-steps there are below it. */
export function topOf(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  cornered: PreparedCorner,
): { readonly topRatio: number; readonly lowest: number } {
  const { part, profile } = prepared.bench
  const { load } = loaded
  const step = stepRatio(profile, load.cores) ?? part.ratioLow
  const vectorX = load.vector ? profile.vectorDrop : 0
  const capRatio = capLevels(prepared, loaded, cornered.curve).levels.at(0)?.ratio ?? part.ratioLow
  const topRatio = Math.min(capRatio, ratioAfter(part, step, vectorX, 0))
  return { topRatio, lowest: ratioStepCount(part, topRatio) }
}

/** Bands and ceilings at one look, under whatever load. */
function lookOnce(
  prepared: PreparedBench,
  state: ControllerState,
  lowest: number,
  sensedC: number,
  meanW: number,
  powerAtCeiling: () => number,
): void {
  const { bands, returnK, limits } = prepared.bench.profile
  const { bandIsIn } = state
  for (let index = 0; index < bands.length; index++) {
    const { aboveC } = bands[index] as BandRow
    if (sensedC >= aboveC) bandIsIn[index] = true
    else if (sensedC < aboveC - returnK) bandIsIn[index] = false
  }
  const { ceilingC } = prepared
  const sustainedW = limits.sustainedPowerW ?? Number.POSITIVE_INFINITY
  if (sensedC >= ceilingC) {
    if ((sensedC > state.beforeC || state.dieSteps === 0) && state.dieSteps < lowest) state.dieSteps++
  } else if (state.dieSteps > 0 && sensedC < state.beforeC) state.dieSteps--
  if (meanW >= sustainedW) {
    if (state.powerSteps < lowest && powerAtCeiling() > sustainedW) state.powerSteps++
  } else if (state.powerSteps > 0) state.powerSteps--
  state.beforeC = sensedC
}

const atRest: Decision = { ratio: 0, by: 'none' }

/**
 * The controller while no core is at work: there is no ratio, and what was given back comes back by the same rules. With
 * no load's cap to count from, the ceilings have all ratios of the part.
 *
 * @param powerW what the machine draws meanwhile
 */
export function createRestingController(prepared: PreparedBench, state: ControllerState, powerW: number): Controller {
  const { part } = prepared.bench
  const lowest = ratioStepCount(part, part.ratioHigh)
  return {
    topRatio: 0,
    look: (sensedC, meanW) => {
      lookOnce(prepared, state, lowest, sensedC, meanW, () => powerW)
      return atRest
    },
    bandAboveC: () => null,
  }
}

/** A controller of a load at work, which goes on from `state`. */
export function createController(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  cornered: PreparedCorner,
  powerAtRatio: (ratio: number, dieAndLidC: number) => number,
  state: ControllerState,
): Controller {
  const { part, profile } = prepared.bench
  const { load } = loaded
  const step = stepRatio(profile, load.cores) ?? part.ratioLow
  const vectorX = load.vector ? profile.vectorDrop : 0
  const { topRatio, lowest } = topOf(prepared, loaded, cornered)
  const covering = [...profile.bands.entries()].filter(
    ([, row]) => load.cores >= row.fromCores && load.cores <= row.toCores,
  )
  let deepest: BandRow | undefined
  let lookedAtC = Number.NaN
  const powerAtCeiling = (): number => powerAtRatio(ratioStepsDown(part, topRatio, state.powerSteps), lookedAtC)

  const look = (sensedC: number, meanW: number, dieAndLidC: number): Decision => {
    lookedAtC = dieAndLidC
    lookOnce(prepared, state, lowest, sensedC, meanW, powerAtCeiling)
    deepest = undefined
    for (const [index, row] of covering) {
      if (state.bandIsIn[index] && (deepest === undefined || row.drop > deepest.drop)) deepest = row
    }
    const { dieSteps, powerSteps } = state
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
