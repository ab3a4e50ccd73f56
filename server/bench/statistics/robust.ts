/**
 * Residuals that are now and then far off: Student's t with 4 degrees of freedom, by which an odd reading is weighed
 * down instead of averaged (K. L. Lange, R. J. A. Little and J. M. G. Taylor, J. Am. Stat. Assoc. 84, 1989; cited from
 * memory).
 */

const DEGREES = 4
/**
 * At this scale normal errors get honest widths: over them the mean of (ρ'/2)² is that of ρ''/2, both 0.90, so that the
 * curvature is the inverse of the variance that estimates have (P. J. Huber, Robust Statistics, 1981, ch. 3; cited from
 * memory).
 */
const SCALE = 0.9

/** Twice the negative logarithm of the density, less its value at 0: ρ(z) = 5 ln(1 + z²/(4 s²)), s the scale. */
export function loss(z: number): number {
  return (DEGREES + 1) * Math.log1p((z * z) / (DEGREES * SCALE * SCALE))
}

/** dρ/dz / 2z: the weight that z² has. */
export function lossWeight(z: number): number {
  return (DEGREES + 1) / (DEGREES * SCALE * SCALE + z * z)
}
