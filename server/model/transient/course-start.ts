/** Where a course begins: all at the temperature of the air, or what a load has settled at. */

import { isDrivenOff } from '../cooler/index.ts'
import { capLevels } from '../limits.ts'
import { isOn, isWork } from '../loads.ts'
import { type PreparedBench, type PreparedCorner, type PreparedLoad, prepareLoad } from '../prepare.ts'
import { lowersAny } from '../ratio.ts'
import { ratiosDown } from '../ratio-source.ts'
import { settle } from '../settle.ts'
import { heldRatios, settledRiseK } from '../settled-groups.ts'
import type { Corner, Settled } from '../types.ts'
import { type ControllerState, freshState, topOf } from './control.ts'
import type { CourseNotRun, CourseStart } from './course-types.ts'
import { COOLANT, DIE, PLATE, SENSED, STATE_SIZE } from './network.ts'
import type { Machine } from './stretch.ts'

/** The machine as a course begins. */
interface Begun {
  readonly machine: Machine
  readonly controls: ControllerState
}

export function courseStart(
  prepared: PreparedBench,
  cornered: PreparedCorner,
  start: CourseStart,
  corner: Corner,
): Begun | CourseNotRun {
  const { bench } = prepared
  const controls = freshState(prepared)
  if (start.kind === 'room') {
    const { airC } = corner
    const y = new Float64Array(STATE_SIZE).fill(airC)
    // The drive is switched on at t = 0, so its current begins from none.
    return { machine: { y, meanW: 0, currentA: 0, hottestC: airC }, controls }
  }
  const { load } = start
  const isDriven = isOn(load) || isDrivenOff(bench.cooler)
  const asDriven = isDriven ? bench : { ...bench, profile: { ...bench.profile, drive: { kind: 'off' as const } } }
  const settled = settle(asDriven, load, corner)
  if (settled === null) return { undecided: 'steps', load }
  const { state, dieC, plateC, powerW } = settled
  if (state === 'runaway' || state === 'over-limit' || dieC === null || plateC === null || powerW === null)
    return { undecided: 'start', load }
  const y = new Float64Array(STATE_SIZE)
  y[DIE] = dieC
  y[PLATE] = plateC
  y[COOLANT] = settled.coolantC ?? plateC
  y[SENSED] = dieC
  if (isWork(load)) {
    const loaded = prepareLoad(prepared, load)
    y[DIE] = dieC - settledRiseK(prepared, loaded, settled, dieC)
    giveBack(prepared, cornered, loaded, settled, dieC, controls)
  }
  const currentA = settled.notes.plate?.flowingA ?? 0
  const { sustainedPowerW } = bench.profile.limits
  // A mean that is exactly the limit is not left to rounding: the ceiling looks at which side of it the mean is.
  const isAtLimit = state === 'alternating' && settled.limiter === 'sustained-power'
  const meanW = isAtLimit ? (sustainedPowerW ?? powerW) : powerW
  return { machine: { y, meanW, currentA, hottestC: dieC }, controls }
}

/** Bands and ceilings as at the level that a load is steady on, or at the slower of the two that it alternates between. */
function giveBack(
  prepared: PreparedBench,
  cornered: PreparedCorner,
  loaded: PreparedLoad,
  settled: Settled,
  dieC: number,
  controls: ControllerState,
): void {
  const { limiter } = settled
  const held = heldRatios(prepared, loaded, settled, 'ratioLow')
  const { topRatios, lowest } = topOf(prepared, loaded, cornered)
  const isPower = limiter === 'sustained-power'
  const levels = isPower ? [] : capLevels(prepared, loaded, cornered.curve).levels.all()
  const level = levels.find(({ ratios }) => !lowersAny(ratios, held) && !lowersAny(held, ratios))
  const inToC = Math.max(dieC, level?.enteredC ?? dieC)
  for (const [index, { settings }] of prepared.groups.entries()) {
    const isIn = controls.bandIsIn[index] ?? []
    for (const [row, { aboveC }] of settings.bands.entries()) isIn[row] = aboveC <= inToC
  }
  // A group that is deep in its bands has nothing given back to a ceiling that has not come down to it.
  const banded = levels.findLast(one => one.limiter !== 'die-limit')?.ratios ?? topRatios
  let steps = 0
  const isAbove = (): boolean =>
    ratiosDown(loaded, topRatios, steps).some((ratio, at) => {
      return lowersAny([held[at] as number], [Math.min(ratio, banded[at] as number)])
    })
  while (steps < lowest && isAbove()) steps++
  if (isPower) controls.powerSteps = steps
  else if (level?.limiter === 'die-limit') controls.dieSteps = steps
  controls.beforeC = dieC
}
