/** Fan duty, radiator resistance, and the coolant temperature that solves both together (model section 5). */

import type { FanPoint, RadiatorPoint } from './types.ts'

/** Duty of a fan that has no table. */
const FULL_DUTY_PCT = 100

/** Fan duty in percent at a coolant temperature: straight lines, flat outside, 100 % without a table. */
export function dutyAt(fan: readonly FanPoint[], coolantC: number): number {
  const first = fan[0]
  if (first === undefined) return FULL_DUTY_PCT
  if (coolantC <= first.coolantC) return first.dutyPct
  let low = first
  for (let index = 1; index < fan.length; index++) {
    const high = fan[index] as FanPoint
    if (coolantC < high.coolantC) {
      return low.dutyPct + ((high.dutyPct - low.dutyPct) * (coolantC - low.coolantC)) / (high.coolantC - low.coolantC)
    }
    low = high
  }
  return low.dutyPct
}

/** θ(u) = θ_ref · (u_ref/u)^m from `lowDutyPct` up; below it the resistance of that lowest point. */
export interface RadiatorLaw {
  readonly lowDutyPct: number
  readonly lowResistanceKPerW: number
  readonly refDutyPct: number
  readonly refResistanceKPerW: number
  /** m; 0 for a constant resistance. */
  readonly exponent: number
}

/** The power law through two radiator points, or the constant of one point. */
export function radiatorLaw(points: readonly RadiatorPoint[]): RadiatorLaw {
  const low = points[0]
  if (low === undefined) throw new RangeError('A radiator needs at least one point.')
  const high = points[points.length - 1] as RadiatorPoint
  const exponent =
    high.dutyPct > low.dutyPct && high.resistanceKPerW !== low.resistanceKPerW
      ? Math.log(low.resistanceKPerW / high.resistanceKPerW) / Math.log(high.dutyPct / low.dutyPct)
      : 0
  return {
    lowDutyPct: low.dutyPct,
    lowResistanceKPerW: low.resistanceKPerW,
    refDutyPct: high.dutyPct,
    refResistanceKPerW: high.resistanceKPerW,
    exponent,
  }
}

/** Radiator resistance in K/W at a duty in percent. */
export function radiatorResistance(law: RadiatorLaw, dutyPct: number): number {
  if (law.exponent === 0 || dutyPct <= law.lowDutyPct) return law.lowResistanceKPerW
  return law.refResistanceKPerW * (law.refDutyPct / dutyPct) ** law.exponent
}

/**
 * A stretch of coolant temperature on which the radiator's conductance is one formula. Temperatures count
 * from the air: y = T_cool − T_air. Either the conductance is constant (`exponent` 0) or it is
 * `scale` · u^`exponent` with u = `duty0` + `dutyPerK` · y. The stretches are cut so fine that the
 * radiated heat y · conductance is convex or concave on each.
 */
export interface CoolantPiece {
  readonly startK: number
  readonly endK: number
  readonly scale: number
  readonly exponent: number
  readonly duty0: number
  readonly dutyPerK: number
  readonly convex: boolean
  /** Conductance at the two ends, which every search on the stretch starts from. */
  readonly startConductance: number
  readonly endConductance: number
}

/** The radiator and its fan table in air of one temperature. */
export interface Coolant {
  readonly airC: number
  readonly pieces: readonly CoolantPiece[]
  /** One constant conductance everywhere. */
  readonly constant: boolean
  /** The conductance falls somewhere as the coolant warms, so several coolant temperatures may satisfy one heat. */
  readonly falling: boolean
}

/** Cuts radiator and fan table into the stretches of `CoolantPiece`. */
export function prepareCoolant(law: RadiatorLaw, fan: readonly FanPoint[], airC: number): Coolant {
  const pieces: CoolantPiece[] = []
  const first = fan[0]
  const last = fan[fan.length - 1]
  const start = { k: 0 }
  if (law.exponent !== 0 && first !== undefined && last !== undefined) {
    addPieces(pieces, law, start, first.coolantC - airC, first.dutyPct, 0)
    for (let index = 1; index < fan.length; index++) {
      const low = fan[index - 1] as FanPoint
      const high = fan[index] as FanPoint
      if (!(high.coolantC > low.coolantC)) continue
      const dutyPerK = (high.dutyPct - low.dutyPct) / (high.coolantC - low.coolantC)
      addPieces(pieces, law, start, high.coolantC - airC, low.dutyPct - dutyPerK * (low.coolantC - airC), dutyPerK)
    }
    addPieces(pieces, law, start, Number.POSITIVE_INFINITY, last.dutyPct, 0)
  } else {
    addPieces(pieces, law, start, Number.POSITIVE_INFINITY, last?.dutyPct ?? FULL_DUTY_PCT, 0)
  }
  let falling = false
  for (let index = 0; index < pieces.length; index++) {
    const piece = pieces[index] as CoolantPiece
    if (piece.exponent * piece.dutyPerK < 0) falling = true
    const next = pieces[index + 1]
    if (next && conductance(next, next.startK) < conductance(piece, piece.endK) * (1 - 1e-9)) falling = true
  }
  return { airC, pieces, constant: pieces.length === 1 && pieces[0]?.exponent === 0, falling }
}

/** Adds the stretch from `start.k` to `endK` with duty `duty0` + `dutyPerK` · y, cut where its formula or bend changes. */
function addPieces(
  pieces: CoolantPiece[],
  law: RadiatorLaw,
  start: { k: number },
  endK: number,
  duty0: number,
  dutyPerK: number,
): void {
  if (endK <= start.k) return
  const cuts = [endK]
  if (dutyPerK !== 0) {
    // The duty leaves the radiator's data here; below it the resistance of the lowest point stands.
    const leaves = (law.lowDutyPct - duty0) / dutyPerK
    // The second derivative of y·u^m changes its sign where 2u + (m − 1)·(du/dy)·y = 0.
    const bends = (-2 * duty0) / (dutyPerK * (law.exponent + 1))
    for (const cut of [leaves, bends]) if (cut > start.k && cut < endK) cuts.push(cut)
    cuts.sort((a, b) => a - b)
  }
  for (const cut of cuts) {
    const middle = Number.isFinite(cut) ? (start.k + cut) / 2 : start.k
    const duty = duty0 + dutyPerK * middle
    const previous = pieces[pieces.length - 1]
    const varies = law.exponent !== 0 && dutyPerK !== 0 && duty > law.lowDutyPct
    const curvature = law.exponent * dutyPerK * (2 * duty + (law.exponent - 1) * dutyPerK * middle)
    if (varies) {
      const scale = 1 / (law.refResistanceKPerW * law.refDutyPct ** law.exponent)
      const convex = curvature >= 0
      const at = (k: number) => scale * (duty0 + dutyPerK * k) ** law.exponent
      pieces.push({
        startK: start.k,
        endK: cut,
        scale,
        exponent: law.exponent,
        duty0,
        dutyPerK,
        convex,
        startConductance: at(start.k),
        endConductance: at(cut),
      })
    } else {
      const scale = 1 / radiatorResistance(law, duty)
      const joins = previous !== undefined && previous.exponent === 0 && previous.scale === scale
      if (joins) pieces.pop()
      const startK = joins ? previous.startK : start.k
      pieces.push({
        startK,
        endK: cut,
        scale,
        exponent: 0,
        duty0: 1,
        dutyPerK: 0,
        convex: true,
        startConductance: scale,
        endConductance: scale,
      })
    }
    start.k = cut
  }
}

/** Conductance 1/θ_rad in W/K on a stretch at `overAirK` above the air. */
export function conductance(piece: CoolantPiece, overAirK: number): number {
  if (piece.exponent === 0) return piece.scale
  return piece.scale * (piece.duty0 + piece.dutyPerK * overAirK) ** piece.exponent
}

/** d(y · conductance)/dy in W/K: how much more heat leaves per kelvin of warmer coolant. */
export function heatSlope(piece: CoolantPiece, overAirK: number): number {
  if (piece.exponent === 0) return piece.scale
  return conductance(piece, overAirK) * bend(piece, overAirK)
}

/** 1 + d ln(conductance)/d ln(y): the slope of the heat over its chord from the air. */
function bend(piece: CoolantPiece, overAirK: number): number {
  return 1 + (piece.exponent * piece.dutyPerK * overAirK) / (piece.duty0 + piece.dutyPerK * overAirK)
}

/** Where a coolant has come to: above the air, and on which stretch; none where the heat is more than it can give away. */
export interface CoolantPlace {
  overAirK: number
  piece: CoolantPiece | undefined
}

/**
 * Finds the lowest y = T_cool − T_air at which y · conductance(y) is the heat; Infinity where none is.
 *
 * On each stretch the left side is convex or concave, so Newton's steps from the proper side never pass a root: the
 * lowest is found even where a falling fan table makes several.
 */
export function solveCoolant(coolant: Coolant, heatW: number, out: CoolantPlace): void {
  const { pieces } = coolant
  const first = pieces[0] as CoolantPiece
  if (heatW <= 0) {
    out.overAirK = heatW / conductance(first, 0)
    out.piece = first
    return
  }
  for (const piece of pieces) {
    const found = overAirFor(piece, heatW)
    if (found <= piece.endK) {
      out.overAirK = found
      out.piece = piece
      return
    }
  }
  out.overAirK = Number.POSITIVE_INFINITY
  out.piece = undefined
}

/** The lowest y on a stretch whose heat is at least this; Infinity where none is. */
export function overAirFor(piece: CoolantPiece, heatW: number): number {
  // A table that jumps lets the heat leave already at the jump, which then is the answer.
  return piece.exponent === 0 ? Math.max(piece.startK, heatW / piece.scale) : overAirVarying(piece, heatW)
}

function overAirVarying(piece: CoolantPiece, heatW: number): number {
  const { startK, endK, convex } = piece
  const startHeat = startK * piece.startConductance
  if (startHeat >= heatW) return startK
  const endHeat = endK * piece.endConductance
  const crosses = endHeat >= heatW
  if (convex && !crosses) return Number.POSITIVE_INFINITY
  let y = convex ? endK : startK
  if (crosses) {
    // One step from where the chord meets the heat lands close to the root, on the side that Newton needs.
    const chord = startK + ((heatW - startHeat) / (endHeat - startHeat)) * (endK - startK)
    const share = conductance(piece, chord)
    const slope = share * bend(piece, chord)
    if (slope > 0) y = Math.min(endK, Math.max(startK, chord + (heatW - chord * share) / slope))
  }
  for (let round = 0; round < 200; round++) {
    const share = conductance(piece, y)
    const slope = share * bend(piece, y)
    if (!convex && !(slope > 0)) return Number.POSITIVE_INFINITY
    const step = (heatW - y * share) / slope
    if (!((convex ? -step : step) > 1e-14 * (1 + y))) break
    y += step
    if (!convex && y > endK) return crosses ? endK : Number.POSITIVE_INFINITY
  }
  return Math.min(endK, Math.max(startK, y))
}

/** Heat that the radiator gives to the air, and how it grows with the coolant's temperature. */
export interface RadiatorFlow {
  heatW: number
  slopeWPerK: number
}

/** Half the width over which the slope is taken: a fan table has bends, which the integrator sees rounded so far. */
const SLOPE_WIDTH_K = 1e-4

/** @param wantsSlope the slope costs twice as much as the heat, and is left as it was where it is not wanted */
export function radiatorFlow(
  law: RadiatorLaw,
  fan: readonly FanPoint[],
  airC: number,
  coolantC: number,
  out: RadiatorFlow,
  wantsSlope: boolean,
): void {
  out.heatW = givenW(law, fan, airC, coolantC)
  if (!wantsSlope) return
  const above = givenW(law, fan, airC, coolantC + SLOPE_WIDTH_K)
  out.slopeWPerK = (above - givenW(law, fan, airC, coolantC - SLOPE_WIDTH_K)) / (2 * SLOPE_WIDTH_K)
}

function givenW(law: RadiatorLaw, fan: readonly FanPoint[], airC: number, coolantC: number): number {
  // Where one resistance serves every duty none is looked up.
  const resistanceKPerW = law.exponent === 0 ? law.lowResistanceKPerW : radiatorResistance(law, dutyAt(fan, coolantC))
  return (coolantC - airC) / resistanceKPerW
}

/** Whether a duty lies below the radiator's lowest point. */
export function isBelowData(law: RadiatorLaw, dutyPct: number): boolean {
  return dutyPct < law.lowDutyPct * (1 - 1e-9)
}
