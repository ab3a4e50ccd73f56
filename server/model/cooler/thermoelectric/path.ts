/**
 * The way that the coolant takes as it warms: how much heat the radiator then gives away. Everything about a driven
 * plate follows from a place on this way, so all searches run along it.
 */

import { type Coolant, type CoolantPiece, conductance } from '../../fan.ts'

/**
 * A stretch of the way on which one formula holds. The place t on it is the coolant's temperature over the air, but
 * where a fan table jumps upward: there the coolant stays and t is the share of the jump, from 0 to 1.
 */
export interface Section {
  readonly start: number
  readonly end: number
  readonly piece: CoolantPiece
  /** Heat that the jump adds; 0 on all other sections. */
  readonly jumpW: number
  /** The radiated heat falls somewhere on it. */
  readonly falls: boolean
}

/** A place on the way: coolant over air, heat given to it, and both slopes over t. */
export interface Place {
  coolantK: number
  outW: number
  coolantSlope: number
  outSlope: number
}

/** As far below the air as the hot side may come, for heats that only a solver asks about. */
const BELOW_AIR_K = 100

/** Beyond this no bench is steady. */
export const LONGEST_WAY_K = 2000

export function sectionsOf(coolant: Coolant, blockKPerW: number): readonly Section[] {
  const sections: Section[] = []
  let before: CoolantPiece | undefined
  let belowK = BELOW_AIR_K
  for (const piece of coolant.pieces) {
    if (before === undefined) {
      const scale = piece.startConductance
      belowK = BELOW_AIR_K / (1 + blockKPerW * scale)
      const still = { ...piece, startK: -belowK, endK: 0, scale, exponent: 0, dutyPerK: 0, endConductance: scale }
      if (piece.exponent !== 0) sections.push({ start: -belowK, end: 0, piece: still, jumpW: 0, falls: false })
    } else {
      const jumpW = piece.startK * (piece.startConductance - before.endConductance)
      if (jumpW > 1e-9 * piece.startK * before.endConductance) {
        sections.push({ start: 0, end: 1, piece, jumpW, falls: false })
      }
    }
    const start = before === undefined && piece.exponent === 0 ? -belowK : piece.startK
    const end = Math.min(piece.endK, LONGEST_WAY_K)
    if (end > start) sections.push({ start, end, piece, jumpW: 0, falls: piece.exponent * piece.dutyPerK < 0 })
    before = piece
  }
  return sections
}

export function placeAt({ piece, jumpW }: Section, t: number, out: Place): void {
  if (jumpW > 0) {
    out.coolantK = piece.startK
    out.outW = piece.startK * piece.startConductance - (1 - t) * jumpW
    out.coolantSlope = 0
    out.outSlope = jumpW
    return
  }
  out.coolantK = t
  out.coolantSlope = 1
  if (piece.exponent === 0) {
    out.outW = t * piece.scale
    out.outSlope = piece.scale
    return
  }
  const perK = conductance(piece, t)
  out.outW = t * perK
  out.outSlope = perK * (1 + (piece.exponent * piece.dutyPerK * t) / (piece.duty0 + piece.dutyPerK * t))
}
