/** Everything about a cooler at one heat, for the final figures rather than for the search (model section 5). */

import { type CurrentChoice, coldestCurrent, reachingCurrent } from './current.ts'
import { evaluate, type PlateCurve } from './curve.ts'
import { dutyAt, type RadiatorLaw } from './fan.ts'
import { electricalInput, emptyPlatePoint, solvePlate, type Thermoelectric } from './thermoelectric.ts'
import type { FanPoint, PlateNotes } from './types.ts'

export interface CoolerState {
  readonly plateC: number
  readonly coolantC: number
  /** The duty of the profile's fan table at the coolant's temperature, whether or not a radiator depends on it. */
  readonly fanPct: number
  readonly driveA: number | null
  readonly driveW: number | null
  readonly hotC: number | null
  readonly coldestA: number | null
  readonly coldestPlateC: number | null
  readonly plate: PlateNotes | null
  /** The duty lies below the radiator's lowest point, whose resistance is then used. */
  readonly fanBelowData: boolean
}

const choice: CurrentChoice = { currentA: 0, plateC: 0, atNode: false }
const coldest: CurrentChoice = { currentA: 0, plateC: 0, atNode: false }
const point = emptyPlatePoint()

/** Current in A that the drive gives a thermoelectric plate at a heat; 0 for every other cooler. */
export function driveCurrentA(curve: PlateCurve, heatW: number): number {
  switch (curve.kind) {
    case 'fixed':
      return curve.currentA
    case 'coldest':
      evaluate(curve, heatW)
      return curve.currentA
    case 'target': {
      if (heatW <= curve.idleToW) return 0
      if (heatW > curve.heldToW) return driveCurrentA(curve.coldest, heatW)
      const { plate, coolant, limitA } = curve.coldest
      reachingCurrent(plate, coolant, limitA, heatW, curve.targetC, choice)
      return choice.currentA
    }
    default:
      return 0
  }
}

/**
 * The cooler's figures at a heat.
 *
 * @param fan the profile's fan table
 * @param radiator undefined for `chilled`
 * @param limitA the drive current, up to which the coldest current is looked for
 */
export function coolerState(
  curve: PlateCurve,
  fan: readonly FanPoint[],
  radiator: RadiatorLaw | undefined,
  limitA: number,
  heatW: number,
): CoolerState {
  evaluate(curve, heatW)
  const plateC = curve.plateC
  const none = { driveA: null, driveW: null, hotC: null, coldestA: null, coldestPlateC: null, plate: null }
  if (curve.kind === 'chilled') {
    const { coolantC, capacityW, beyondKPerW } = curve.cooler
    const beyondW = Math.max(0, heatW - capacityW)
    return {
      plateC,
      coolantC: coolantC + beyondKPerW * beyondW,
      fanPct: dutyAt(fan, coolantC + beyondKPerW * beyondW),
      fanBelowData: false,
      ...none,
    }
  }
  if (curve.kind === 'loop') {
    const coolantC = plateC - curve.blockKPerW * heatW
    return { plateC, coolantC, ...fanState(fan, radiator, coolantC), ...none }
  }
  const { plate, coolant } = curve.kind === 'target' ? curve.coldest : curve
  const driveA = driveCurrentA(curve, heatW)
  solvePlate(plate, coolant, driveA, heatW, point)
  const { coolantC, hotC } = point
  const driveW = electricalInput(plate, driveA, point.plateC, hotC)
  if (curve.kind === 'fixed') coldestCurrent(plate, coolant, limitA, heatW, coldest)
  else {
    const known = curve.kind === 'target' ? curve.coldest : curve
    evaluate(known, heatW)
    coldest.currentA = known.currentA
    coldest.plateC = known.plateC
  }
  return {
    plateC,
    coolantC,
    ...fanState(fan, radiator, coolantC),
    driveA,
    driveW,
    hotC,
    coldestA: coldest.currentA,
    coldestPlateC: coldest.plateC,
    plate: plateNotes(plate, curve.kind === 'target' ? curve.targetC : null, driveA, plateC, hotC),
  }
}

function plateNotes(
  plate: Thermoelectric,
  targetC: number | null,
  driveA: number,
  plateC: number,
  hotC: number,
): PlateNotes {
  const { modules, seebeckVPerK, resistanceOhm, conductanceWPerK } = plate
  return {
    flowingA: driveA,
    boundBy: 'none',
    targetC,
    isTargetMissed: targetC !== null && plateC > targetC + 1e-6,
    supplyA: driveA,
    supplyV: modules * (seebeckVPerK * (hotC - plateC) + driveA * resistanceOhm),
    leadsW: 0,
    leakW: 0,
    meanC: (plateC + hotC) / 2,
    seebeckVPerK,
    resistanceOhm,
    conductanceWPerK,
    smoothPlateC: plateC,
  }
}

function fanState(
  fan: readonly FanPoint[],
  radiator: RadiatorLaw | undefined,
  coolantC: number,
): { fanPct: number; fanBelowData: boolean } {
  const fanPct = dutyAt(fan, coolantC)
  return { fanPct, fanBelowData: radiator !== undefined && fanPct < radiator.lowDutyPct * (1 - 1e-9) }
}
