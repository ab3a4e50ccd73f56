/**
 * A thermoelectric plate under a drive that knows no target: a current, pulses or a supply's voltage (model section 5).
 *
 * From the coolant's place on its way everything follows: the heat out by the radiator, the hot side, then the cold
 * side, whose heat out rises with it and so is one, then the heat in. The way is walked once from the air upward; where
 * the heat in rises above all it was before lies a cell of the curve, for of several solutions the lowest counts.
 */

import { rootBetween } from '../../root.ts'
import { type Cell, type CellEnd, endOf, isOrderly, type Traced } from './cell.ts'
import { CellCurve } from './cells.ts'
import { LONGEST_WAY_K, type Place, placeAt, type Section } from './path.ts'
import {
  type CurrentLaw,
  constantsAt,
  emptyFlows,
  type Flows,
  flowsAt,
  flowsUnder,
  isConstant,
  type Stack,
} from './stack.ts'

/** All there is to know of a plate at one place of its coolant. */
export interface PlateState extends Flows, Traced, Place {
  hotK: number
}

export const emptyState = (): PlateState => ({
  ...emptyFlows(),
  coolantK: 0,
  coolantSlope: 0,
  outSlope: 0,
  hotK: 0,
  coldK: 0,
  coldSlope: 0,
  heatSlope: 0,
})

/** Newton's steps to the cold side; each doubles the digits, so more than a few mean that they do not arrive. */
const COLD_ROUNDS = 12
/** The first step in K that one more would follow below rounding. */
const COLD_LAST_K = 1e-7
/** A cold side is looked for in so many kelvin about the air. */
const COLD_RANGE_K = 5000

const place: Place = { coolantK: 0, outW: 0, coolantSlope: 0, outSlope: 0 }

/** Fills `out` with the plate at a place of the coolant; `nearK` is a plate temperature that is near. */
function stateAt(stack: Stack, law: CurrentLaw, section: Section, t: number, nearK: number, out: PlateState): void {
  placeAt(section, t, place)
  const { coolantK, outW, coolantSlope, outSlope } = place
  const hotK = coolantK + stack.blockKPerW * outW
  const hotSlope = coolantSlope + stack.blockKPerW * outSlope
  const isStraight = law.kind === 'constant' && isConstant(stack)
  let coldK = nearK
  let arrived = false
  for (let round = 0; round < COLD_ROUNDS && !arrived; round++) {
    flowsUnder(stack, law, coldK, hotK, out)
    const step = (outW - out.outW) / out.outByCold
    coldK += step
    if (isStraight || Math.abs(step) <= COLD_LAST_K) {
      out.heatW += out.heatByCold * step
      arrived = true
    }
  }
  if (!arrived) {
    coldK = rootBetween(
      (x, sought) => {
        flowsUnder(stack, law, x, hotK, out)
        sought.value = out.outW - outW
        sought.slope = out.outByCold
      },
      -COLD_RANGE_K,
      COLD_RANGE_K,
      hotK,
    )
    flowsUnder(stack, law, coldK, hotK, out)
  }
  out.coolantK = coolantK
  out.coolantSlope = coolantSlope
  out.outW = outW
  out.outSlope = outSlope
  out.hotK = hotK
  out.coldK = coldK
  out.coldSlope = (outSlope - out.outByHot * hotSlope) / out.outByCold
  out.heatSlope = out.heatByCold * out.coldSlope + out.heatByHot * hotSlope
}

/** Fills `out` with a plate whose temperature, current and coolant are known; slopes are left as they were. */
export function placeState(
  stack: Stack,
  currentA: number,
  coldK: number,
  section: Section,
  t: number,
  out: PlateState,
): void {
  placeAt(section, t, out)
  const radiatedW = out.outW
  out.coldK = coldK
  out.hotK = out.coolantK + stack.blockKPerW * radiatedW
  constantsAt(stack, stack.airK + (coldK + out.hotK) / 2, out)
  flowsAt(stack, coldK, out.hotK, currentA, out)
  out.outW = radiatedW
  out.boundBy = 'none'
}

/** Looks along a section: many where the radiated heat falls, on the last one ever further apart. */
function looksOf(section: Section, isStraight: boolean): readonly number[] {
  const { start, end, piece, jumpW, falls } = section
  if (isStraight && piece.exponent === 0) return [start, end]
  if (end === LONGEST_WAY_K && jumpW === 0) {
    const looks = [start]
    for (let step = FIRST_LOOK_K; start + step < end; step *= 2) looks.push(start + step)
    return [...looks, end]
  }
  const count = falls ? FALLING_LOOKS : RISING_LOOKS
  return Array.from({ length: count + 1 }, (_, index) => start + ((end - start) * index) / count)
}
const FIRST_LOOK_K = 8
const FALLING_LOOKS = 12
const RISING_LOOKS = 2

export class DrivenCurve extends CellCurve<Section, PlateState> {
  readonly kind = 'driven'
  readonly stack: Stack
  readonly law: CurrentLaw

  constructor(stack: Stack, law: CurrentLaw, sections: readonly Section[], airC: number) {
    super(airC, emptyState())
    this.stack = stack
    this.law = law
    this.walk(sections)
    this.straighten(sections)
  }

  protected override trace(of: Section, t: number, nearK: number): void {
    stateAt(this.stack, this.law, of, t, nearK, this.found)
  }

  protected override reach(): void {
    // The whole way is walked at once.
  }

  /** The plate at a heat, undefined where there is no sound solution; the curve's own object, good until it is next asked. */
  at(heatW: number): PlateState | undefined {
    const cell = this.cellAt(heatW)
    const last = this.cells.at(-1)
    if (cell === undefined) {
      if (!this.isOpen || last === undefined) return undefined
      const { t, heatW: endW, heatSlope, coldK } = last.end
      this.trace(last.of, t + (heatW - endW) / heatSlope, coldK)
      return this.found
    }
    if (heatW <= cell.start.heatW && cell !== this.cells[0]) this.trace(cell.of, cell.start.t, cell.start.coldK)
    else if (heatW <= cell.start.heatW) {
      const { t, heatW: fromW, heatSlope, coldK } = cell.start
      this.trace(cell.of, t + (heatW - fromW) / heatSlope, coldK)
    } else this.seek(cell, 0, 1, heatW, true)
    return this.found
  }

  private walk(sections: readonly Section[]): void {
    const { found, cells } = this
    const isStraight = this.law.kind === 'constant' && isConstant(this.stack)
    let reachedW = Number.NEGATIVE_INFINITY
    let nearK = 0
    for (const section of sections) {
      const looks = looksOf(section, isStraight)
      let from: CellEnd | undefined
      for (const t of looks) {
        this.trace(section, t, from === undefined ? nearK : from.coldK + from.coldSlope * (t - from.t))
        const to = endOf(found, t)
        nearK = to.coldK
        if (from !== undefined) reachedW = this.span(section, from, to, reachedW)
        from = to
      }
    }
    this.isOpen = cells.at(-1)?.end.t === LONGEST_WAY_K
  }

  /** Adds the cell, if there is one, between two looks. Returns the most heat that the way has taken so far. */
  private span(section: Section, from: CellEnd, to: CellEnd, reachedW: number): number {
    if (from.heatSlope > 0 && to.heatSlope > 0 && from.heatW >= reachedW) return this.add(section, from, to, reachedW)
    let start = from
    let end = to
    if (from.heatSlope <= 0) {
      if (to.heatSlope <= 0) return reachedW
      start = this.turn(section, from, to, -1)
    } else if (to.heatSlope <= 0) end = this.turn(section, from, to, 1)
    if (!(end.heatW > reachedW)) return reachedW
    if (start.heatW < reachedW) start = this.landing(section, start, end, reachedW)
    return this.add(section, start, end, reachedW)
  }

  /** Where the heat in turns between two looks: `sign` 1 for a crest, −1 for a hollow. */
  private turn(section: Section, from: CellEnd, to: CellEnd, sign: number): CellEnd {
    const t = rootBetween(
      (at, out) => {
        this.trace(section, at, from.coldK + ((at - from.t) / (to.t - from.t)) * (to.coldK - from.coldK))
        out.value = -sign * this.found.heatSlope
        out.slope = Number.NaN
      },
      from.t,
      to.t,
      (from.t + to.t) / 2,
    )
    this.trace(section, t, this.found.coldK)
    return endOf(this.found, t)
  }

  /** Where the heat in comes back to what it was before the radiator fell off. */
  private landing(section: Section, from: CellEnd, to: CellEnd, reachedW: number): CellEnd {
    const t = rootBetween(
      (at, out) => {
        this.trace(section, at, from.coldK + ((at - from.t) / (to.t - from.t)) * (to.coldK - from.coldK))
        out.value = this.found.heatW - reachedW
        out.slope = this.found.heatSlope
      },
      from.t,
      to.t,
      (from.t + to.t) / 2,
    )
    this.trace(section, t, this.found.coldK)
    return endOf(this.found, t)
  }

  private add(section: Section, start: CellEnd, end: CellEnd, reachedW: number): number {
    if (!(end.heatW > start.heatW)) return Math.max(reachedW, end.heatW)
    const middle = (start.t + end.t) / 2
    this.trace(section, middle, (start.coldK + end.coldK) / 2)
    const cell: Cell<Section> = { of: section, start, end, isOrderly: isOrderly(start, this.found, end) }
    this.cells.push(cell)
    return end.heatW
  }

  /** Notes the line where the curve is one. */
  private straighten(sections: readonly Section[]): void {
    const only = this.cells[0]
    if (only === undefined || sections.length !== 1 || only.of.piece.exponent !== 0) return
    if (this.law.kind !== 'constant' || !isConstant(this.stack)) return
    this.trace(only.of, 0, 0)
    this.linear = true
    this.lineKPerW = this.found.coldSlope / this.found.heatSlope
    this.lineC = this.airC + this.found.coldK - this.lineKPerW * this.found.heatW
  }
}
