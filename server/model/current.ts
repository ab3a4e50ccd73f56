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
