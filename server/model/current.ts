/** Which current a drive chooses: the coldest, or the smallest that reaches a target (model section 5, `drive`). */

import { type Coolant, conductance } from './fan.ts'
import { ZERO_C_IN_K } from './humidity.ts'
import { emptyPlatePoint, solvePlate, type Thermoelectric } from './thermoelectric.ts'

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

/**
 * dT_plate/dQ while the current keeps the coolant, and with it Q_out and Th, where they are. The heat then moves
 * the current by the equation of `currentNodes`, and the plate by Q_out = N(α i Th + i²R/2 − K(Th − Tc)).
 */
export function slopeAlongNode(plate: Thermoelectric, currentA: number, hotC: number, outW: number): number {
  const { modules, seebeckVPerK: alpha, resistanceOhm, conductanceWPerK } = plate
  const hotK = hotC + ZERO_C_IN_K
  const square = alpha * alpha * hotK + resistanceOhm * conductanceWPerK
  const perAmpere = modules * currentA * (2 * square + 1.5 * resistanceOhm * alpha * currentA) - alpha * outW
  return (alpha * hotK + currentA * resistanceOhm) / perAmpere
}

const scratch = emptyPlatePoint()
const scratchNodes: number[] = []

/** A current with the plate temperature that it gives. */
export interface CurrentChoice {
  currentA: number
  plateC: number
  /** The current is one that keeps the coolant at a bend of the fan table: it follows the heat along that bend. */
  atNode: boolean
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

/**
 * Extra looks inside each smooth stretch where a fan table bends the curve; a constant radiator needs none. A
 * table that falls may make the coolant jump, which takes closer looking.
 */
const INNER_LOOKS = 1
const FALLING_LOOKS = 12

/** How near to a node, as a part of the stretch, the slope on one side of it is taken. */
const BESIDE_NODE = 1e-9

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
  out.atNode = false
  if (scratch.plateC <= targetC || !(limitA > 0)) return
  const nodes = scratchNodes
  currentNodes(plate, coolant, limitA, heatW, nodes)
  const looks = coolant.constant ? 0 : coolant.falling ? FALLING_LOOKS : INNER_LOOKS
  let leftA = 0
  let leftC = scratch.plateC
  for (let index = 1; index < nodes.length; index++) {
    const startA = nodes[index - 1] as number
    const endA = nodes[index] as number
    if (!(endA > startA)) continue
    // At a node the two sides differ: the slopes that count in a stretch are those just inside it.
    const besideA = coolant.constant ? 0 : BESIDE_NODE * (endA - startA)
    let leftSlope = slopeAt(plate, coolant, heatW, startA + besideA)
    for (let look = 0; look <= looks; look++) {
      const rightA = look === looks ? endA : startA + ((endA - startA) * (look + 1)) / (looks + 1)
      solvePlate(plate, coolant, rightA, heatW, scratch)
      const rightC = scratch.plateC
      const rightSlope =
        look === looks && besideA > 0 ? slopeAt(plate, coolant, heatW, endA - besideA) : scratch.currentSlope
      const dipA = dipBetween(plate, coolant, heatW, leftA, leftC, leftSlope, rightA, rightC, rightSlope)
      if (dipA > leftA) {
        solvePlate(plate, coolant, dipA, heatW, scratch)
        if (scratch.plateC <= targetC) {
          crossingCurrent(plate, coolant, heatW, targetC, leftA, dipA, out)
          return
        }
        if (scratch.plateC < out.plateC) {
          out.currentA = dipA
          out.plateC = scratch.plateC
          out.atNode = false
        }
      }
      if (rightC <= targetC) {
        crossingCurrent(plate, coolant, heatW, targetC, leftA, rightA, out)
        return
      }
      if (rightC < out.plateC) {
        out.currentA = rightA
        out.plateC = rightC
        out.atNode = look === looks && index < nodes.length - 1
      }
      leftA = rightA
      leftC = rightC
      leftSlope = rightSlope
    }
  }
}

function slopeAt(plate: Thermoelectric, coolant: Coolant, heatW: number, currentA: number): number {
  solvePlate(plate, coolant, currentA, heatW, scratch)
  return scratch.currentSlope
}

/**
 * A current between two looks at which the plate is coldest: where the slope turns upward, or just before the
 * coolant jumps to a warmer answer. The left current where there is neither. An infinite plate lies beyond
 * every minimum; its slope counts as rising.
 */
function dipBetween(
  plate: Thermoelectric,
  coolant: Coolant,
  heatW: number,
  leftA: number,
  leftC: number,
  leftSlope: number,
  rightA: number,
  rightC: number,
  rightSlope: number,
): number {
  if (!(leftSlope < 0)) return leftA
  if (!(rightSlope < 0)) return turningCurrent(plate, coolant, heatW, leftA, leftSlope, rightA, rightSlope)
  if (rightC <= leftC) return leftA
  let low = leftA
  let high = rightA
  for (let round = 0; round < 60; round++) {
    const middle = (low + high) / 2
    solvePlate(plate, coolant, middle, heatW, scratch)
    if (scratch.plateC <= leftC && scratch.currentSlope < 0) low = middle
    else high = middle
  }
  return low
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
  let side = 0
  for (let round = 0; round < 100 && high - low > 1e-11 * (1 + high); round++) {
    const weight = Number.isFinite(highValue) && round % 8 !== 7 ? lowValue / (lowValue - highValue) : 0.5
    const middle = low + weight * (high - low)
    if (!(middle > low && middle < high)) return weight > 0.5 ? high : low
    const value = slopeAt(plate, coolant, heatW, middle)
    if (value === 0) return middle
    if (value < 0) {
      low = middle
      lowValue = value
      if (side < 0) highValue /= 2
      side = -1
    } else {
      high = middle
      highValue = value
      if (side > 0) lowValue /= 2
      side = 1
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
  let side = 0
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
      if (side > 0) lowValue /= 2
      side = 1
    } else {
      low = middle
      lowValue = value
      if (side < 0) highValue /= 2
      side = -1
    }
  }
  out.currentA = high
  // The regime holds the plate at the target; the rest of the distance is rounding.
  out.plateC = targetC
}
