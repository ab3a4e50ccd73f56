/**
 * Heat on its way from the die to an end whose temperature is known: heat capacities in a row, with resistances between
 * them (model section 10 without its controller). Solved exactly for inputs that stay the same over a stretch.
 */

const MOST = 3
const SWEEPS = 24
const STILL = 1e-13

export interface Chain {
  /** Number of heat capacities. */
  readonly size: number
  /** Begins with these: nothing of what was before is in the results. */
  set(capacities: ArrayLike<number>, resistances: ArrayLike<number>): void
  /** The way from the last capacity to the end is another one: quick where it is much as before. */
  setEnd(resistanceKPerW: number): void
  /**
   * Carries the state over a stretch.
   * @param powerW into the first of them
   * @param endC mean temperature behind the last resistance
   * @param endKPerS by how much that changes, evenly
   * @param state in °C, moved to the end of the stretch
   * @param means of each over the stretch
   * @param shares of equal steps of the stretch: the share by which the power of each is above its mean; even without it,
   * as behind modules (driven.ts) it always is
   */
  advance(
    overS: number,
    powerW: number,
    endC: number,
    endKPerS: number,
    state: Float64Array,
    means: Float64Array,
    shares?: Float64Array,
  ): void
}

/** A chain of one to three heat capacities in J/K, die first; resistances in K/W, from each to the next, the last to the end. */
export function createChain(size: number): Chain {
  if (size > MOST || size < 1) throw new RangeError('a chain has one to three links')
  const capacity = new Float64Array(size)
  const resistance = new Float64Array(size)
  const root = new Float64Array(size)
  const matrix = new Float64Array(size * size)
  /** Eigenvectors in columns. */
  const shapes = new Float64Array(size * size)
  /** The matrix in the eigenvectors' axes: decay rates on its diagonal. */
  const rates = new Float64Array(size * size)
  const scratch = new Float64Array(size * size)
  /** From each capacity to the end. */
  const below = new Float64Array(size)
  /** How far each lags behind an end that changes evenly, in s: what it stores has to flow through the resistances below. */
  const lag = new Float64Array(size)
  const steady = new Float64Array(size)
  const own = new Float64Array(size)
  /** What is left of each shape after a stretch of `lastS`, and its mean over that. */
  const left = new Float64Array(size)
  const mean = new Float64Array(size)
  let lastS = Number.NaN
  /** The same of one step of a stretch. */
  const stepLeft = new Float64Array(size)
  const stepMean = new Float64Array(size)
  let lastStepS = Number.NaN

  const solve = (): void => {
    // Brought to symmetry by the roots of the capacities, the decay rates and their shapes are those of one matrix.
    matrix.fill(0)
    for (let i = 0; i < size; i++) {
      const down = 1 / (resistance[i] as number)
      add(matrix, size, i, i, down / (capacity[i] as number))
      if (i + 1 >= size) continue
      add(matrix, size, i + 1, i + 1, down / (capacity[i + 1] as number))
      const between = -down / ((root[i] as number) * (root[i + 1] as number))
      add(matrix, size, i, i + 1, between)
      add(matrix, size, i + 1, i, between)
    }
    turned(matrix, shapes, size, scratch, rates)
    diagonalise(rates, shapes, size)
    lastS = lastStepS = Number.NaN
    let stored = 0
    for (let i = 0; i < size; i++) {
      stored += capacity[i] as number
      lag[i] = stored * (resistance[i] as number)
    }
    let sum = 0
    for (let i = size - 1; i >= 0; i--) {
      sum += resistance[i] as number
      below[i] = sum
      if (i + 1 < size) lag[i] = (lag[i] as number) + (lag[i + 1] as number)
    }
  }
  /** Puts what is left of each shape after so long into `left`, its mean over that into `mean`. */
  const decays = (overS: number, into: Float64Array, over: Float64Array): void => {
    for (let k = 0; k < size; k++) {
      const reach = (rates[k * size + k] as number) * overS
      into[k] = Math.exp(-reach)
      over[k] = reach > 1e-9 ? (1 - (into[k] as number)) / reach : 1
    }
  }
  /** What power that comes and goes about its mean adds to what its mean does: shape by shape, step by step. */
  const addUneven = (
    overS: number,
    powerW: number,
    shares: Float64Array,
    state: Float64Array,
    means: Float64Array,
  ): void => {
    const stepS = overS / shares.length
    if (stepS !== lastStepS) decays(stepS, stepLeft, stepMean)
    lastStepS = stepS
    for (let k = 0; k < size; k++) {
      const [kept, meanKept] = [stepLeft[k] as number, stepMean[k] as number]
      const perShare = ((shapes[k] as number) * powerW) / ((root[0] as number) * (rates[k * size + k] as number))
      let [now, sum] = [0, 0]
      for (let step = 0; step < shares.length; step++) {
        const goal = perShare * (shares[step] as number)
        sum += goal + (now - goal) * meanKept
        now = goal + (now - goal) * kept
      }
      for (let i = 0; i < size; i++) {
        const by = (shapes[i * size + k] as number) / (root[i] as number)
        state[i] = (state[i] as number) + by * now
        means[i] = (means[i] as number) + (by * sum) / shares.length
      }
    }
  }
  return {
    size,
    set: (capacities, resistances) => {
      for (let i = 0; i < size; i++) {
        capacity[i] = capacities[i] as number
        resistance[i] = resistances[i] as number
        root[i] = Math.sqrt(capacities[i] as number)
        for (let j = 0; j < size; j++) shapes[i * size + j] = i === j ? 1 : 0
      }
      solve()
    },
    setEnd: resistanceKPerW => {
      resistance[size - 1] = resistanceKPerW
      solve()
    },
    advance: (overS, powerW, endC, endKPerS, state, means, shares) => {
      const half = (endKPerS * overS) / 2
      // Where each would be in the middle of the stretch if it had gone on for ever.
      for (let i = 0; i < size; i++) steady[i] = endC + (below[i] as number) * powerW - (lag[i] as number) * endKPerS
      for (let k = 0; k < size; k++) {
        let sum = 0
        for (let i = 0; i < size; i++)
          sum +=
            (shapes[i * size + k] as number) *
            (root[i] as number) *
            ((state[i] as number) - (steady[i] as number) + half)
        own[k] = sum
      }
      for (let i = 0; i < size; i++) {
        state[i] = (steady[i] as number) + half
        means[i] = steady[i] as number
      }
      if (overS !== lastS) decays(overS, left, mean)
      lastS = overS
      for (let k = 0; k < size; k++) {
        for (let i = 0; i < size; i++) {
          const by = ((shapes[i * size + k] as number) * (own[k] as number)) / (root[i] as number)
          state[i] = (state[i] as number) + (left[k] as number) * by
          means[i] = (means[i] as number) + (mean[k] as number) * by
        }
      }
      if (shares !== undefined) addUneven(overS, powerW, shares, state, means)
    },
  }
}

function add(a: Float64Array, size: number, row: number, column: number, by: number): void {
  a[row * size + column] = (a[row * size + column] as number) + by
}

/** Vᵀ A V, by which a matrix whose eigenvectors are nearly V is nearly diagonal. */
function turned(a: Float64Array, v: Float64Array, n: number, scratch: Float64Array, out: Float64Array): void {
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      let sum = 0
      for (let k = 0; k < n; k++) sum += (a[i * n + k] as number) * (v[k * n + j] as number)
      scratch[i * n + j] = sum
    }
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      let sum = 0
      for (let k = 0; k < n; k++) sum += (v[k * n + i] as number) * (scratch[k * n + j] as number)
      out[i * n + j] = sum
    }
}

/** Jacobi's rotations: the eigenvalues are left on the diagonal of `a`, its axes turned along in `vectors`. */
function diagonalise(a: Float64Array, vectors: Float64Array, n: number): void {
  for (let sweep = 0; sweep < SWEEPS; sweep++) {
    let isStill = true
    for (let p = 0; p < n; p++) {
      for (let q = p + 1; q < n; q++) {
        const off = a[p * n + q] as number
        const [own, other] = [a[p * n + p] as number, a[q * n + q] as number]
        if (Math.abs(off) <= STILL * Math.sqrt(Math.abs(own * other))) continue
        isStill = false
        const theta = (other - own) / (2 * off)
        const t = Math.sign(theta || 1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1))
        const c = 1 / Math.sqrt(t * t + 1)
        const s = t * c
        for (let k = 0; k < n; k++) rotate(a, k * n + p, k * n + q, c, s)
        for (let k = 0; k < n; k++) rotate(a, p * n + k, q * n + k, c, s)
        for (let k = 0; k < n; k++) rotate(vectors, k * n + p, k * n + q, c, s)
      }
    }
    if (isStill) break
  }
}

function rotate(a: Float64Array, p: number, q: number, c: number, s: number): void {
  const [own, other] = [a[p] as number, a[q] as number]
  a[p] = c * own - s * other
  a[q] = s * own + c * other
}
