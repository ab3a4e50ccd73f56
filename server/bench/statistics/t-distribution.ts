/**
 * Student's t distribution. The packed extension has no room for a library that brings two hundred files for two
 * functions; both are held to such a library, and to the printed tables, by tests.
 */

/** ln Γ(x) for x > 0 by Lanczos' series with g = 7 and nine terms; relative error below 1e-14. */
function logGamma(x: number): number {
  const terms = [
    676.5203681218851, -1259.1392167224028, 771.3234287776531, -176.6150291621406, 12.507343278686905,
    -0.13857109526572012, 9.984369578019572e-6, 1.5056327351493116e-7,
  ]
  let sum = 0.9999999999998099
  terms.forEach((term, index) => {
    sum += term / (x + index)
  })
  const shifted = x + 6.5
  return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(shifted) - shifted + Math.log(sum)
}

/** The continued fraction of the incomplete beta function by Lentz's method (Numerical Recipes, section 6.4). */
function betaFraction(a: number, b: number, x: number): number {
  const tiny = 1e-300
  const away = (value: number): number => (Math.abs(value) < tiny ? tiny : value)
  let c = 1
  let d = 1 / away(1 - ((a + b) * x) / (a + 1))
  let result = d
  for (let m = 1; m < 1000; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m))
    d = 1 / away(1 + even * d)
    c = away(1 + even / c)
    result *= d * c
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1))
    d = 1 / away(1 + odd * d)
    c = away(1 + odd / c)
    const step = d * c
    result *= step
    if (Math.abs(step - 1) < 1e-16) break
  }
  return result
}

/** The regularised incomplete beta function I_x(a, b); `rest` is 1 − x, given apart so that it loses no digits. */
function incompleteBeta(a: number, b: number, x: number, rest: number): number {
  if (x <= 0) return 0
  if (rest <= 0) return 1
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log(rest))
  return x < (a + 1) / (a + b + 2) ? (front * betaFraction(a, b, x)) / a : 1 - (front * betaFraction(b, a, rest)) / b
}

/** The share of a t distribution with ν degrees of freedom below t. */
export function tCdf(t: number, degrees: number): number {
  if (Number.isNaN(t) || !(degrees > 0)) return Number.NaN
  const square = t * t
  const beyond = incompleteBeta(degrees / 2, 0.5, degrees / (degrees + square), square / (degrees + square)) / 2
  return t > 0 ? 1 - beyond : beyond
}

function tDensity(t: number, degrees: number): number {
  const norm = logGamma((degrees + 1) / 2) - logGamma(degrees / 2) - 0.5 * Math.log(degrees * Math.PI)
  return Math.exp(norm - ((degrees + 1) / 2) * Math.log1p((t * t) / degrees))
}

/** The value below which the share p of a t distribution lies. Newton's steps inside a bracket. */
export function tQuantile(p: number, degrees: number): number {
  if (!(p > 0 && p < 1) || !(degrees > 0))
    return p === 0 ? Number.NEGATIVE_INFINITY : p === 1 ? Number.POSITIVE_INFINITY : Number.NaN
  if (p === 0.5) return 0
  if (p > 0.5) return -tQuantile(1 - p, degrees)
  let low = -1
  while (tCdf(low, degrees) > p) low *= 2
  let high = 0
  let t = low / 2
  for (let round = 0; round < 200; round++) {
    const gap = tCdf(t, degrees) - p
    if (gap > 0) high = t
    else low = t
    let next = t - gap / tDensity(t, degrees)
    if (!(next > low && next < high)) next = (low + high) / 2
    if (Math.abs(next - t) <= 1e-15 * Math.abs(t)) return next
    t = next
  }
  return t
}
