/**
 * The plainest numerical tools that the reference needs: a bracketed root,
 * a golden-section minimum and a scan that finds every sign change of a
 * function on a grid, near-tangent ones included.
 */

export type Curve = (x: number) => number

/**
 * A point where `f` changes sign between `low` and `high`: bisection and the
 * Illinois variant of the false position take turns until the bracket closes.
 * Values may be infinite; the sign is all that bisection needs.
 */
export const crossing = (f: Curve, low: number, high: number): number => {
  let a = low
  let b = high
  let fa = f(a)
  let fb = f(b)
  if (fa === 0) return a
  if (fb === 0) return b
  if (fa > 0 === fb > 0) throw new Error(`no sign change between ${low} and ${high}`)
  let lastMoved: 'a' | 'b' | undefined
  for (let turn = 0; turn < 200; turn += 1) {
    if (Math.abs(b - a) <= 4e-16 * Math.max(1, Math.abs(a), Math.abs(b))) break
    const straight = (a * fb - b * fa) / (fb - fa)
    const useStraight = turn % 3 !== 2 && Number.isFinite(straight) && straight > a && straight < b
    const middle = useStraight ? straight : (a + b) / 2
    if (middle === a || middle === b) break
    const fm = f(middle)
    if (fm === 0) return middle
    if (fm > 0 === fa > 0) {
      a = middle
      fa = fm
      if (lastMoved === 'a') fb /= 2
      lastMoved = 'a'
    } else {
      b = middle
      fb = fm
      if (lastMoved === 'b') fa /= 2
      lastMoved = 'b'
    }
  }
  return (a + b) / 2
}

const goldenShare = (Math.sqrt(5) - 1) / 2

/** The place of the lowest value of `f` between `low` and `high`, where `f` has one valley. */
export const valley = (f: Curve, low: number, high: number, turns = 36): number => {
  let a = low
  let b = high
  let c = b - goldenShare * (b - a)
  let d = a + goldenShare * (b - a)
  let fc = f(c)
  let fd = f(d)
  for (let turn = 0; turn < turns; turn += 1) {
    if (fc <= fd) {
      b = d
      d = c
      fd = fc
      c = b - goldenShare * (b - a)
      fc = f(c)
    } else {
      a = c
      c = d
      fc = fd
      d = a + goldenShare * (b - a)
      fd = f(d)
    }
  }
  const candidates = [low, high, c, d]
  return candidates.reduce((best, x) => (f(x) < f(best) ? x : best))
}

export const evenly = (low: number, high: number, parts: number): number[] =>
  Array.from({ length: parts + 1 }, (_, index) => (index === parts ? high : low + ((high - low) * index) / parts))

export interface Scan {
  /** All roots found, rising. */
  readonly roots: readonly number[]
  /** How close to zero `f` comes at a valley or a crest that does not cross: how nearly a pair of roots appears. */
  readonly nearest: number
}

/**
 * Every root of `f` on a grid. Between two grid points of unlike sign there is
 * one; at a valley above zero or a crest below zero the extreme point is
 * looked up, and where it lies beyond zero there are two. Where `f` is rough, `exact` says where its roots are.
 */
export const allRoots = (f: Curve, grid: readonly number[], exact: Curve = f): Scan => {
  const points = grid.map(x => ({ x, y: f(x) }))
  const found: { x: number; y: number }[] = [...points]
  let nearest = Number.POSITIVE_INFINITY
  for (let index = 1; index + 1 < points.length; index += 1) {
    const left = points[index - 1]
    const here = points[index]
    const right = points[index + 1]
    if (!left || !here || !right) continue
    const isValley = here.y > 0 && here.y <= left.y && here.y <= right.y && Number.isFinite(here.y)
    const isCrest = here.y < 0 && here.y >= left.y && here.y >= right.y
    if (!isValley && !isCrest) continue
    const sign = isValley ? 1 : -1
    const x = valley(at => sign * f(at), left.x, right.x)
    const y = f(x)
    nearest = Math.min(nearest, Math.abs(y))
    found.push({ x, y })
  }
  found.sort((one, other) => one.x - other.x)
  const roots: number[] = []
  for (let index = 0; index + 1 < found.length; index += 1) {
    const here = found[index]
    const next = found[index + 1]
    if (!here || !next) continue
    if (here.y === 0) roots.push(here.x)
    else if (next.y !== 0 && here.y > 0 !== next.y > 0) roots.push(crossing(exact, here.x, next.x))
  }
  return { roots, nearest }
}

/** The lowest root of an increasing grid's scan, as `allRoots` finds it, without walking on past it. */
export const lowestRoot = (f: Curve, grid: readonly number[]): number | undefined => {
  const values: number[] = []
  for (let index = 0; index < grid.length; index += 1) {
    const x = grid[index] ?? 0
    const y = f(x)
    values.push(y)
    const before = values[index - 1]
    const earlier = values[index - 2]
    if (before !== undefined && earlier !== undefined && before > 0 && before <= earlier && before <= y) {
      const lowX = grid[index - 2] ?? 0
      const bottom = valley(f, lowX, x)
      if (f(bottom) <= 0) return crossing(f, lowX, bottom)
    }
    if (y <= 0) return before === undefined ? x : crossing(f, grid[index - 1] ?? 0, x)
  }
  return undefined
}

/** Straight lines between rows sorted by rising x, flat outside. */
export const alongLines = (rows: readonly (readonly [number, number])[], x: number): number => {
  const first = rows[0]
  const last = rows[rows.length - 1]
  if (!first || !last) throw new Error('a table needs a row')
  if (x <= first[0]) return first[1]
  if (x >= last[0]) return last[1]
  for (let index = 0; index + 1 < rows.length; index += 1) {
    const here = rows[index]
    const next = rows[index + 1]
    if (!here || !next) continue
    if (x <= next[0]) return here[1] + ((next[1] - here[1]) * (x - here[0])) / (next[0] - here[0])
  }
  return last[1]
}
