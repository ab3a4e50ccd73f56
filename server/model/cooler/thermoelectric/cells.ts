/**
 * A curve of plate temperature over heat that is known through a parameter t: cells of t on which both rise, one after
 * the other in heat. What is asked of the curve is a root in one cell.
 */

import { rootBetween } from '../../root.ts'
import type { CurvePoint, PlateCurve } from '../curve.ts'
import { type Cell, type CellEnd, endOf, guess, isOrderly, steepness, type Traced } from './cell.ts'
import { seriesAt, seriesOf } from './series.ts'

/** The last step of a search this long leaves, by the slope, an error below rounding. */
const LAST_STEP = 1e-8
/** A series that stays this near, in K, stands for the search. */
const SERIES_TOLERANCE_K = 1e-11
/** Two cells this far apart in temperature have a jump between them. */
const JUMP_K = 1e-9
/** Cells are halved down to this part of 1 + |t|; what bends within it is searched exactly. */
const LEAST_PART = 1e-3
/** So many series are tried on one curve; one whose bends or rounding need more is searched exactly. */
const MOST_SERIES = 64
/**
 * A prediction takes so many looks by search, of a few steps each. Beyond that series are laid down, each of which costs as
 * much as a dozen looks.
 */
const FEW_LOOKS = 32
/** So many looks are remembered: a search asks for the ends of its runs again and again. */
const REMEMBERED = 4

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

  begin(): void {
    this.searched = 0
    this.heats.fill(Number.NaN)
  }
  /** Looks that took a search since the prediction began. */
  private searched = 0
  private readonly heats = new Float64Array(REMEMBERED).fill(Number.NaN)
  private readonly looks = Array.from({ length: REMEMBERED }, () => ({ value: 0, slope: 0 }))
  private next = 0

  /** Puts plate over the air and slope at a heat of a cell into `looked`. */
  private within(of: Cell<S>, heatW: number): void {
    const known = this.heats.indexOf(heatW)
    if (known >= 0) {
      this.looked = this.looks[known] as { value: number; slope: number }
      return
    }
    const looked = this.looks[this.next] as { value: number; slope: number }
    const cell = this.searched >= FEW_LOOKS ? this.leafOf(of, heatW) : of
    if (this.searched >= FEW_LOOKS && cell.series) seriesAt(cell.series, heatW, looked)
    else {
      this.searched++
      this.seek(cell, 0, 1, heatW, false)
      looked.value = this.found.coldK
      looked.slope = steepness(this.found)
    }
    this.heats[this.next] = heatW
    this.next = (this.next + 1) % REMEMBERED
    this.looked = looked
  }
  private looked = { value: 0, slope: 0 }

  /** The part of a cell, halved as often as its series need, that serves a heat. */
  private leafOf(of: Cell<S>, heatW: number): Cell<S> {
    let cell = of
    for (let part = this.laid(cell); part !== undefined; part = this.laid(cell)) {
      cell = heatW <= part[0].end.heatW ? part[0] : part[1]
    }
    return cell
  }

  /** Lays down the series of a cell, or where none holds its halves, which are returned. */
  private laid(cell: Cell<S>): readonly [Cell<S>, Cell<S>] | undefined {
    if (cell.series === undefined) {
      const exact = (at: number): number => {
        this.seek(cell, 0, 1, at, false)
        return this.found.coldK
      }
      const { start, end } = cell
      const isTried = cell.isOrderly && this.tried++ < MOST_SERIES
      cell.series = isTried ? (seriesOf(exact, start.heatW, end.heatW, SERIES_TOLERANCE_K) ?? null) : null
    }
    if (cell.series !== null) return undefined
    if (cell.halves === undefined) cell.halves = (this.tried < MOST_SERIES && this.halved(cell)) || null
    return cell.halves ?? undefined
  }

  /** Series laid down or found not to hold. */
  private tried = 0

  private halved({ of, start, end }: Cell<S>): readonly [Cell<S>, Cell<S>] | undefined {
    if (end.t - start.t <= LEAST_PART * (1 + Math.abs(start.t))) return undefined
    const at = (t: number): CellEnd => {
      this.trace(of, t, start.coldK + ((t - start.t) / (end.t - start.t)) * (end.coldK - start.coldK))
      return endOf(this.found, t)
    }
    const [first, middle, last] = [0.25, 0.5, 0.75].map(share => at(start.t + share * (end.t - start.t))) as [
      CellEnd,
      CellEnd,
      CellEnd,
    ]
    // By rounding, heats this close may not rise.
    if (!(middle.heatW > start.heatW && end.heatW > middle.heatW)) return undefined
    return [
      { of, start, end: middle, isOrderly: isOrderly(start, first, middle) },
      { of, start: middle, end, isOrderly: isOrderly(middle, last, end) },
    ]
  }

  slopeLow(fromW: number, toW: number): number {
    if (this.linear) return this.lineKPerW
    this.reach(fromW, toW)
    let low = Number.POSITIVE_INFINITY
    for (const cell of this.cells) {
      if (cell.end.heatW <= fromW) continue
      if (cell.start.heatW >= toW) break
      low = Math.min(low, this.leastSlope(cell, fromW, toW))
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
      high = Math.max(high, this.mostSlope(cell, fromW, toW))
    }
    return high
  }

  /** The least slope in the part of a cell between two heats. */
  private leastSlope(cell: Cell<S>, fromW: number, toW: number): number {
    const halves = cell.isOrderly ? undefined : this.laid(cell)
    if (halves !== undefined) {
      const [lower, upper] = halves
      const below = fromW < lower.end.heatW ? this.leastSlope(lower, fromW, toW) : Number.POSITIVE_INFINITY
      return toW > upper.start.heatW ? Math.min(below, this.leastSlope(upper, fromW, toW)) : below
    }
    const [least, most] = this.slopesAtEnds(cell, fromW, toW)
    // Inside a cell that is not orderly the slope may turn once between the two.
    return cell.isOrderly || most === Number.POSITIVE_INFINITY ? least : 2 * least - most
  }

  /** The greatest slope in the part of a cell between two heats. */
  private mostSlope(cell: Cell<S>, fromW: number, toW: number): number {
    const halves = cell.isOrderly ? undefined : this.laid(cell)
    if (halves !== undefined) {
      const [lower, upper] = halves
      const below = fromW <= lower.end.heatW ? this.mostSlope(lower, fromW, toW) : 0
      return toW > upper.start.heatW ? Math.max(below, this.mostSlope(upper, fromW, toW)) : below
    }
    const [least, most] = this.slopesAtEnds(cell, fromW, toW)
    return cell.isOrderly ? most : 2 * most - least
  }

  /** The slopes where the part of a cell between two heats begins and ends, the smaller first. */
  private slopesAtEnds(cell: Cell<S>, fromW: number, toW: number): readonly [number, number] {
    const { start, end } = cell
    const from = fromW > start.heatW ? this.slopeIn(cell, fromW) : steepness(start)
    const to = toW < end.heatW ? this.slopeIn(cell, toW) : steepness(end)
    return from < to ? [from, to] : [to, from]
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
        // At first whatever begins the curve, and nothing below it.
        const isFirst = served === Number.NEGATIVE_INFINITY
        this.reach(Number.POSITIVE_INFINITY, isFirst ? -Number.MAX_VALUE : served + Math.abs(served) + 1)
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
