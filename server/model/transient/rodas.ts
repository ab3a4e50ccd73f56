/**
 * An integrator for stiff networks: the Rosenbrock method RODAS of order 4 with an embedded error estimate of
 * order 3, stiffly accurate and L-stable, with a continuous solution of order 3 between the ends of a step.
 * Hairer and Wanner, Solving Ordinary Differential Equations II, 2nd ed., section IV.7; the coefficients are
 * those of the authors' published code `rodas.f`. For autonomous systems.
 */

export interface System {
  readonly size: number
  /** Writes dy/dt at y into `out`. */
  derivative(y: Float64Array, out: Float64Array): void
  /** Writes the Jacobian, row by row, into `out`. */
  jacobian(y: Float64Array, out: Float64Array): void
}

const gamma = 0.25
const a21 = 1.544
const a31 = 0.9466785280815826
const a32 = 0.2557011698983284
const a41 = 3.314825187068521
const a42 = 2.896124015972201
const a43 = 0.9986419139977817
const a51 = 1.221224509226641
const a52 = 6.019134481288629
const a53 = 12.53708332932087
const a54 = -0.687886036105895
const c21 = -5.6688
const c31 = -2.430093356833875
const c32 = -0.2063599157091915
const c41 = -0.1073529058151375
const c42 = -9.594562251023355
const c43 = -20.47028614809616
const c51 = 7.496443313967647
const c52 = -10.24680431464352
const c53 = -33.99990352819905
const c54 = 11.7089089320616
const c61 = 8.083246795921522
const c62 = -7.981132988064893
const c63 = -31.52159432874371
const c64 = 16.31930543123136
const c65 = -6.058818238834054
const d21 = 10.12623508344586
const d22 = -7.487995877610167
const d23 = -34.80091861555747
const d24 = -7.992771707568823
const d25 = 1.025137723295662
const d31 = -0.6762803392801253
const d32 = 6.087714651680015
const d33 = 16.43084320892478
const d34 = 24.76722511418386
const d35 = -6.594389125716872

export interface Tolerances {
  readonly relative: number
  readonly absolute: number
}

/** The working space of one integration; nothing is allocated while it runs. */
export interface Stepper {
  /** The state at the end of the last step tried. */
  readonly end: Float64Array
  /** Tries one step of length h from y; returns the error over the tolerance (at most 1 is good). */
  tryStep(y: Float64Array, h: number): number
  /** Prepares the continuous solution of the last step tried, for `at`. */
  prepareDense(y: Float64Array): void
  /** One component of the continuous solution at the fraction s of the last step. */
  at(component: number, s: number): number
  /** Forgets the Jacobian kept from the step before; needed when the system itself was changed. */
  restart(): void
}

export function createStepper(system: System, tolerances: Tolerances): Stepper {
  const n = system.size
  const vector = (): Float64Array => new Float64Array(n)
  const [k1, k2, k3, k4, k5, k6, stage, slope, rhs, end] = Array.from({ length: 10 }, vector) as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ]
  const [dense2, dense3, dense4, from] = Array.from({ length: 4 }, vector) as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ]
  const jacobian = new Float64Array(n * n)
  const matrix = new Float64Array(n * n)
  const pivots = new Int32Array(n)
  const jacobianAt = vector()
  let jacobianKnown = false

  const at = (array: Float64Array, index: number): number => array[index] as number

  /** LU factors of I/(hγ) − J with partial pivoting, in place. */
  const factor = (h: number): boolean => {
    const diagonal = 1 / (h * gamma)
    for (let index = 0; index < n * n; index++) matrix[index] = -at(jacobian, index)
    for (let row = 0; row < n; row++) matrix[row * n + row] = at(matrix, row * n + row) + diagonal
    for (let column = 0; column < n; column++) {
      let pivot = column
      for (let row = column + 1; row < n; row++) {
        if (Math.abs(at(matrix, row * n + column)) > Math.abs(at(matrix, pivot * n + column))) pivot = row
      }
      pivots[column] = pivot
      const size = at(matrix, pivot * n + column)
      if (size === 0 || !Number.isFinite(size)) return false
      if (pivot !== column) {
        for (let index = 0; index < n; index++) {
          const kept = at(matrix, column * n + index)
          matrix[column * n + index] = at(matrix, pivot * n + index)
          matrix[pivot * n + index] = kept
        }
      }
      for (let row = column + 1; row < n; row++) {
        const factorOf = at(matrix, row * n + column) / size
        matrix[row * n + column] = factorOf
        if (factorOf === 0) continue
        for (let index = column + 1; index < n; index++) {
          matrix[row * n + index] = at(matrix, row * n + index) - factorOf * at(matrix, column * n + index)
        }
      }
    }
    return true
  }

  const solve = (into: Float64Array): void => {
    for (let row = 0; row < n; row++) {
      const pivot = pivots[row] as number
      const kept = at(rhs, pivot)
      rhs[pivot] = at(rhs, row)
      rhs[row] = kept
    }
    for (let row = 0; row < n; row++) {
      let sum = at(rhs, row)
      for (let column = 0; column < row; column++) sum -= at(matrix, row * n + column) * at(rhs, column)
      rhs[row] = sum
    }
    for (let row = n - 1; row >= 0; row--) {
      let sum = at(rhs, row)
      for (let column = row + 1; column < n; column++) sum -= at(matrix, row * n + column) * at(into, column)
      into[row] = sum / at(matrix, row * n + row)
    }
  }

  const tryStep = (y: Float64Array, h: number): number => {
    let same = jacobianKnown
    for (let index = 0; same && index < n; index++) same = at(jacobianAt, index) === at(y, index)
    if (!same) {
      system.jacobian(y, jacobian)
      jacobianAt.set(y)
      jacobianKnown = true
    }
    if (!factor(h)) return Number.POSITIVE_INFINITY
    const over = 1 / h
    system.derivative(y, slope)
    rhs.set(slope)
    solve(k1)
    for (let i = 0; i < n; i++) stage[i] = at(y, i) + a21 * at(k1, i)
    system.derivative(stage, slope)
    for (let i = 0; i < n; i++) rhs[i] = at(slope, i) + over * c21 * at(k1, i)
    solve(k2)
    for (let i = 0; i < n; i++) stage[i] = at(y, i) + a31 * at(k1, i) + a32 * at(k2, i)
    system.derivative(stage, slope)
    for (let i = 0; i < n; i++) rhs[i] = at(slope, i) + over * (c31 * at(k1, i) + c32 * at(k2, i))
    solve(k3)
    for (let i = 0; i < n; i++) stage[i] = at(y, i) + a41 * at(k1, i) + a42 * at(k2, i) + a43 * at(k3, i)
    system.derivative(stage, slope)
    for (let i = 0; i < n; i++) rhs[i] = at(slope, i) + over * (c41 * at(k1, i) + c42 * at(k2, i) + c43 * at(k3, i))
    solve(k4)
    for (let i = 0; i < n; i++)
      stage[i] = at(y, i) + a51 * at(k1, i) + a52 * at(k2, i) + a53 * at(k3, i) + a54 * at(k4, i)
    system.derivative(stage, slope)
    for (let i = 0; i < n; i++)
      rhs[i] = at(slope, i) + over * (c51 * at(k1, i) + c52 * at(k2, i) + c53 * at(k3, i) + c54 * at(k4, i))
    solve(k5)
    for (let i = 0; i < n; i++) stage[i] = at(stage, i) + at(k5, i)
    system.derivative(stage, slope)
    for (let i = 0; i < n; i++) {
      rhs[i] =
        at(slope, i) + over * (c61 * at(k1, i) + c62 * at(k2, i) + c63 * at(k3, i) + c64 * at(k4, i) + c65 * at(k5, i))
    }
    solve(k6)
    let sum = 0
    for (let i = 0; i < n; i++) {
      end[i] = at(stage, i) + at(k6, i)
      const scale = tolerances.absolute + tolerances.relative * Math.max(Math.abs(at(y, i)), Math.abs(at(end, i)))
      const error = at(k6, i) / scale
      sum += error * error
    }
    const error = Math.sqrt(sum / n)
    return Number.isFinite(error) ? error : Number.POSITIVE_INFINITY
  }

  return {
    end,
    tryStep,
    prepareDense: y => {
      from.set(y)
      for (let i = 0; i < n; i++) {
        dense2[i] = at(end, i)
        dense3[i] = d21 * at(k1, i) + d22 * at(k2, i) + d23 * at(k3, i) + d24 * at(k4, i) + d25 * at(k5, i)
        dense4[i] = d31 * at(k1, i) + d32 * at(k2, i) + d33 * at(k3, i) + d34 * at(k4, i) + d35 * at(k5, i)
      }
    },
    at: (component, s) =>
      at(from, component) * (1 - s) +
      s * (at(dense2, component) + (1 - s) * (at(dense3, component) + s * at(dense4, component))),
    restart: () => {
      jacobianKnown = false
    },
  }
}

/** The step that would just meet the tolerance, within what one step may change. */
export function nextStep(h: number, error: number): number {
  return h * Math.min(5, Math.max(0.2, 0.9 * Math.max(error, 1e-10) ** -0.25))
}
