/** A smooth function on a span as a Chebyshev series, where that holds. */

const DEGREE = 9
const NODES = DEGREE + 1
/** Zeros of the first Chebyshev polynomial left out, and the cosines of the transform. */
const nodes = Array.from({ length: NODES }, (_, j) => Math.cos((Math.PI * (j + 0.5)) / NODES))
const cosines = Array.from({ length: NODES }, (_, k) =>
  nodes.map((_node, j) => Math.cos((k * Math.PI * (j + 0.5)) / NODES)),
)
/** Between the nodes, where a series that does not hold is furthest off. */
const probes = [-1, -0.72, -0.31, 0.17, 0.58, 1]

export interface Series {
  readonly from: number
  readonly to: number
  readonly coefficients: Float64Array
}

/** The series of a function on a span; undefined where it strays from the function by more than `tolerance`. */
export function seriesOf(at: (x: number) => number, from: number, to: number, tolerance: number): Series | undefined {
  const middle = (from + to) / 2
  const half = (to - from) / 2
  const values = nodes.map(node => at(middle + half * node))
  const coefficients = new Float64Array(NODES)
  cosines.forEach((row, k) => {
    let sum = 0
    row.forEach((cosine, j) => {
      sum += cosine * (values[j] as number)
    })
    coefficients[k] = ((k === 0 ? 1 : 2) * sum) / NODES
  })
  const series = { from, to, coefficients }
  const out = { value: 0, slope: 0 }
  for (const probe of probes) {
    const x = middle + half * probe
    seriesAt(series, x, out)
    if (!(Math.abs(out.value - at(x)) <= tolerance)) return undefined
  }
  return series
}

/** Value and slope of a series, by Clenshaw's recurrence and its derivative. */
export function seriesAt({ from, to, coefficients }: Series, x: number, out: { value: number; slope: number }): void {
  const width = to - from
  const t = (2 * x - from - to) / width
  let next = 0
  let after = 0
  let nextSlope = 0
  let afterSlope = 0
  for (let k = DEGREE; k > 0; k--) {
    const here = 2 * t * next - after + (coefficients[k] as number)
    const hereSlope = 2 * next + 2 * t * nextSlope - afterSlope
    after = next
    next = here
    afterSlope = nextSlope
    nextSlope = hereSlope
  }
  out.value = t * next - after + (coefficients[0] as number)
  out.slope = ((next + t * nextSlope - afterSlope) * 2) / width
}
