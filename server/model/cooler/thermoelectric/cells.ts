/**
 * A curve of plate temperature over heat that is known through a parameter t: cells of t on which both rise, one after
 * the other in heat. What is asked of the curve is a root in one cell.
 */

import { rootBetween } from '../../root.ts'
import type { CurvePoint, PlateCurve } from '../curve.ts'
import { type Series, seriesAt, seriesOf } from './series.ts'

/** Heat and plate over the air at one t, with their slopes over t. */
export interface Traced {
  heatW: number
  heatSlope: number
  coldK: number
  coldSlope: number
}

/** One end of a cell. */
export interface CellEnd {
  readonly t: number
  readonly heatW: number
  readonly heatSlope: number
  readonly coldK: number
  readonly coldSlope: number
}

export interface Cell<S> {
  /** Plate over heat as a series: laid down when it is first asked for, null where none holds. */
  series?: Series | null
  /** What the tracer needs to know of the cell. */
  readonly of: S
  readonly start: CellEnd
  readonly end: CellEnd
  /** Slope of plate over heat halfway lies between those at the ends, as a slope that only rises or only falls does. */
  readonly isOrderly: boolean
}

export const endOf = ({ heatW, heatSlope, coldK, coldSlope }: Traced, t: number): CellEnd => ({
  t,
  heatW,
  heatSlope,
  coldK,
  coldSlope,
})

const steepness = ({ heatSlope, coldSlope }: Traced | CellEnd): number =>
  heatSlope > 0 ? coldSlope / heatSlope : Number.POSITIVE_INFINITY

/** The last step of a search this long leaves, by the slope, an error below rounding. */
const LAST_STEP = 1e-8
/** A series that stays this near, in K, stands for the search. */
const SERIES_TOLERANCE_K = 1e-11
/** Two cells this far apart in temperature have a jump between them. */
const JUMP_K = 1e-9
/** A cell whose end is a crest: t over heat is a root's curve there. */
const CREST_PART = 0.1

/** Where a·plate + b·heat comes to `wanted` in a cell, guessed from its ends: t as a cubic of that sum. */
function guess({ start, end }: Cell<unknown>, a: number, b: number, wanted: number): number {
  const from = a * start.coldK + b * start.heatW
  const rise = a * end.coldK + b * end.heatW - from
  const width = end.t - start.t
  const share = (wanted - from) / rise
  const fromSlope = ((a * start.coldSlope + b * start.heatSlope) * width) / rise
  const endSlope = ((a * end.coldSlope + b * end.heatSlope) * width) / rise
  if (endSlope < CREST_PART) return end.t - width * Math.sqrt(Math.max(0, 1 - share))
  if (fromSlope < CREST_PART) return start.t + width * share
  const first = 1 / fromSlope
  const last = 1 / endSlope
  const cubic = share * (first + share * (3 - 2 * first - last + share * (first + last - 2)))
  return cubic > 0 && cubic < 1 ? start.t + width * cubic : start.t + width * share
}

export abstract class CellCurve<S, T extends Traced> implements PlateCurve {
  linear = false
  lineC = 0
  lineKPerW = 0
  readonly convex = false
  readonly airC: number
  readonly cells: Cell<S>[] = []
  /** The curve goes on straight beyond its last cell; else it has no solution there. */
  protected isOpen = false
  protected readonly found: T

  constructor(airC: number, found: T) {
    this.airC = airC
    this.found = found
  }

  /** Puts what there is at t of a cell into `found`; `nearK` is a plate temperature that is near. */
  protected abstract trace(of: S, t: number, nearK: number): void

  /** Adds cells until the curve reaches from one heat to the other, or to its ends. */
  protected abstract reach(fromW: number, toW: number): void

  /** Adds cells below a heat, if the curve has any; says whether it did. */
  protected reachBelow(): boolean {
    return false
  }

  /** The cell that serves a heat; undefined beyond the curve's end. */
  protected cellAt(heatW: number): Cell<S> | undefined {
    this.reach(heatW, heatW)
    return this.cells.find(cell => heatW <= cell.end.heatW)
  }

  /** Brings `found` to the place in a cell where a·plate + b·heat is `wanted`; exact, or but for one last step. */
  protected seek(cell: Cell<S>, a: number, b: number, wanted: number, isExact: boolean): number {
    const { found } = this
    const { start, end } = cell
    const width = end.t - start.t
    let last = start.t
    const t = rootBetween(
      (at, out) => {
        this.trace(cell.of, at, start.coldK + ((at - start.t) / width) * (end.coldK - start.coldK))
        last = at
        out.value = a * found.coldK + b * found.heatW - wanted
        out.slope = a * found.coldSlope + b * found.heatSlope
      },
      start.t,
      end.t,
      guess(cell, a, b, wanted),
      isExact ? undefined : LAST_STEP,
    )
    if (isExact) this.trace(cell.of, t, found.coldK)
    const rest = isExact ? 0 : t - last
    found.coldK += rest * found.coldSlope
    found.heatW += rest * found.heatSlope
    return t
  }

  evaluate(heatW: number, out: CurvePoint): void {
    if (this.linear) {
      out.plateC = this.lineC + this.lineKPerW * heatW
      out.slopeKPerW = this.lineKPerW
      return
    }
    const cell = this.cellAt(heatW)
    if (cell === undefined) {
      const end = this.isOpen ? this.cells.at(-1)?.end : undefined
      out.slopeKPerW = end === undefined ? Number.POSITIVE_INFINITY : steepness(end)
      out.plateC = end === undefined ? out.slopeKPerW : this.airC + end.coldK + (heatW - end.heatW) * out.slopeKPerW
      return
    }
    const { start } = cell
    if (heatW <= start.heatW) {
      // On a jump, or below the curve's beginning, where it goes on straight.
      const below = cell === this.cells[0] ? heatW - start.heatW : 0
      out.slopeKPerW = steepness(start)
      out.plateC = this.airC + start.coldK + below * out.slopeKPerW
      return
    }
    this.within(cell, heatW)
    out.plateC = this.airC + this.looked.value
    out.slopeKPerW = this.looked.slope
  }

  /** Puts plate over the air and slope at a heat of a cell into `looked`. */
  private within(cell: Cell<S>, heatW: number): void {
    const { looked } = this
    const exact = (at: number): number => {
      this.seek(cell, 0, 1, at, false)
      return this.found.coldK
    }
    if (cell.series === undefined) {
      const { start, end } = cell
      cell.series = cell.isOrderly ? (seriesOf(exact, start.heatW, end.heatW, SERIES_TOLERANCE_K) ?? null) : null
    }
    if (cell.series === null) {
      looked.value = exact(heatW)
      looked.slope = steepness(this.found)
    } else seriesAt(cell.series, heatW, looked)
  }
  private readonly looked = { value: 0, slope: 0 }

  slopeLow(fromW: number, toW: number): number {
    if (this.linear) return this.lineKPerW
    this.reach(fromW, toW)
    let low = Number.POSITIVE_INFINITY
    for (const cell of this.cells) {
      const { start, end } = cell
      if (end.heatW <= fromW) continue
      if (start.heatW >= toW) break
      const from = fromW > start.heatW ? this.slopeIn(cell, fromW) : steepness(start)
      const to = toW < end.heatW ? this.slopeIn(cell, toW) : steepness(end)
      const [least, most] = from < to ? [from, to] : [to, from]
      // Inside a cell that is not orderly the slope may turn once between the two.
      low = Math.min(low, cell.isOrderly || most === Number.POSITIVE_INFINITY ? least : 2 * least - most)
    }
    const last = this.cells.at(-1)
    if (last !== undefined && this.isOpen && toW > last.end.heatW) low = Math.min(low, steepness(last.end))
    const first = this.cells[0]
    if (first !== undefined && fromW < first.start.heatW) low = Math.min(low, steepness(first.start))
    return low
  }

  slopeHigh(fromW: number, toW: number): number {
    if (this.linear) return this.lineKPerW
    this.reach(fromW, toW)
    const last = this.cells.at(-1)
    if (last === undefined || (toW > last.end.heatW && !this.isOpen)) return Number.POSITIVE_INFINITY
    let high = fromW < (this.cells[0]?.start.heatW ?? 0) ? steepness((this.cells[0] ?? last).start) : 0
    if (toW > last.end.heatW) high = Math.max(high, steepness(last.end))
    let before: CellEnd | undefined
    for (const cell of this.cells) {
      const { start, end } = cell
      const isJump = before !== undefined && start.coldK > before.coldK + JUMP_K
      before = end
      if (end.heatW < fromW) continue
      if (start.heatW >= toW) break
      if (isJump && start.heatW >= fromW) return Number.POSITIVE_INFINITY
      const from = fromW > start.heatW ? this.slopeIn(cell, fromW) : steepness(start)
      const to = toW < end.heatW ? this.slopeIn(cell, toW) : steepness(end)
      const [least, most] = from < to ? [from, to] : [to, from]
      high = Math.max(high, cell.isOrderly ? most : 2 * most - least)
    }
    return high
  }

  private slopeIn(cell: Cell<S>, heatW: number): number {
    this.within(cell, heatW)
    return this.looked.slope
  }

  heatAt(packageKPerW: number, temperatureC: number): number {
    if (this.linear) return (temperatureC - this.lineC) / (this.lineKPerW + packageKPerW)
    const wanted = temperatureC - this.airC
    const sum = ({ coldK, heatW }: CellEnd): number => coldK + packageKPerW * heatW
    let served = Number.NEGATIVE_INFINITY
    for (let index = 0; ; index++) {
      if (index >= this.cells.length) {
        const onW = served === Number.NEGATIVE_INFINITY ? 0 : served + Math.abs(served) + 1
        this.reach(onW, onW)
      }
      const cell = this.cells[index]
      if (cell === undefined) {
        const end = this.isOpen ? this.cells.at(-1)?.end : undefined
        return end === undefined ? served : served + (wanted - sum(end)) / (steepness(end) + packageKPerW)
      }
      const { start, end } = cell
      if (index === 0 && sum(start) > wanted && this.reachBelow()) {
        index = -1
        continue
      }
      if (sum(start) > wanted) {
        // On the jump before this cell; or below the beginning, where the curve goes on straight.
        return index > 0 ? served : start.heatW + (wanted - sum(start)) / (steepness(start) + packageKPerW)
      }
      if (sum(end) > wanted) {
        this.seek(cell, 1, packageKPerW, wanted, false)
        return this.found.heatW
      }
      served = end.heatW
    }
  }
}

/** Whether the slope halfway lies between those at the ends. */
export function isOrderly(start: CellEnd, middle: Traced, end: CellEnd): boolean {
  const [from, at, to] = [steepness(start), steepness(middle), steepness(end)]
  return (from - at) * (at - to) >= 0
}
