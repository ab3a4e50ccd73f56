/** The model's equations at one steady point of a run, for the fit. */

import { prepareCurve } from '../../model/cooler/index.ts'
import type { CoolerCurve } from '../../model/cooler/kind.ts'
import { coreRiseKPerW, powerAt } from '../../model/power.ts'
import type { WorkLoad } from '../../model/prepare.ts'
import type { Bench, Cooler, Corner, Part, Profile } from '../../model/types.ts'
import { setVoltageRows, setVoltageV } from '../../model/voltage.ts'
import { kindOf } from '../../semantic/coolers/index.ts'
import type { Readings } from '../log/figures.ts'

/**
 * One steady point of a run in the model's equations: with the clock and the die voltage as they were measured, power and
 * temperatures follow from each other (model sections 3 to 6). What the controller does is not asked: a fit is about the
 * part and the cooler.
 */
export interface FitPoint {
  readonly run: string
  readonly bench: Bench
  readonly load: WorkLoad
  /** The run's own air. */
  readonly corner: Corner
  /** Standard uncertainty of that air. */
  readonly airUncertaintyK?: number
  readonly measured: Readings
}

/** Figures as the model gives them for a point. */
export interface PointFigures {
  readonly voltageV: number
  readonly powerW: number
  readonly currentA: number
  readonly dieC: number
  readonly plateC: number
  readonly coolantC: number
}

/** What of the cooler is taken as measured, where it was, rather than predicted. */
export type CoolerSide = 'predicted' | 'as-measured'

/** Readings that go into the equations; moved by a little to learn what their uncertainty does. */
export interface PointInputs {
  readonly clockGhz: number
  /** Undefined where it was not measured: then the profile's set voltage behind the load line. */
  readonly voltageV: number | undefined
  readonly airC: number
  readonly plateC: number | undefined
  readonly coolantC: number | undefined
}

export function inputsOf({ measured, corner }: FitPoint): PointInputs | undefined {
  const { clock, voltage, plate, coolant } = measured
  if (clock === undefined) return undefined
  return {
    clockGhz: clock.value,
    voltageV: voltage?.value,
    airC: corner.airC,
    plateC: plate?.value,
    coolantC: coolant?.value,
  }
}

/** Above this there is no balance: thermal runaway. */
const RUNAWAY_C = 400
const ROUNDS = 80
const STILL_K = 1e-10

/** Plate temperature and its slope over the heat; filled by `plateAt`. */
const plate = { plateC: 0, slopeKPerW: 0 }

function plateAt(
  cooler: Cooler,
  curve: CoolerCurve | undefined,
  inputs: PointInputs,
  side: CoolerSide,
  heatW: number,
): void {
  const overCoolant = kindOf(cooler).plateToCoolantKPerW(cooler)
  if (side === 'as-measured' && inputs.plateC !== undefined) {
    plate.plateC = inputs.plateC
    plate.slopeKPerW = 0
  } else if (side === 'as-measured' && inputs.coolantC !== undefined && overCoolant !== undefined) {
    plate.plateC = inputs.coolantC + overCoolant * heatW
    plate.slopeKPerW = overCoolant
  } else curve?.evaluate(heatW, plate)
}

/** Curves by their cooler, profile and air; evicted with the cooler, which a fit replaces whenever it moves a constant of it. */
const curves = new WeakMap<Cooler, Map<string, CoolerCurve>>()

/** What of a profile a curve rests on; evicted with the profile. */
const profileKeys = new WeakMap<Profile, string>()

function profileKey(profile: Profile): string {
  let key = profileKeys.get(profile)
  if (key === undefined) {
    key = JSON.stringify([profile.fan, profile.drive])
    profileKeys.set(profile, key)
  }
  return key
}

function curveOf(cooler: Cooler, point: FitPoint, airC: number): CoolerCurve {
  let known = curves.get(cooler)
  if (known === undefined) {
    known = new Map()
    curves.set(cooler, known)
  }
  const { profile } = point.bench
  const key = `${airC} ${point.corner.humidityPct} ${profileKey(profile)}`
  let curve = known.get(key)
  if (curve === undefined) {
    curve = prepareCurve(cooler, profile, { ...point.corner, airC })
    known.set(key, curve)
  }
  return curve
}

/**
 * Power and temperatures of a point with these constants.
 * @returns undefined where the constants make no sense or no balance exists
 */
export function pointFigures(
  point: FitPoint,
  part: Part,
  cooler: Cooler,
  side: CoolerSide,
  inputs: PointInputs,
): PointFigures | undefined {
  const { board, profile } = point.bench
  const ratio = inputs.clockGhz / part.referenceGhz
  const isMeasured = inputs.voltageV !== undefined
  const setV = inputs.voltageV ?? setVoltageV(setVoltageRows(part, profile.voltage), board, ratio)
  const loadLine = isMeasured ? 0 : board.loadLineOhm
  const growth = Math.LN2 / part.leakageDoublingK
  const perCore = coreRiseKPerW(part, point.load)
  const needsCurve =
    side === 'predicted' ||
    (inputs.plateC === undefined &&
      (inputs.coolantC === undefined || kindOf(cooler).plateToCoolantKPerW(cooler) === undefined))
  const curve = needsCurve ? curveOf(cooler, point, inputs.airC) : undefined
  let dieC = point.measured.die?.value ?? 60
  for (let round = 0; round < ROUNDS; round++) {
    const power = powerAt(part, point.load, setV, loadLine, ratio, dieC)
    if (!(power.powerW >= 0)) return undefined
    plateAt(cooler, curve, inputs, side, power.powerW)
    const right = plate.plateC + part.packageResistanceKPerW * power.powerW + perCore * power.dynamicW
    const slope = (plate.slopeKPerW + part.packageResistanceKPerW) * growth * power.leakageW
    const step = (right - dieC) / (1 - Math.min(slope, 0.95))
    if (!Number.isFinite(step)) return undefined
    if (Math.abs(step) <= STILL_K) {
      const { plateC } = plate
      const { voltageV, powerW, currentA } = power
      return { voltageV, powerW, currentA, dieC, plateC, coolantC: coolantOf(point, cooler, curve, powerW, plateC) }
    }
    dieC += step
    if (!(dieC < RUNAWAY_C) || dieC < -273) return undefined
  }
  return undefined
}

function coolantOf(
  point: FitPoint,
  cooler: Cooler,
  curve: CoolerCurve | undefined,
  heatW: number,
  plateC: number,
): number {
  if (point.measured.coolant === undefined || curve === undefined) return Number.NaN
  const overCoolant = kindOf(cooler).plateToCoolantKPerW(cooler)
  return overCoolant === undefined ? curve.figuresAt(heatW).coolantC : plateC - overCoolant * heatW
}
