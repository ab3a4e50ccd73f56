/** A load from the moment it starts on an idle bench: clock, power and temperatures over time (model section 10). */

import { createDrive, driveLagS } from '../cooler/index.ts'
import { activeGroups } from '../groups.ts'
import {
  type PreparedBench,
  type PreparedCorner,
  prepareBench,
  prepareCorner,
  prepareLoad,
  type RatioSource,
  type WorkLoad,
} from '../prepare.ts'
import { railOf, ratioSource } from '../ratio-source.ts'
import { settle } from '../settle.ts'
import { finished } from '../slices.ts'
import type { Bench, Corner } from '../types.ts'
import { type Controller, type ControllerState, createController, freshState } from './control.ts'
import { followStretch } from './follow.ts'
import { COOLANT, createNetwork, DIE, PLATE, SENSED, STATE_SIZE } from './network.ts'
import { createRecorder, type Transient } from './record.ts'
import type { Machine } from './stretch.ts'

export interface TransientOptions {
  /** How long to look, in s. */
  readonly overS: number
  /** How often the controller looks; 10 ms unless said otherwise. */
  readonly tickS?: number
  /** Distance of the samples of the series; 1 s unless said otherwise. */
  readonly sampleS?: number
  /** The run ends once a full second was slower than this, in MHz: what comes after it is not asked for. */
  readonly endsBelowMhz?: number
  /** The group of cores that `endsBelowMhz` is about; the first that has active cores unless said otherwise. */
  readonly ofGroup?: string
}

export const DEFAULT_TICK_S = 0.01
export const DEFAULT_SAMPLE_S = 1
const DEFAULT_SUSTAINED_OVER_S = 30

/**
 * Follows a load from steady idle.
 * @returns undefined where no step row covers the active cores of a group, or where idle itself has no steady state
 */
export function simulate(
  bench: Bench,
  load: WorkLoad,
  corner: Corner,
  options: TransientOptions,
): Transient | undefined {
  return finished(simulateInSlices(bench, load, corner, options))
}

/** The temperature at which the machine stops. */
export function tripOf({ bench, ceilingC }: PreparedBench): number {
  return bench.part.tripC ?? ceilingC + 10
}

/** Share of the way that the running mean power goes to a tick's own. */
export function forgetOf({ profile }: Bench, tickS: number): number {
  return -Math.expm1(-tickS / (profile.limits.sustainedOverS ?? DEFAULT_SUSTAINED_OVER_S))
}

/** The controller of a load at work, and the set voltages of the supply rails at its ratios. */
export function workController(
  prepared: PreparedBench,
  load: WorkLoad,
  cornered: PreparedCorner,
  corner: Corner,
  state: ControllerState,
): { readonly controller: Controller; readonly setVsOf: (ratios: readonly number[]) => ArrayLike<number> } {
  const loaded = prepareLoad(prepared, load)
  const probe = createNetwork(prepared.bench, load, corner)
  const setVs = new Float64Array(prepared.rails.length)
  // A clock goes back and forth many times a second: the same list is filled again.
  const setVsAt = (at: RatioSource): ArrayLike<number> => {
    for (let rail = 0; rail < setVs.length; rail++) setVs[rail] = railOf(at, rail).setV
    return setVs
  }
  const powerAtSource = (at: RatioSource, dieAndLidC: number): number => {
    probe.holdRatios(at.ratios, setVsAt(at))
    return probe.powerAt(dieAndLidC).powerW
  }
  return {
    controller: createController(prepared, loaded, cornered, powerAtSource, state),
    setVsOf: ratios => setVsAt(ratioSource(prepared, loaded, ratios)),
  }
}

/** As `simulate`, for those who have something else to do meanwhile: each slice takes well below a millisecond. */
export function* simulateInSlices(
  bench: Bench,
  load: WorkLoad,
  corner: Corner,
  options: TransientOptions,
): Generator<undefined, Transient | undefined, undefined> {
  const prepared = prepareBench(bench)
  const cornered = prepareCorner(prepared, corner)
  const idle = settle(bench, { kind: 'idle' }, corner)
  const hasStep = prepareLoad(prepared, load).ladder.at(0) !== undefined
  if (!hasStep || idle === null || idle.dieC === null || idle.plateC === null) return undefined
  const tickS = options.tickS ?? DEFAULT_TICK_S
  const ticks = Math.max(1, Math.round(options.overS / tickS))
  const y = new Float64Array(STATE_SIZE)
  y[DIE] = idle.dieC
  y[PLATE] = idle.plateC
  y[COOLANT] = idle.coolantC ?? idle.plateC
  y[SENSED] = idle.dieC
  const machine: Machine = { y, meanW: bench.part.idlePowerW, currentA: Number.NaN, hottestC: idle.dieC }
  const recorder = createRecorder(
    {
      referenceMhz: bench.part.referenceGhz * 1000,
      tickS,
      ticks,
      sampleTicks: Math.max(1, Math.round((options.sampleS ?? DEFAULT_SAMPLE_S) / tickS)),
      groups: bench.part.groups?.map(({ name }) => name),
      busy: activeGroups(bench.part, load).map(({ index }) => index),
    },
    prepared.ceilingC,
  )
  const { endsBelowMhz = 0, ofGroup } = options
  yield* followStretch(
    machine,
    {
      network: createNetwork(bench, load, corner),
      ...workController(prepared, load, cornered, corner, freshState(prepared)),
      drive: createDrive(bench.cooler, bench.profile, corner, cornered.curve),
      lagS: driveLagS(bench.cooler),
      packageKPerW: bench.part.packageResistanceKPerW,
      tripC: tripOf(prepared),
      ceilingC: prepared.ceilingC,
      tickS,
      forget: forgetOf(bench, tickS),
      ticks,
      isEnough: () => recorder.lowestSecondMhz(ofGroup) < endsBelowMhz,
    },
    recorder,
  )
  return recorder.finish()
}
