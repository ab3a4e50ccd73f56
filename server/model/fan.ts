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

/** Index of the stretch in which the last call of `solveCoolant` found its answer. */
export let solvedPiece = 0

/**
 * Lowest y = T_cool − T_air with gain · y · conductance(y) − loss · y = heat, or Infinity where none exists.
 *
 * A loop has gain 1, loss 0 and heat Q_out; a thermoelectric plate at a given current brings its own linear
 * terms. On each stretch the left side is convex or concave, so Newton's steps from the proper side
 * never pass a root: the lowest is found even where a falling fan table makes several.
 */
export function solveCoolant(coolant: Coolant, gain: number, loss: number, heat: number): number {
  const pieces = coolant.pieces
  solvedPiece = 0
  if (heat <= 0) {
    const slope = gain * conductance(pieces[0] as CoolantPiece, 0) - loss
    return slope > 0 ? heat / slope : heat === 0 ? 0 : Number.POSITIVE_INFINITY
  }
  for (let index = 0; index < pieces.length; index++) {
    const piece = pieces[index] as CoolantPiece
    solvedPiece = index
    const found = piece.exponent === 0 ? solveConstant(piece, gain, loss, heat) : solveVarying(piece, gain, loss, heat)
    if (found <= piece.endK) return found
  }
  return Number.POSITIVE_INFINITY
}

function solveConstant(piece: CoolantPiece, gain: number, loss: number, heat: number): number {
  const slope = gain * piece.scale - loss
  if (!(slope > 0)) return Number.POSITIVE_INFINITY
  // A table that jumps lets the heat leave already at the jump, which then is the answer.
  return Math.max(piece.startK, heat / slope)
}

function solveVarying(piece: CoolantPiece, gain: number, loss: number, heat: number): number {
  const { startK, endK, convex } = piece
  const startHeat = startK * (gain * piece.startConductance - loss)
  if (startHeat >= heat) return startK
  const endHeat = endK * (gain * piece.endConductance - loss)
  const crosses = endHeat >= heat
  if (convex && !crosses) return Number.POSITIVE_INFINITY
  let y = convex ? endK : startK
  if (crosses) {
    // One step from where the chord meets the heat lands close to the root, on the side that Newton needs.
    const chord = startK + ((heat - startHeat) / (endHeat - startHeat)) * (endK - startK)
    const share = gain * conductance(piece, chord)
    const slope = share * bend(piece, chord) - loss
    if (slope > 0) y = Math.min(endK, Math.max(startK, chord + (heat - chord * (share - loss)) / slope))
  }
  for (let round = 0; round < 200; round++) {
    const share = gain * conductance(piece, y)
    const slope = share * bend(piece, y) - loss
    if (!convex && !(slope > 0)) return Number.POSITIVE_INFINITY
    const step = (heat - y * (share - loss)) / slope
    if (!((convex ? -step : step) > 1e-14 * (1 + y))) break
    y += step
    if (!convex && y > endK) return crosses ? endK : Number.POSITIVE_INFINITY
  }
  return Math.min(endK, Math.max(startK, y))
}
