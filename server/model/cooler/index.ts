/** The kinds of cooler: the one place where a kind is registered with the model. */

import type { Cooler, Corner, Profile } from '../types.ts'
import { chilled } from './chilled.ts'
import type { Faults, FaultWord } from './faults.ts'
import type { CoolerCurve, CoolerEnd, CoolerModel, CoolerSide, DriveRule, Duty } from './kind.ts'
import { aired, radiated } from './radiated.ts'
import { thermoelectric } from './thermoelectric/kind.ts'

/** What each kind answers for itself; a new kind does not compile without its line here. */
const kinds: { readonly [K in Cooler['kind']]: CoolerModel<Extract<Cooler, { kind: K }>> } = {
  loop: radiated,
  air: aired,
  chilled,
  thermoelectric,
}

type Set = Pick<Profile, 'fan' | 'drive'>

/** The model of a cooler's own kind; the table above pairs the two. */
function modelOf<C extends Cooler>(cooler: C): CoolerModel<C> {
  return kinds[cooler.kind] as unknown as CoolerModel<C>
}

/**
 * The curve of a bench's cooler under its profile's fan table and drive, in one corner.
 *
 * @param sibling the curve of the same bench in air of the same temperature: it differs at most in its target
 */
export function prepareCurve(cooler: Cooler, profile: Set, corner: Corner, sibling?: CoolerCurve): CoolerCurve {
  return modelOf(cooler).curve(cooler, profile, corner, sibling)
}

/** The cooler over time. */
export function createSide(cooler: Cooler, profile: Set, corner: Corner): CoolerSide {
  return modelOf(cooler).side(cooler, profile, corner)
}

/** The drive of a bench in one corner, from tick to tick. */
export function createDrive(cooler: Cooler, profile: Set, corner: Corner, curve: CoolerCurve): DriveRule {
  return modelOf(cooler).drive(cooler, profile, corner, curve)
}

/** What of a cooler can fail. */
export function faultsOf(cooler: Cooler): readonly FaultWord[] {
  return modelOf(cooler).faults
}

/** A cooler with faults; the very same without. */
export function faultyCooler(cooler: Cooler, faults: Faults): Cooler {
  return modelOf(cooler).faulty(cooler, faults)
}

/** Whether its plate stays driven while the machine is off. */
export function isDrivenOff(cooler: Cooler): boolean {
  return modelOf(cooler).isDrivenOff(cooler)
}

/** How slowly its drive follows, in s; 0 where at once. */
export function driveLagS(cooler: Cooler): number {
  return modelOf(cooler).driveLagS(cooler)
}

/** Whether something holds the coolant whatever the air is like. */
export function isCoolantHeld(cooler: Cooler): boolean {
  return modelOf(cooler).isCoolantHeld
}

/** Heat capacity of the coolant in J/K; undefined where the coolant is no state of its own. */
export function coolantHeatJPerK(cooler: Cooler): number | undefined {
  return modelOf(cooler).coolantHeatJPerK(cooler)
}

/** The coolant that settles at a heat into it, in °C. */
export function settledCoolantC(cooler: Cooler, airC: number, duty: Duty, heatW: number): number {
  return modelOf(cooler).coolantC(cooler, airC, duty, heatW)
}

/** Where the heat ends: the last link of a chain of capacities. */
export function coolerEnd(cooler: Cooler): CoolerEnd {
  return modelOf(cooler).end(cooler)
}
