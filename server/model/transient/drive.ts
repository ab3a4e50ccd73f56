/** The drive current of a thermoelectric plate from tick to tick (model section 10). */

import { ZERO_C_IN_K } from '../humidity.ts'
import type { PreparedCorner } from '../prepare.ts'
import type { Bench, ThermoelectricCooler } from '../types.ts'
import { steadyCurrentA } from './steady-current.ts'

/**
 * Smallest current in [0, drive-current] at which a plate held at `targetC` with the hot side's coolant at
 * `coolantC` takes at least `heatW`; Infinity where none does. The heat taken is concave in the current, so
 * Newton's steps from zero never pass the first such current.
 */
export function currentForTarget(
  cooler: ThermoelectricCooler,
  targetC: number,
  coolantC: number,
  heatW: number,
): number {
  const {
    modules,
    seebeckVPerK: alpha,
    resistanceOhm,
    conductanceWPerK: k,
    blockResistanceKPerW: block,
    driveCurrentA: limitA,
  } = cooler
  const cold = targetC + ZERO_C_IN_K
  const coolant = coolantC + ZERO_C_IN_K
  let currentA = 0
  for (let round = 0; round < 60; round++) {
    const joule = (currentA * currentA * resistanceOhm) / 2
    const below = 1 - modules * block * (alpha * currentA - k)
    const above = coolant + modules * block * (joule + k * cold)
    const hot = above / below
    const short = heatW - modules * (alpha * currentA * cold - joule - k * (hot - cold))
    if (short <= 1e-12 * (1 + Math.abs(heatW))) return currentA
    const hotSlope = (modules * block * (currentA * resistanceOhm) + hot * modules * block * alpha) / below
    const slope = modules * (alpha * cold - currentA * resistanceOhm - k * hotSlope)
    if (!(slope > 0) || !(below > 0)) return Number.POSITIVE_INFINITY
    currentA += short / slope
    if (currentA > limitA) return Number.POSITIVE_INFINITY
  }
  return currentA
}

/** Whether the current changes from tick to tick with the state. */
export function drivesByState(bench: Bench): boolean {
  const { kind } = bench.profile.drive
  return bench.cooler.kind === 'thermoelectric' && bench.cooler.driveCurrentA > 0 && (kind === 'dew' || kind === 'hold')
}

/** Gives the current for the heat that now flows into the plate and the coolant as it now is. */
export type DriveRule = (heatW: number, coolantC: number) => number

/** The drive of a bench in one corner. */
export function createDrive(bench: Bench, cornered: PreparedCorner): DriveRule {
  const { cooler, profile } = bench
  if (cooler.kind !== 'thermoelectric' || profile.drive.kind === 'off') return () => 0
  const { curve } = cornered
  if (profile.drive.kind === 'full' || curve.kind !== 'target') return () => cooler.driveCurrentA
  return (heatW, coolantC) => {
    const now = currentForTarget(cooler, curve.targetC, coolantC, heatW)
    return now === 0 ? 0 : Math.min(now, steadyCurrentA(curve, heatW))
  }
}
