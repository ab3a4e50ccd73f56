/**
 * Thermoelectric modules between plate and block (model section 5).
 *
 * Per module Q = α i Tc − i²R/2 − K (Th − Tc), after Kraus, "Cooling of Electronic Equipment", in the
 * Mechanical Engineers' Handbook (Kutz). Temperatures in kelvin inside, °C at the border.
 */

import { type Coolant, type CoolantPiece, conductance, heatSlope, solveCoolant, solvedPiece } from './fan.ts'
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

/**
 * Fills `nodes` with rising currents in [0, `limitA`] between which the plate's temperature over current is
 * smooth: the ends and the currents at which the coolant passes from one stretch of its table to the next.
 * For a given heat and a given coolant temperature those solve
 *
 *     N((α²Th + RK) i² + Rα i³/2) − α Q_out i + K (Q − Q_out) = 0,
 *
 * convex in i > 0, so Newton's steps from either side reach its at most two roots.
 */
export function currentNodes(
  plate: Thermoelectric,
  coolant: Coolant,
  limitA: number,
  heatW: number,
  nodes: number[],
): void {
  nodes.length = 0
  nodes.push(0, limitA)
  if (coolant.constant) return
  const { modules, seebeckVPerK: alpha, resistanceOhm, conductanceWPerK } = plate
  for (const piece of coolant.pieces) {
    if (!Number.isFinite(piece.endK)) continue
    const outW = piece.endK * conductance(piece, piece.endK)
    const hotK = coolant.airC + ZERO_C_IN_K + piece.endK + plate.blockResistanceKPerW * outW
    const square = modules * (alpha * alpha * hotK + resistanceOhm * conductanceWPerK)
    const cube = (modules * resistanceOhm * alpha) / 2
    const linear = -alpha * outW
    const constant = conductanceWPerK * (heatW - outW)
    for (const from of constant > 0 ? [0, limitA] : [limitA]) {
      const root = convexCubicRoot(cube, square, linear, constant, from)
      if (root > 0 && root < limitA) nodes.push(root)
    }
  }
  nodes.sort((a, b) => a - b)
}

/** Root of a cubic that is convex for positive arguments, reached from `start` where it is positive; NaN if none. */
function convexCubicRoot(cube: number, square: number, linear: number, constant: number, start: number): number {
  let x = start
  const side = start === 0 ? 1 : -1
  for (let round = 0; round < 80; round++) {
    const value = ((cube * x + square) * x + linear) * x + constant
    const slope = (3 * cube * x + 2 * square) * x + linear
    if (value < 0) return round === 0 ? Number.NaN : x
    const step = -value / slope
    // Running back over the minimum means that there is no root on this side.
    if (!(step * side > 0)) return value === 0 ? x : Number.NaN
    x += step
    if (Math.abs(step) < 1e-14 * (1 + Math.abs(x))) return x
  }
  return Number.NaN
}

const scratch = emptyPlatePoint()
const scratchNodes: number[] = []

/** A current with the plate temperature that it gives. */
export interface CurrentChoice {
  currentA: number
  plateC: number
}

/** The current in [0, `limitA`] that makes the plate coldest at this heat (the smallest such), and that temperature. */
export function coldestCurrent(
  plate: Thermoelectric,
  coolant: Coolant,
  limitA: number,
  heatW: number,
  out: CurrentChoice,
): void {
  searchCurrents(plate, coolant, limitA, heatW, Number.NEGATIVE_INFINITY, out)
}

/**
 * The smallest current in [0, `limitA`] at which the plate is at or below `targetC`; if no current reaches the
 * target, the coldest one (model section 5, `drive`).
 */
export function reachingCurrent(
  plate: Thermoelectric,
  coolant: Coolant,
  limitA: number,
  heatW: number,
  targetC: number,
  out: CurrentChoice,
): void {
  searchCurrents(plate, coolant, limitA, heatW, targetC, out)
}

/** Extra looks inside each smooth stretch where a fan table bends the curve; a constant radiator needs none. */
const INNER_LOOKS = 1

function searchCurrents(
  plate: Thermoelectric,
  coolant: Coolant,
  limitA: number,
  heatW: number,
  targetC: number,
  out: CurrentChoice,
): void {
  solvePlate(plate, coolant, 0, heatW, scratch)
  out.currentA = 0
  out.plateC = scratch.plateC
  if (scratch.plateC <= targetC || !(limitA > 0)) return
  const nodes = scratchNodes
  currentNodes(plate, coolant, limitA, heatW, nodes)
  let leftA = 0
  let leftSlope = scratch.currentSlope
  const looks = coolant.constant ? 0 : INNER_LOOKS
  for (let index = 1; index < nodes.length; index++) {
    const startA = nodes[index - 1] as number
    const endA = nodes[index] as number
    if (!(endA > startA)) continue
    if (index > 1) {
      // At a node the two sides differ; the slope that counts here is the one on the right.
      solvePlate(plate, coolant, startA + 1e-9 * (endA - startA), heatW, scratch)
      leftSlope = scratch.currentSlope
    }
    for (let look = 0; look <= looks; look++) {
      const rightA = look === looks ? endA : startA + ((endA - startA) * (look + 1)) / (looks + 1)
      solvePlate(plate, coolant, rightA, heatW, scratch)
      const rightC = scratch.plateC
      const rightSlope = scratch.currentSlope
      // An infinite plate lies beyond every minimum; its slope counts as rising.
      if (leftSlope < 0 && !(rightSlope < 0)) {
        const lowestA = turningCurrent(plate, coolant, heatW, leftA, leftSlope, rightA, rightSlope)
        solvePlate(plate, coolant, lowestA, heatW, scratch)
        if (scratch.plateC <= targetC) {
          crossingCurrent(plate, coolant, heatW, targetC, leftA, lowestA, out)
          return
        }
        if (scratch.plateC < out.plateC) {
          out.currentA = lowestA
          out.plateC = scratch.plateC
        }
      }
      if (rightC <= targetC) {
        crossingCurrent(plate, coolant, heatW, targetC, leftA, rightA, out)
        return
      }
      if (rightC < out.plateC) {
        out.currentA = rightA
        out.plateC = rightC
      }
      leftA = rightA
      leftSlope = rightSlope
    }
  }
}

/** Where `currentSlope` turns from negative to positive between two currents: Illinois steps, halving where they stall. */
function turningCurrent(
  plate: Thermoelectric,
  coolant: Coolant,
  heatW: number,
  fromA: number,
  fromSlope: number,
  toA: number,
  toSlope: number,
): number {
  let low = fromA
  let high = toA
  let lowValue = fromSlope
  let highValue = toSlope
  for (let round = 0; round < 100 && high - low > 1e-11 * (1 + high); round++) {
    const weight = Number.isFinite(highValue) && round % 8 !== 7 ? lowValue / (lowValue - highValue) : 0.5
    const middle = Math.min(Math.max(low + weight * (high - low), low), high)
    if (middle === low || middle === high) {
      if (highValue === 0) return high
      break
    }
    solvePlate(plate, coolant, middle, heatW, scratch)
    const value = scratch.currentSlope
    if (value === 0) return middle
    if (value < 0) {
      low = middle
      lowValue = value
      highValue /= 2
    } else {
      high = middle
      highValue = value
      lowValue /= 2
    }
  }
  return low
}

/** The current between two at which the plate passes the target downward, not above it by more than rounding. */
function crossingCurrent(
  plate: Thermoelectric,
  coolant: Coolant,
  heatW: number,
  targetC: number,
  fromA: number,
  toA: number,
  out: CurrentChoice,
): void {
  let low = fromA
  let high = toA
  solvePlate(plate, coolant, low, heatW, scratch)
  let lowValue = scratch.plateC - targetC
  solvePlate(plate, coolant, high, heatW, scratch)
  let highValue = scratch.plateC - targetC
  for (let round = 0; round < 100 && highValue < 0 && high - low > 1e-14 * (1 + high); round++) {
    const weight = Number.isFinite(lowValue) && round % 8 !== 7 ? lowValue / (lowValue - highValue) : 0.5
    const middle = low + weight * (high - low)
    if (!(middle > low && middle < high)) break
    solvePlate(plate, coolant, middle, heatW, scratch)
    const value = scratch.plateC - targetC
    if (value <= 0) {
      if (-value < 1e-13) {
        high = middle
        break
      }
      high = middle
      highValue = value
      lowValue /= 2
    } else {
      low = middle
      lowValue = value
      highValue /= 2
    }
  }
  out.currentA = high
  // The regime holds the plate at the target; the rest of the distance is rounding.
  out.plateC = targetC
}
