/**
 * What the balance asks of a cooler: the plate's temperature over the heat put into it, in one corner. In addition to value
 * and slope a curve gives a lower bound on its slope between two heats: that is what lets the balance step forward
 * without ever passing a root.
 */

/** Beyond this there is no steady state worth the name: thermal runaway. */
export const RUNAWAY_C = 400

/** A place on a curve; the caller's own, filled again at each look. */
export interface CurvePoint {
  /** Infinity where no sound solution exists. */
  plateC: number
  slopeKPerW: number
}

export const emptyPoint = (): CurvePoint => ({ plateC: 0, slopeKPerW: 0 })

export interface PlateCurve {
  /** One straight line: plate = `lineC` + `lineKPerW` · heat. */
  readonly linear: boolean
  readonly lineC: number
  readonly lineKPerW: number
  /** The slope never falls: Newton's method from below is exact on the whole curve. */
  readonly convex: boolean
  /** Called where a prediction begins, so that no answer depends on what was asked for another. */
  begin(): void
  /** Puts plate temperature and slope at a heat into `out`. */
  evaluate(heatW: number, out: CurvePoint): void
  /** No slope between the two heats is smaller than this. Jumps, which lead upward only, are left out: they only help. */
  slopeLow(fromW: number, toW: number): number
  /** No slope between the two heats is steeper than this; Infinity where the curve jumps or ends between them. */
  slopeHigh(fromW: number, toW: number): number
  /** Largest heat with plate + `packageKPerW` · heat ≤ `temperatureC`: the curve with the package in series, read backward. */
  heatAt(packageKPerW: number, temperatureC: number): number
}
