/**
 * Section 5's drive current as a function of the heat alone, tabulated as it is asked for. A run asks for it at
 * every tick, at heats that hardly differ, and each exact search costs many solutions of the fan table; so the
 * function is laid down as polynomials on short spans of heat, each compared with the exact search between its
 * nodes. Where it bends (the drive changes its regime, the coolant passes a row of the fan table) spans are halved
 * down to `LEAST_SPAN_W`, in which every question is searched exactly.
 */

const SPAN_W = 2
const LEAST_SPAN_W = 0.01
/** Far beyond what a bench can draw the table would only grow. */
const MOST_W = 5000
/** A polynomial stands where it meets the exact search as closely as this between its nodes, in A. */
const TOLERANCE_A = 2e-10
const DEGREE = 4

interface Span {
  readonly fromW: number
  readonly toW: number
  /** Chebyshev coefficients on the span; undefined where the function bends in it. */
  readonly series: Float64Array | undefined
  lower: Span | undefined
  upper: Span | undefined
}

/** Value of a Chebyshev series at t in [−1, 1], by Clenshaw's recurrence. */
function valueAt(series: Float64Array, t: number): number {
  let next = 0
  let afterNext = 0
  for (let k = DEGREE; k > 0; k--) {
    const here = 2 * t * next - afterNext + (series[k] as number)
    afterNext = next
    next = here
  }
  return t * next - afterNext + (series[0] as number)
}

function layDown(currentAt: (heatW: number) => number, fromW: number, toW: number): Span {
  const middle = (fromW + toW) / 2
  const half = (toW - fromW) / 2
  const exact = (t: number): number => currentAt(middle + half * t)
  const nodes = Array.from({ length: DEGREE + 1 }, (_, j) => exact(Math.cos((j * Math.PI) / DEGREE)))
  const series = new Float64Array(DEGREE + 1)
  for (let k = 0; k <= DEGREE; k++) {
    let sum = 0
    nodes.forEach((value, j) => {
      const weight = j === 0 || j === DEGREE ? 0.5 : 1
      sum += weight * value * Math.cos((j * k * Math.PI) / DEGREE)
    })
    series[k] = ((k === 0 || k === DEGREE ? 1 : 2) * sum) / DEGREE
  }
  const stands = [-0.93, -0.39, 0.39, 0.93].every(t => Math.abs(valueAt(series, t) - exact(t)) <= TOLERANCE_A)
  return { fromW, toW, series: stands ? series : undefined, lower: undefined, upper: undefined }
}

/**
 * Section 5's current for a heat, to a few 1e-10 A.
 *
 * @param currentAt the exact search
 * @param idleToW up to this heat there is none
 * @param limitA the most current
 */
export function createCurrentTable(
  currentAt: (heatW: number) => number,
  idleToW: number,
  limitA: number,
): (heatW: number) => number {
  const table = new Map<number, Span>()
  return heatW => {
    if (heatW <= idleToW) return 0
    if (!(Math.abs(heatW) < MOST_W)) return currentAt(heatW)
    const index = Math.floor(heatW / SPAN_W)
    let span = table.get(index)
    if (span === undefined) {
      span = layDown(currentAt, index * SPAN_W, (index + 1) * SPAN_W)
      table.set(index, span)
    }
    while (span.series === undefined) {
      const { fromW, toW }: Span = span
      if (toW - fromW <= LEAST_SPAN_W) return currentAt(heatW)
      const middle: number = (fromW + toW) / 2
      if (heatW < middle) span = span.lower ??= layDown(currentAt, fromW, middle)
      else span = span.upper ??= layDown(currentAt, middle, toW)
    }
    const current = valueAt(span.series, (2 * heatW - span.fromW - span.toW) / (span.toW - span.fromW))
    return Math.min(Math.max(current, 0), limitA)
  }
}
