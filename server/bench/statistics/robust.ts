/**
 * Residuals that are now and then far off: Student's t with 4 degrees of freedom, by which an odd reading is weighed
 * down instead of averaged (K. L. Lange, R. J. A. Little and J. M. G. Taylor, J. Am. Stat. Assoc. 84, 1989; cited from
 * memory).
 */

const DEGREES = 4
/** At this scale errors that are normal after all get honest widths. */
const LOSS_SCALE = 0.9

/** Twice the negative logarithm of the density, less its value at 0: ρ(z) = 5 ln(1 + z²/(4 s²)). */
export function loss(z: number, scale: number = LOSS_SCALE): number {
  return (DEGREES + 1) * Math.log1p((z * z) / (DEGREES * scale * scale))
}

/** dρ/dz / 2z: the weight that z² has. */
export function lossWeight(z: number, scale: number = LOSS_SCALE): number {
  return (DEGREES + 1) / (DEGREES * scale * scale + z * z)
}
