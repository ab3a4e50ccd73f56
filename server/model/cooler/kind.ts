/** What every kind of cooler answers for itself: its curve, its figures at a heat, and how it stores and passes heat over time. */

import type { Cooler, Corner, PlateNotes, Profile } from '../types.ts'
import type { PlateCurve } from './curve.ts'
import type { Faults, FaultWord } from './faults.ts'

/** Everything about a cooler at one heat, for the final figures rather than for the search (model section 5). */
export interface CoolerFigures {
  readonly plateC: number
  readonly coolantC: number
  /** The duty of the profile's fan table at the coolant's temperature, whether or not a radiator depends on it. */
  readonly fanPct: number
  /** The duty lies below the radiator's lowest point, whose resistance is then used. */
  readonly fanBelowData: boolean
  readonly driveA: number | null
  readonly driveW: number | null
  /** At the supply of the modules while the current flows, leads included. */
  readonly driveV: number | null
}

/** What only a check, a hover or a sheet asks of a cooler at one heat: with modules it takes searches of its own. */
export interface CoolerNotes {
  readonly hotC: number | null
  readonly coldestA: number | null
  readonly coldestPlateC: number | null
  readonly plate: PlateNotes | null
}

/** The notes on a cooler without modules, and on any where nothing settles: there is nothing to note. */
export const unnoted: CoolerNotes = { hotC: null, coldestA: null, coldestPlateC: null, plate: null }

/** The curve of a cooler under its profile in one corner, and what is known of it beside the curve. */
export interface CoolerCurve extends PlateCurve {
  /** Up to this heat a drive holds the plate at its target; undefined where there is no target. */
  readonly heldToW: number | undefined
  /** The figures at a heat at which the plate is finite. */
  figuresAt(heatW: number): CoolerFigures
  /** The notes at such a heat. */
  notesAt(heatW: number): CoolerNotes
}

/** Heat that leaves the plate and heat that stays in the coolant, in W, with their slopes over both temperatures. */
export interface HeatFlow {
  takenW: number
  takenByPlate: number
  takenByCoolant: number
  storedW: number
  storedByPlate: number
  storedByCoolant: number
}

/** The same where the hot side of modules stores heat of its own: `gained` is what stays in it. */
export interface HotFlow extends HeatFlow {
  takenByHot: number
  storedByHot: number
  gainedW: number
  gainedByPlate: number
  gainedByCoolant: number
  gainedByHot: number
}

/** The hot side of modules as a state of its own, in which it can store heat. */
interface HotSide {
  readonly heatJPerK: number
  flowAt(plateC: number, coolantC: number, hotC: number, out: HotFlow, wantsSlopes: boolean): void
  /** Its temperature where it stores nothing. */
  quasiC(plateC: number, coolantC: number): number
  /** Electrical input at the current held. */
  inputW(plateC: number, hotC: number): number
}

/** The cooler's side of a bench over time, below the plate (model section 10). */
export interface CoolerSide {
  /** Heat capacity of the coolant in J/K; 1 where the coolant is no state of its own. */
  readonly coolantHeatJPerK: number
  /** Puts the heats at a plate and a coolant temperature into `out`; the slopes hold only where they are wanted. */
  flowAt(plateC: number, coolantC: number, out: HeatFlow, wantsSlopes: boolean): void
  /** The coolant, which for a chilled loop follows from the plate. */
  coolantC(plateC: number, coolantC: number): number
  /** Holds another current through the modules, or pulses of that height. */
  hold(currentA: number): void
  /** Mean of the current held. */
  meanA(): number
  /** Electrical input at the current held. */
  inputW(plateC: number, coolantC: number): number
  /** Of modules alone. */
  readonly hotSide?: HotSide
}

/** The drive from tick to tick. */
export interface DriveRule {
  /** It follows the state; else one current serves for ever. */
  readonly isMoving: boolean
  /** The current for the heat that now flows into the plate, and the plate and coolant as they now are. */
  currentA(heatW: number, plateC: number, coolantC: number): number
  /** The same where the hot side stores heat of its own and is at `hotC`; absent where that changes nothing. */
  currentBesideA?(heatW: number, plateC: number, coolantC: number, hotC: number): number
}

/** The fan's duty in %, or how it follows from the coolant. */
export type Duty = number | ((coolantC: number) => number)

/**
 * The last link of the heat's path, for whoever follows a bench at measured power: behind the coolant where that is a state
 * of its own, else behind the plate.
 */
export interface CoolerEnd {
  /**
   * The temperature at the end, in °C.
   * @param plateC the plate now, NaN if not yet known
   * @param heatW heat into the plate, used only then
   */
  endC(airC: number, plateC: number, heatW: number): number
  /** Resistance of the last link, in K/W. @param endC as just found */
  endKPerW(endC: number, coolantC: number, dutyPct: number): number
}

/** One kind of cooler. */
export interface CoolerModel<C> {
  /** @param sibling the curve of the same bench in air of the same temperature: it differs at most in its target */
  curve(cooler: C, profile: Pick<Profile, 'fan' | 'drive'>, corner: Corner, sibling?: CoolerCurve): CoolerCurve
  side(cooler: C, profile: Pick<Profile, 'fan' | 'drive'>, corner: Corner): CoolerSide
  drive(cooler: C, profile: Pick<Profile, 'fan' | 'drive'>, corner: Corner, curve: CoolerCurve): DriveRule
  /** What of it can fail. */
  readonly faults: readonly FaultWord[]
  /** The cooler with these faults. */
  faulty(cooler: C, faults: Faults): Cooler
  /** Whether its plate stays driven while the machine is off. */
  isDrivenOff(cooler: C): boolean
  /** How slowly its drive follows, in s; 0 where at once. */
  driveLagS(cooler: C): number
  /** Whether something holds the coolant whatever the air is like: then it says nothing of the air, nor the air of it. */
  readonly isCoolantHeld: boolean
  /** Heat capacity of the coolant in J/K; undefined where the coolant is no state of its own. */
  coolantHeatJPerK(cooler: C): number | undefined
  /** The coolant that settles at a heat into it, in °C. */
  coolantC(cooler: C, airC: number, duty: Duty, heatW: number): number
  /** The last link of this cooler's heat path. Make one per cooler: it remembers its last answer. */
  end(cooler: C): CoolerEnd
}

/** The drive of whatever has nothing to drive. */
export const noDrive: DriveRule = { isMoving: false, currentA: () => 0 }

/** A block without resistance would make two capacities one; this much is below anything measurable. */
export const LEAST_BLOCK_K_PER_W = 1e-6
