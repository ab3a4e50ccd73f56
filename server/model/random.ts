/** Seeded numbers that come out the same everywhere, and the normal distribution, whose figures are the library's. */
import normalCdf from '@stdlib/stats-base-dists-normal-cdf'
import normalQuantile from '@stdlib/stats-base-dists-normal-quantile'

/**
 * A small generator of uniform numbers in (0, 1) that gives the same row for the same seed everywhere (T. Ettinger's
 * mulberry32, in the public domain; cited from memory).
 */
export function seededUniform(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), state | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return (((mixed ^ (mixed >>> 14)) >>> 0) + 0.5) / 4294967296
  }
}

/** The normal distribution function: the share of a standard normal law below `z`. */
export function normalShareBelow(z: number): number {
  return normalCdf(z, 0, 1)
}

/** Standard normal numbers, by the polar method of Marsaglia and Bray (SIAM Review 6, 1964; cited from memory). */
export function standardNormals(uniform: () => number): () => number {
  let spare = Number.NaN
  return () => {
    if (!Number.isNaN(spare)) {
      const found = spare
      spare = Number.NaN
      return found
    }
    for (;;) {
      const [u, v] = [2 * uniform() - 1, 2 * uniform() - 1]
      const square = u * u + v * v
      if (square >= 1 || square === 0) continue
      const factor = Math.sqrt((-2 * Math.log(square)) / square)
      spare = v * factor
      return u * factor
    }
  }
}

/**
 * Standard normal draws, one of each of `count` slices of equal share, in random order: the slices are met evenly, so a
 * few thousand draws tell more than as many independent ones (McKay, Beckman and Conover, Technometrics 21, 1979:
 * Latin hypercube sampling; the citation is from memory).
 */
export function stratifiedNormal(count: number, uniform: () => number): Float64Array {
  const drawn = Float64Array.from({ length: count }, (_, slice) => normalQuantile((slice + uniform()) / count, 0, 1))
  for (let last = count - 1; last > 0; last--) {
    const at = Math.floor(uniform() * (last + 1))
    const moved = drawn[last] as number
    drawn[last] = drawn[at] as number
    drawn[at] = moved
  }
  return drawn
}
