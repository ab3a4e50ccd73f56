/**
 * Plate temperature as a function of the heat put into the plate (model section 5), prepared for one bench in
 * one corner. Besides value and slope a curve gives a lower bound on its slope between two heats: that is
 * what lets the balance solver step forward without ever passing a root.
 */

import { type CurrentChoice, coldestCurrent, slopeAlongNode } from './current.ts'
import {
  type Coolant,
  type CoolantPiece,
  heatSlope,
  prepareCoolant,
  radiatorLaw,
  solveCoolant,
  solvedPiece,
} from './fan.ts'
import { wetPointC, ZERO_C_IN_K } from './humidity.ts'
import { bends, cutStretches, type Stretch } from './stretches.ts'
import { emptyPlatePoint, type PlatePoint, solvePlate, type Thermoelectric } from './thermoelectric.ts'
import type { ChilledCooler, Cooler, Corner, FanPoint, Profile } from './types.ts'

interface CurveBase {
  /** Value and slope of the last `evaluate`, kept here so that the solvers allocate nothing. */
  plateC: number
  slopeKPerW: number
  /** One straight line: value = `lineC` + `lineKPerW` · heat. */
  readonly linear: boolean
  readonly lineC: number
  readonly lineKPerW: number
  /** The slope never falls: Newton's method from below is exact on the whole curve. */
  readonly convex: boolean
  /** No slope is steeper than this; Infinity where the curve jumps. */
  readonly slopeCap: number
}

/** Radiator and block alone, kinds `loop` and `air`. */
export interface LoopCurve extends CurveBase {
  readonly kind: 'loop'
  readonly coolant: Coolant
  readonly blockKPerW: number
  readonly stretches: readonly Stretch[]
}

export interface ChilledCurve extends CurveBase {
  readonly kind: 'chilled'
  readonly cooler: ChilledCooler
}

/** Thermoelectric plate at one current. */
export interface FixedCurve extends CurveBase {
  readonly kind: 'fixed'
  readonly plate: Thermoelectric
  readonly coolant: Coolant
  readonly currentA: number
  readonly stretches: readonly Stretch[]
  readonly point: PlatePoint
}

/** Thermoelectric plate at the current that makes it coldest for each heat. */
export interface ColdestCurve extends CurveBase {
  readonly kind: 'coldest'
  readonly plate: Thermoelectric
  readonly coolant: Coolant
  readonly limitA: number
  /** A slope that no current and no coolant temperature can undercut. */
  readonly slopeFloor: number
  /** Current of the last evaluation. */
  currentA: number
  /** Answers by heat: a search for the coldest current is dear, and the same heats come up again. */
  readonly known: Map<number, ColdestPlate>
}

/** The coldest plate at one heat. */
interface ColdestPlate {
  readonly currentA: number
  readonly plateC: number
  readonly slopeKPerW: number
}

/** So many answers are kept; then all are forgotten, since the heats of a new search are others. */
const ANSWERS_KEPT = 512

const coldestPoint: PlatePoint = emptyPlatePoint()
const coldestChoice: CurrentChoice = { currentA: 0, plateC: 0, atNode: false }

/** Thermoelectric plate driven to a target: warm without current, then held at the target, then as cold as can be. */
export interface TargetCurve extends CurveBase {
  readonly kind: 'target'
  readonly targetC: number
  /** Up to this heat the plate is at or below the target without current. */
  readonly idleToW: number
  /** Up to this heat some current reaches the target. */
  readonly heldToW: number
  readonly idle: FixedCurve
  readonly coldest: ColdestCurve
}

export type PlateCurve = LoopCurve | ChilledCurve | FixedCurve | ColdestCurve | TargetCurve

/** What a curve is until more is known of it. */
const bent = { plateC: 0, slopeKPerW: 0, linear: false, lineC: 0, lineKPerW: 0, convex: false, slopeCap: Infinity }

/**
 * The curve of a bench's cooler under its profile's fan table and drive, in one corner.
 *
 * @param sibling the curve of the same bench in air of the same temperature: it differs at most in its target
 */
export function prepareCurve(
  cooler: Cooler,
  profile: Pick<Profile, 'fan' | 'drive'>,
  corner: Corner,
  sibling?: PlateCurve,
): PlateCurve {
  const { drive } = profile
  if (sibling !== undefined) {
    if (sibling.kind !== 'target' || drive.kind !== 'dew') return sibling
    return targetCurve(sibling.idle, sibling.coldest, wetPointC(corner.airC, corner.humidityPct) + drive.marginK)
  }
  if (cooler.kind === 'chilled') {
    const slope = cooler.blockResistanceKPerW
    const slopeCap = slope + cooler.beyondKPerW
    return { kind: 'chilled', cooler, ...bent, convex: cooler.beyondKPerW >= 0, slopeCap }
  }
  const coolant = prepareCoolant(radiatorLaw(cooler.radiator), profile.fan as readonly FanPoint[], corner.airC)
  if (cooler.kind !== 'thermoelectric') return loopCurve(coolant, cooler.blockResistanceKPerW)
  if (drive.kind === 'full') return fixedCurve(cooler, coolant, cooler.driveCurrentA)
  if (drive.kind === 'off') return fixedCurve(cooler, coolant, 0)
  if (drive.kind === 'fixed') return fixedCurve(cooler, coolant, Math.min(drive.currentA, cooler.driveCurrentA))
  if (drive.kind !== 'hold' && drive.kind !== 'dew') {
    throw new RangeError(`The drive ${drive.kind} is not yet predicted.`)
  }
  const targetC =
    drive.kind === 'hold' ? drive.temperatureC : wetPointC(corner.airC, corner.humidityPct) + drive.marginK
  return targetCurve(fixedCurve(cooler, coolant, 0), coldestCurve(cooler, coolant, cooler.driveCurrentA), targetC)
}

function loopCurve(coolant: Coolant, blockKPerW: number): LoopCurve {
  const stretches = cutStretches(coolant, 1, 0, 1, 0, (_heatW, piece, overAirK) => {
    return 1 / heatSlope(piece, overAirK) + blockKPerW
  })
  const curve: LoopCurve = { kind: 'loop', coolant, blockKPerW, stretches, ...bent, ...bends(coolant, stretches) }
  return straightened(curve)
}

export function fixedCurve(plate: Thermoelectric, coolant: Coolant, currentA: number): FixedCurve {
  const pumped = plate.seebeckVPerK * currentA
  const sum = pumped + plate.conductanceWPerK
  const perKelvin = (plate.modules * pumped * pumped) / sum
  const gain = 1 - plate.blockResistanceKPerW * perKelvin
  const joule = (currentA * currentA * plate.resistanceOhm) / 2
  const atNoHeat =
    (plate.modules * joule * (pumped + 2 * plate.conductanceWPerK)) / sum + perKelvin * (coolant.airC + ZERO_C_IN_K)
  const point = emptyPlatePoint()
  const stretches =
    gain > 0
      ? cutStretches(coolant, gain, perKelvin, plate.conductanceWPerK / sum, atNoHeat, (_heatW, piece, overAirK) => {
          const coolantSlope = plate.conductanceWPerK / sum / (gain * heatSlope(piece, overAirK) - perKelvin)
          const outSlope = (plate.conductanceWPerK / sum + perKelvin * coolantSlope) / gain
          const hotSlope = coolantSlope + plate.blockResistanceKPerW * outSlope
          return (1 / plate.modules + plate.conductanceWPerK * hotSlope) / sum
        })
      : []
  const shape = bends(coolant, stretches)
  const curve: FixedCurve = { kind: 'fixed', plate, coolant, currentA, stretches, point, ...bent, ...shape }
  return straightened(curve)
}

/** The curve with its line noted, where it is one line. */
function straightened<C extends LoopCurve | FixedCurve>(curve: C): C {
  const only = curve.stretches[0]
  if (!curve.coolant.constant || curve.stretches.length !== 1 || only === undefined) return curve
  evaluate(curve, 0)
  return { ...curve, linear: true, lineC: curve.plateC, lineKPerW: only.slopeStart }
}

function coldestCurve(plate: Thermoelectric, coolant: Coolant, limitA: number): ColdestCurve {
  const k = plate.conductanceWPerK
  const pumped = plate.seebeckVPerK * limitA
  let steepest = 0
  for (const piece of coolant.pieces) {
    steepest = Math.max(steepest, heatSlope(piece, piece.startK))
    if (Number.isFinite(piece.endK)) steepest = Math.max(steepest, heatSlope(piece, piece.endK))
  }
  // dTc/dQ = (1/N + K²/((s + K)/θ − N s²))/(s + K) with s = αi and θ = 1/(d Q_out/d T_cool) + θ_block: the
  // smallest θ, the largest bracket and the largest s bound it from below.
  const theta = 1 / steepest + plate.blockResistanceKPerW
  const vertex = Math.min(pumped, 1 / (2 * plate.modules * theta))
  const bracket = (vertex + k) / theta - plate.modules * vertex * vertex
  return {
    kind: 'coldest',
    plate,
    coolant,
    limitA,
    slopeFloor: (1 / plate.modules + (k * k) / bracket) / (pumped + k),
    currentA: 0,
    known: new Map(),
    ...bent,
  }
}

function targetCurve(idle: FixedCurve, coldest: ColdestCurve, targetC: number): TargetCurve {
  const idleToW = heatAt(idle, 0, targetC)
  const heldToW = Math.max(idleToW, heatAt(coldest, 0, targetC))
  return { kind: 'target', targetC, idleToW, heldToW, idle, coldest, ...bent }
}

/** Puts plate temperature and slope at a heat into the curve; both Infinity where no sound solution exists. */
export function evaluate(curve: PlateCurve, heatW: number): void {
  if (curve.linear) {
    curve.plateC = curve.lineC + curve.lineKPerW * heatW
    curve.slopeKPerW = curve.lineKPerW
    return
  }
  switch (curve.kind) {
    case 'loop': {
      const overAirK = solveCoolant(curve.coolant, 1, 0, heatW)
      curve.plateC = curve.coolant.airC + overAirK + curve.blockKPerW * heatW
      curve.slopeKPerW = 1 / heatSlope(curve.coolant.pieces[solvedPiece] as CoolantPiece, overAirK) + curve.blockKPerW
      return
    }
    case 'chilled': {
      const { coolantC, capacityW, beyondKPerW, blockResistanceKPerW } = curve.cooler
      const beyondW = Math.max(0, heatW - capacityW)
      curve.plateC = coolantC + beyondKPerW * beyondW + blockResistanceKPerW * heatW
      curve.slopeKPerW = blockResistanceKPerW + (heatW >= capacityW ? beyondKPerW : 0)
      return
    }
    case 'fixed': {
      solvePlate(curve.plate, curve.coolant, curve.currentA, heatW, curve.point)
      curve.plateC = curve.point.plateC
      curve.slopeKPerW = curve.point.slopeKPerW
      return
    }
    case 'coldest': {
      const { currentA, plateC, slopeKPerW } = coldestPlate(curve, heatW)
      curve.currentA = currentA
      curve.plateC = plateC
      curve.slopeKPerW = slopeKPerW
      return
    }
    case 'target': {
      if (heatW > curve.idleToW && heatW <= curve.heldToW) {
        curve.plateC = curve.targetC
        curve.slopeKPerW = 0
        return
      }
      const part = heatW <= curve.idleToW ? curve.idle : curve.coldest
      evaluate(part, heatW)
      curve.plateC = part.plateC
      curve.slopeKPerW = part.slopeKPerW
    }
  }
}

/** The coldest plate at a heat, searched for or known. */
function coldestPlate(curve: ColdestCurve, heatW: number): ColdestPlate {
  const before = curve.known.get(heatW)
  if (before !== undefined) return before
  const { plate, coolant, limitA, known } = curve
  coldestCurrent(plate, coolant, limitA, heatW, coldestChoice)
  const { currentA, atNode } = coldestChoice
  solvePlate(plate, coolant, currentA, heatW, coldestPoint)
  const { plateC, hotC, outW } = coldestPoint
  const slopeKPerW = atNode ? slopeAlongNode(plate, currentA, hotC, outW) : coldestPoint.slopeKPerW
  if (known.size >= ANSWERS_KEPT) known.clear()
  const found = { currentA, plateC, slopeKPerW }
  known.set(heatW, found)
  return found
}

/** No slope of the curve between the two heats is smaller than this. Upward jumps are left out: they only help. */
export function slopeLow(curve: PlateCurve, fromW: number, toW: number): number {
  switch (curve.kind) {
    case 'chilled':
      return curve.cooler.blockResistanceKPerW + Math.min(0, curve.cooler.beyondKPerW) + lateSlope(curve, fromW)
    case 'loop':
    case 'fixed':
      return stretchLow(curve, fromW, toW)
    case 'coldest':
      return coldestLow(curve, fromW, toW)
    case 'target': {
      if (fromW < curve.heldToW && toW > curve.idleToW) return 0
      return toW <= curve.idleToW ? stretchLow(curve.idle, fromW, toW) : coldestLow(curve.coldest, fromW, toW)
    }
  }
}

function lateSlope(curve: ChilledCurve, fromW: number): number {
  return fromW >= curve.cooler.capacityW ? Math.max(0, curve.cooler.beyondKPerW) : 0
}

function stretchLow(curve: LoopCurve | FixedCurve, fromW: number, toW: number): number {
  let low = Number.POSITIVE_INFINITY
  for (const stretch of curve.stretches) {
    if (stretch.endW <= fromW) continue
    if (stretch.startW >= toW) break
    let slope: number
    if (stretch.slopeStart === stretch.slopeEnd) {
      slope = stretch.slopeStart
    } else if (stretch.convex) {
      slope = fromW > stretch.startW ? slopeAt(curve, fromW) : stretch.slopeStart
    } else {
      slope = toW < stretch.endW ? slopeAt(curve, toW) : stretch.slopeEnd
    }
    if (slope < low) low = slope
  }
  return low
}

function slopeAt(curve: PlateCurve, heatW: number): number {
  evaluate(curve, heatW)
  return curve.slopeKPerW
}

/**
 * The coldest plate over a constant radiator is the lowest of many straight lines, hence concave: its slope is
 * smallest at the right end. Under a fan table the provable floor is coarse; over a short run the
 * measured end slopes, less their difference once more, stand in.
 */
function coldestLow(curve: ColdestCurve, fromW: number, toW: number): number {
  const right = slopeAt(curve, toW)
  if (curve.coolant.constant) return right
  if (toW - fromW > 0.5 + 0.01 * Math.abs(toW)) return curve.slopeFloor
  const left = slopeAt(curve, fromW)
  return Math.max(curve.slopeFloor, Math.min(left, right) - Math.abs(left - right))
}

/**
 * Largest heat with T_plate(Q) + `packageKPerW` · Q ≤ `temperatureC`: the curve with the package in series, read
 * backwards. Newton's steps inside a bracket; the curve may run level or jump.
 */
export function heatAt(curve: PlateCurve, packageKPerW: number, temperatureC: number): number {
  let low = Number.NEGATIVE_INFINITY
  let high = Number.POSITIVE_INFINITY
  let heat = 0
  let width = Number.POSITIVE_INFINITY
  let stalled = 0
  for (let round = 0; round < 300; round++) {
    evaluate(curve, heat)
    const gap = temperatureC - curve.plateC - packageKPerW * heat
    if (gap >= 0) low = heat
    else high = heat
    const slope = curve.slopeKPerW + packageKPerW
    let next = gap === Number.NEGATIVE_INFINITY ? Number.NaN : heat + gap / slope
    if (Math.abs(next - heat) <= 1e-14 * (1 + Math.abs(heat))) return next
    stalled = high - low < width / 2 ? 0 : stalled + 1
    width = Math.min(width, high - low)
    if (!(next > low && next < high) || (stalled > 4 && Number.isFinite(width))) {
      if (!Number.isFinite(low)) next = high > 0 ? -1 : high * 4 - 1
      else if (!Number.isFinite(high)) next = low < 1 ? 10 : low * 4
      else next = (low + high) / 2
      if (next <= low || next >= high) return low
      if (Math.abs(next) > 1e9) return next
    }
    heat = next
  }
  return low
}
