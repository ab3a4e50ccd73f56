/** Cutting a plate curve over a radiator into runs of heat on which its slope only rises or only falls. */

import { type Coolant, type CoolantPiece, conductance, heatSlope, solveCoolant } from './fan.ts'

/** A run of heats on which the slope of the curve only rises (`convex`) or only falls. */
export interface Stretch {
  readonly startW: number
  readonly endW: number
  readonly convex: boolean
  readonly slopeStart: number
  readonly slopeEnd: number
}

/**
 * The stretches of a curve whose coolant solves gain · y · conductance − loss · y = perW · Q + offset. Heats
 * below a maximum that the left side had earlier are already served there: the lowest coolant counts.
 */
export function cutStretches(
  coolant: Coolant,
  gain: number,
  loss: number,
  perW: number,
  offset: number,
  slopeAt: (heatW: number, piece: CoolantPiece, overAirK: number) => number,
): Stretch[] {
  const stretches: Stretch[] = []
  let reached = Number.NEGATIVE_INFINITY
  for (const piece of coolant.pieces) {
    let endK = piece.endK
    const endSlope = Number.isFinite(endK)
      ? gain * heatSlope(piece, endK) - loss
      : gain * conductance(piece, piece.startK) - loss
    if (piece.exponent === 0 && endSlope <= 0) continue
    if (!piece.convex && endSlope <= 0) endK = crestOf(piece, gain, loss)
    const most = Number.isFinite(endK) ? endK * (gain * conductance(piece, endK) - loss) : Number.POSITIVE_INFINITY
    if (!(most > reached)) continue
    let startK = piece.startK
    if (reached > startK * (gain * conductance(piece, startK) - loss)) {
      startK = Math.min(Math.max(solveCoolant({ ...coolant, pieces: [piece] }, gain, loss, reached), startK), endK)
    }
    const startW = stretches.length === 0 ? Number.NEGATIVE_INFINITY : (reached - offset) / perW
    const endW = (most - offset) / perW
    stretches.push({
      startW,
      endW,
      convex: piece.exponent === 0 || !piece.convex,
      slopeStart: slopeAt(startW, piece, startK),
      slopeEnd: slopeAt(endW, piece, Number.isFinite(endK) ? endK : startK),
    })
    reached = most
  }
  return stretches
}

/** Where a concave stretch of radiated heat stops rising, by halving. */
function crestOf(piece: CoolantPiece, gain: number, loss: number): number {
  let low = piece.startK
  let high = piece.endK
  for (let round = 0; round < 100; round++) {
    const middle = (low + high) / 2
    if (gain * heatSlope(piece, middle) - loss > 0) low = middle
    else high = middle
  }
  return low
}

/** Whether the slope never falls along the stretches, and the steepest slope there is. */
export function bends(coolant: Coolant, stretches: readonly Stretch[]): { convex: boolean; slopeCap: number } {
  const last = stretches[stretches.length - 1]
  let convex = last !== undefined && !coolant.falling
  let slopeCap = last?.endW === Number.POSITIVE_INFINITY && !coolant.falling ? 0 : Number.POSITIVE_INFINITY
  let slope = 0
  for (const stretch of stretches) {
    if (!stretch.convex || stretch.slopeStart < slope * (1 - 1e-12)) convex = false
    slope = stretch.slopeEnd
    slopeCap = Math.max(slopeCap, stretch.slopeStart, stretch.slopeEnd)
  }
  return { convex, slopeCap }
}
