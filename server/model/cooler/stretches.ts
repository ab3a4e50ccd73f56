/** Cutting a plate curve over a radiator into runs of heat on which its slope only rises or only falls. */

import { type Coolant, type CoolantPiece, conductance, heatSlope, overAirFor } from '../fan.ts'
import { rootBetween } from '../root.ts'

/** A run of heats on which the slope of the curve only rises (`convex`) or only falls. */
export interface Stretch {
  readonly startW: number
  readonly endW: number
  readonly convex: boolean
  readonly slopeStart: number
  readonly slopeEnd: number
}

/**
 * The stretches of a curve over a coolant. Heats below a maximum that the radiator had earlier are already served
 * there: the lowest coolant counts.
 */
export function cutStretches(
  coolant: Coolant,
  slopeAt: (piece: CoolantPiece, overAirK: number) => number,
): readonly Stretch[] {
  const stretches: Stretch[] = []
  let reachedW = Number.NEGATIVE_INFINITY
  for (const piece of coolant.pieces) {
    let { endK } = piece
    const endSlope = Number.isFinite(endK) ? heatSlope(piece, endK) : conductance(piece, piece.startK)
    if (!piece.convex && endSlope <= 0) endK = crestOf(piece)
    const mostW = Number.isFinite(endK) ? endK * conductance(piece, endK) : Number.POSITIVE_INFINITY
    if (!(mostW > reachedW)) continue
    const { startK, startConductance } = piece
    const fromK =
      reachedW > startK * startConductance ? Math.min(Math.max(overAirFor(piece, reachedW), startK), endK) : startK
    stretches.push({
      startW: stretches.length === 0 ? Number.NEGATIVE_INFINITY : reachedW,
      endW: mostW,
      convex: piece.exponent === 0 || !piece.convex,
      slopeStart: slopeAt(piece, fromK),
      slopeEnd: slopeAt(piece, Number.isFinite(endK) ? endK : fromK),
    })
    reachedW = mostW
  }
  return stretches
}

/** Where a concave stretch of radiated heat stops rising. */
function crestOf(piece: CoolantPiece): number {
  return rootBetween(
    (overAirK, out) => {
      out.value = -heatSlope(piece, overAirK)
      out.slope = Number.NaN
    },
    piece.startK,
    piece.endK,
    (piece.startK + piece.endK) / 2,
  )
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
