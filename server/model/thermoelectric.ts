/**
 * Thermoelectric modules between plate and block (model section 5).
 *
 * Per module Q = α i Tc − i²R/2 − K (Th − Tc), after Kraus, "Cooling of Electronic Equipment", in the
 * Mechanical Engineers' Handbook (Kutz). Temperatures in kelvin inside, °C at the border.
 */

import { type Coolant, type CoolantPiece, heatSlope, solveCoolant, solvedPiece } from './fan.ts'
import { ZERO_C_IN_K } from './humidity.ts'

/** The four numbers of a module's datasheet at the stated hot side. */
export interface ModuleDatasheet {
  readonly hotC: number
  /** I_max. */
  readonly currentA: number
  /** V_max. */
  readonly voltageV: number
  /** Q_max. */
  readonly heatW: number
  /** ΔT_max. */
  readonly differenceK: number
}

export interface ModuleConstants {
  readonly seebeckVPerK: number
  readonly resistanceOhm: number
  readonly conductanceWPerK: number
  /** The mean temperature that they hold at, of the datasheet's own state at its largest difference: Th0 − ΔT/2. */
  readonly meanC: number
  /** Printed Q_max over the one that the other three numbers give; far from 1 the sheet contradicts itself. */
  readonly heatRatio: number
}

/** A printed Q_max further from the computed one than this is `module-inconsistent`. */
export const HEAT_RATIO_TOLERANCE = 0.07

/**
 * α, R and K of one module from its datasheet: α = Vmax/Th0, R = (Vmax/Imax)(Th0 − ΔT)/Th0,
 * K = Vmax·Imax·(Th0 − ΔT)/(2·Th0·ΔT). Lineykin & Ben-Yaakov, IEEE Trans. Ind. Appl. 43(2), 2007.
 * Qmax should be Vmax·Imax·(Th0 + ΔT)/(2·Th0).
 */
export function moduleFromDatasheet(sheet: ModuleDatasheet): ModuleConstants {
  const hotK = sheet.hotC + ZERO_C_IN_K
  const coldK = hotK - sheet.differenceK
  const product = sheet.voltageV * sheet.currentA
  return {
    seebeckVPerK: sheet.voltageV / hotK,
    resistanceOhm: ((sheet.voltageV / sheet.currentA) * coldK) / hotK,
    conductanceWPerK: (product * coldK) / (2 * hotK * sheet.differenceK),
    meanC: sheet.hotC - sheet.differenceK / 2,
    heatRatio: sheet.heatW / ((product * (hotK + sheet.differenceK)) / (2 * hotK)),
  }
}

/** Heat in W that `modules` modules take from the plate at given plate and hot-side temperatures. */
export function heatTaken(plate: Thermoelectric, currentA: number, coldC: number, hotC: number): number {
  const { modules, seebeckVPerK, resistanceOhm, conductanceWPerK } = plate
  return (
    modules *
    (seebeckVPerK * currentA * (coldC + ZERO_C_IN_K) -
      (currentA * currentA * resistanceOhm) / 2 -
      conductanceWPerK * (hotC - coldC))
  )
}

/** Electrical input in W: N·(α i (Th − Tc) + i² R), exactly Q_out − Q; exactly 0 without current. */
export function electricalInput(plate: Thermoelectric, currentA: number, coldC: number, hotC: number): number {
  // Without current a colder hot side would give a negative zero.
  if (currentA === 0) return 0
  return plate.modules * currentA * (plate.seebeckVPerK * (hotC - coldC) + currentA * plate.resistanceOhm)
}

/** The module stack; a `ThermoelectricCooler` is one. */
export interface Thermoelectric {
  readonly modules: number
  readonly seebeckVPerK: number
  readonly resistanceOhm: number
  readonly conductanceWPerK: number
  readonly blockResistanceKPerW: number
}

/** What a plate does at one heat and one current; filled by `solvePlate`, so that a search allocates nothing. */
export interface PlatePoint {
  plateC: number
  coolantC: number
  hotC: number
  outW: number
  /** dT_plate/dQ at constant current, K/W. */
  slopeKPerW: number
  /** Has the sign of dT_plate/di at constant heat; zero at the coldest current. */
  currentSlope: number
}

export function emptyPlatePoint(): PlatePoint {
  return { plateC: 0, coolantC: 0, hotC: 0, outW: 0, slopeKPerW: 0, currentSlope: 0 }
}

/**
 * Plate temperature at heat Q and current i, with the coolant and the fan duty solved together; the lowest
 * coolant temperature counts. Where there is no sound solution, (αi + K)(αi − K − 1/(Nθ)) + K² ≥ 0,
 * `plateC` is Infinity. That condition is not tested apart: eliminating Tc leaves
 *
 *     Q_out · (1/N − θ α²i²/(αi + K)) = (α²i² T_air + i²R/2 (αi + 2K) + K Q/N) / (αi + K),
 *
 * whose right side is positive, so a solution with outward heat exists exactly where the condition holds.
 */
export function solvePlate(
  plate: Thermoelectric,
  coolant: Coolant,
  currentA: number,
  heatW: number,
  out: PlatePoint,
): void {
  const { modules, conductanceWPerK, blockResistanceKPerW } = plate
  const pumped = plate.seebeckVPerK * currentA
  const sum = pumped + conductanceWPerK
  const joule = (currentA * currentA * plate.resistanceOhm) / 2
  const perKelvin = (modules * pumped * pumped) / sum
  const gain = 1 - blockResistanceKPerW * perKelvin
  const airK = coolant.airC + ZERO_C_IN_K
  const drive = (modules * joule * (pumped + 2 * conductanceWPerK) + conductanceWPerK * heatW) / sum + perKelvin * airK
  const overAirK = gain > 0 && sum > 0 ? solveCoolant(coolant, gain, perKelvin, drive) : Number.POSITIVE_INFINITY
  if (!(overAirK < Number.POSITIVE_INFINITY)) {
    out.plateC = out.coolantC = out.hotC = out.outW = out.slopeKPerW = out.currentSlope = Number.POSITIVE_INFINITY
    return
  }
  const piece = coolant.pieces[solvedPiece] as CoolantPiece
  // Two expressions for the same heat; the first stays exact where no current flows.
  const outW = (drive + perKelvin * overAirK) / gain
  const hotOverAirK = overAirK + blockResistanceKPerW * outW
  const hotK = airK + hotOverAirK
  // Written as a difference from the hot side, so that air and Kelvin offsets cancel without loss at i = 0.
  const coldBelowHotK = (pumped * hotK - joule - heatW / modules) / sum
  const coldK = hotK - coldBelowHotK
  const heatPerK = heatSlope(piece, overAirK)
  const coolantSlope = conductanceWPerK / sum / (gain * heatPerK - perKelvin)
  const outSlope = (conductanceWPerK / sum + perKelvin * coolantSlope) / gain
  const hotSlope = coolantSlope + blockResistanceKPerW * outSlope
  out.plateC = coldK - ZERO_C_IN_K
  out.coolantC = coolant.airC + overAirK
  out.hotC = hotK - ZERO_C_IN_K
  out.outW = outW
  out.slopeKPerW = (1 / modules + conductanceWPerK * hotSlope) / sum
  const jouleSlope = currentA * plate.resistanceOhm
  const stiffness = 1 / (modules * (1 / heatPerK + blockResistanceKPerW)) + conductanceWPerK - pumped
  out.currentSlope =
    conductanceWPerK * (plate.seebeckVPerK * hotK + jouleSlope) - (plate.seebeckVPerK * coldK - jouleSlope) * stiffness
}

/**
 * The soundness test as it is written: (αi + K)(αi − K − 1/(Nθ)) + K² < 0 with θ = θ_rad + θ_block.
 * `solvePlate` needs no separate test; this one serves explanations and tests.
 */
export function isSound(plate: Thermoelectric, currentA: number, radiatorKPerW: number): boolean {
  const pumped = plate.seebeckVPerK * currentA
  const k = plate.conductanceWPerK
  const theta = radiatorKPerW + plate.blockResistanceKPerW
  return (pumped + k) * (pumped - k - 1 / (plate.modules * theta)) + k * k < 0
}
