/** Where a course begins: all at the temperature of the air, or what a load has settled at. */

import { isDrivenOff } from '../cooler/index.ts'
import { capLevels } from '../limits.ts'
import { isOn, isWork } from '../loads.ts'
import { coreRiseKPerW } from '../power.ts'
import { type PreparedBench, type PreparedCorner, prepareLoad, type WorkLoad } from '../prepare.ts'
import { ratioStepCount, ratioStepsDown } from '../ratio.ts'
import { settle } from '../settle.ts'
import type { Corner, Settled } from '../types.ts'
import { RATIO_TOLERANCE } from '../voltage.ts'
import { type ControllerState, freshState, topOf } from './control.ts'
import type { CourseNotRun, CourseStart } from './course-types.ts'
import type { Machine } from './follow.ts'
import { COOLANT, DIE, PLATE, SENSED, STATE_SIZE } from './network.ts'

/** The machine as a course begins, and its hottest core. */
interface Begun {
  readonly machine: Machine
  readonly controls: ControllerState
  readonly dieC: number
}

export function courseStart(
  prepared: PreparedBench,
  cornered: PreparedCorner,
  start: CourseStart,
  corner: Corner,
): Begun | CourseNotRun {
  const { bench } = prepared
  const controls = freshState(bench.profile.bands)
  if (start.kind === 'room') {
    const { airC } = corner
    const y = new Float64Array(STATE_SIZE).fill(airC)
    // The drive is switched on at t = 0, so its current begins from none.
    return { machine: { y, meanW: 0, currentA: 0 }, controls, dieC: airC }
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
  y[DIE] = isWork(load) ? dieC - coreRiseKPerW(bench.part, load) * (settled.dynamicW ?? 0) : dieC
  y[PLATE] = plateC
  y[COOLANT] = settled.coolantC ?? plateC
  y[SENSED] = dieC
  if (isWork(load)) giveBack(prepared, cornered, load, settled, dieC, controls)
  const currentA = settled.notes.plate?.flowingA ?? 0
  return { machine: { y, meanW: powerW, currentA }, controls, dieC }
}

/** Bands and ceilings as at the level that a load is steady on, or at the slower of the two that it alternates between. */
function giveBack(
  prepared: PreparedBench,
  cornered: PreparedCorner,
  load: WorkLoad,
  { limiter, ratioLow }: Settled,
  dieC: number,
  controls: ControllerState,
): void {
  const { part, profile } = prepared.bench
  const loaded = prepareLoad(prepared, load)
  const heldRatio = ratioLow ?? part.ratioLow
  const { topRatio } = topOf(prepared, loaded, cornered)
  const isPower = limiter === 'sustained-power'
  const level = isPower
    ? undefined
    : capLevels(prepared, loaded, cornered.curve)
        .levels.all()
        .find(one => Math.abs(one.ratio - heldRatio) < RATIO_TOLERANCE)
  const inToC = Math.max(dieC, level?.enteredC ?? dieC)
  for (const [index, { aboveC }] of profile.bands.entries()) controls.bandIsIn[index] = aboveC <= inToC
  const count = ratioStepCount(part, topRatio)
  let steps = 0
  while (steps < count && ratioStepsDown(part, topRatio, steps) > heldRatio + RATIO_TOLERANCE) steps++
  if (isPower) controls.powerSteps = steps
  else if (level?.limiter === 'die-limit') controls.dieSteps = steps
  controls.beforeC = dieC
}
