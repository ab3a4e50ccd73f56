/**
 * Which current makes a plate coldest at a heat (model section 5, `drive`): the coldest plate is the one that, held there,
 * takes at most that heat. Its place is where the heat over the place has its maximum. Places that are not the lowest
 * answer for their current need no leaving out: the lowest answer there is colder still.
 */

import { rootBetween } from '../../root.ts'
import { RUNAWAY_C } from '../curve.ts'
import { type CellEnd, endOf, isOrderly } from './cell.ts'
import { CellCurve } from './cells.ts'
import type { Chosen, Field } from './held.ts'
import { type Branch, type Most, mostHeat, mostOnBranch, standing } from './most.ts'
import { LONGEST_WAY_K } from './path.ts'

/** An answer that is off by more heat than this, in parts of 1 + Q, was one of the wrong kind. */
const BETTER = 1e-11
/** So often one kind of answer is followed; after that all are looked at in each step. */
const FOLLOWED = 2
const BRANCHES = FOLLOWED + 2

/**
 * The coldest plate at a heat, `fromK` over the air being one that some allowed current makes; undefined where none is. Newton's steps follow
 * the answer of one kind; where they end all kinds are looked at, and the right one is followed in turn.
 */
export function coldestAt(field: Field, heatW: number, fromK: number): Chosen | undefined {
  // Without any current to choose the plate is what it is.
  if (!(field.limitA > 0)) return undefined
  let coldK = fromK
  let most = mostHeat(field, coldK)
  for (let round = 0; round < BRANCHES; round++) {
    let near = most
    const here = coldK
    const t = rootBetween(
      (at, out) => {
        const known = near !== undefined && round < FOLLOWED ? mostOnBranch(field, at, standing(near, at)) : undefined
        if (at !== here) near = known ?? mostHeat(field, at)
        out.value = (near?.look.heatW ?? Number.NEGATIVE_INFINITY) - heatW
        out.slope = near?.heatByPlate ?? Number.NaN
      },
      -field.stack.airK,
      fromK,
      coldK,
    )
    const all = mostHeat(field, t)
    if (all === undefined) break
    coldK = t
    most = all
    if (Math.abs(all.look.heatW - heatW) <= BETTER * (1 + Math.abs(heatW))) break
  }
  if (most === undefined) return undefined
  return { currentA: most.look.currentA, coldK, section: most.section, t: most.look.t }
}

interface ColdestTrace {
  heatW: number
  heatSlope: number
  coldK: number
  coldSlope: number
  most: Most | undefined
}

/** A plate temperature, and the most heat at it. */
interface Known {
  readonly end: CellEnd
  readonly most: Most | undefined
}

const FIRST_CELL_K = 4
const LONGEST_CELL_K = 32
const CELL_BELOW_K = 16
const CELLS_BELOW = 8
/** Between two kinds of answer cells are halved down to this. */
const LEAST_CELL_K = 0.25

/** The plate as cold as any current makes it, over the heat. */
export class ColdestCurve extends CellCurve<Branch | undefined, ColdestTrace> {
  readonly field: Field
  private readonly fromK: number
  private stepK = FIRST_CELL_K
  private last: Known | undefined
  private isWhole = false

  /** @param fromK where the curve begins, over the air */
  constructor(field: Field, fromK: number) {
    super(field.airC, { heatW: 0, heatSlope: 0, coldK: 0, coldSlope: 1, most: undefined })
    this.field = field
    this.fromK = fromK
  }

  protected override trace(branch: Branch | undefined, t: number): void {
    const { field, found } = this
    const most = (branch && mostOnBranch(field, t, branch)) ?? mostHeat(field, t)
    found.most = most
    found.coldK = t
    found.coldSlope = 1
    found.heatW = most?.look.heatW ?? Number.NEGATIVE_INFINITY
    found.heatSlope = most?.heatByPlate ?? 0
  }

  /** The plate at a heat; undefined beyond the curve's end. */
  at(heatW: number): Chosen | undefined {
    const cell = this.cellAt(heatW)
    const last = this.cells.at(-1)?.end
    if (cell === undefined && !(this.isOpen && last !== undefined)) return undefined
    if (cell === undefined && last !== undefined) this.trace(undefined, last.t + (heatW - last.heatW) / last.heatSlope)
    else if (cell !== undefined) this.seek(cell, 0, 1, Math.max(heatW, cell.start.heatW), true)
    const { most, coldK } = this.found
    return most && { currentA: most.look.currentA, coldK, section: most.section, t: most.look.t }
  }

  protected override reach(fromW: number, toW: number): void {
    while (!this.isWhole && !((this.cells.at(-1)?.end.heatW ?? Number.NEGATIVE_INFINITY) >= toW)) this.grow()
    for (let first = this.cells[0]; first !== undefined && fromW < first.start.heatW; first = this.cells[0]) {
      if (!this.reachBelow()) return
    }
  }

  /** Heats below nothing, which only a margin asks for. */
  protected override reachBelow(): boolean {
    const first = this.cells[0]
    if (first === undefined || this.below >= CELLS_BELOW) return false
    this.below++
    const above = this.cells.splice(0)
    this.add(this.known(first.start.t - CELL_BELOW_K), this.known(first.start.t))
    const isMore = this.cells.length > 0
    this.cells.push(...above)
    return isMore
  }
  private below = 0

  private known(coldK: number): Known {
    this.trace(undefined, coldK)
    return { end: endOf(this.found, coldK), most: this.found.most }
  }

  private grow(): void {
    const from = this.last ?? this.known(this.fromK)
    const to = this.known(from.end.t + this.stepK)
    this.last = to
    this.add(from, to)
    const { coldK, heatW } = to.end
    // Nobody asks for more than a hint of what is warmer than any bench.
    this.stepK = coldK > RUNAWAY_C - this.airC ? this.stepK * 2 : Math.min(LONGEST_CELL_K, this.stepK * 2)
    this.isOpen = coldK > LONGEST_WAY_K
    this.isWhole = this.isOpen || !(heatW > from.end.heatW)
  }

  /** Adds what lies between two plate temperatures, in halves where the answers are of different kinds. */
  private add(from: Known, to: Known): void {
    const [start, end] = [from.end, to.end]
    // Below what any current reaches there is no heat to speak of, and the curve goes on straight.
    if (!(end.heatW > start.heatW) || start.heatW === Number.NEGATIVE_INFINITY) return
    const middle = this.known((start.t + end.t) / 2)
    const branch = branchOf(from, middle, to)
    if (branch === undefined && end.t - start.t > LEAST_CELL_K && end.coldK < RUNAWAY_C) {
      this.add(from, middle)
      this.add(middle, to)
      return
    }
    // Where the answers differ each look is at all of them, too many for a series.
    this.cells.push(
      branch === undefined
        ? { of: branch, start, end, isOrderly: false, series: null, halves: null }
        : { of: branch, start, end, isOrderly: isOrderly(start, middle.end, end) },
    )
  }
}

/** The branch that three plate temperatures are on together. */
function branchOf(from: Known, middle: Known, to: Known): Branch | undefined {
  const [first, second, third] = [from.most, middle.most, to.most]
  if (first === undefined || second === undefined || third === undefined) return undefined
  const isOne = [second, third].every(
    ({ kind, section, look }) =>
      kind === first.kind &&
      section === first.section &&
      (kind !== 'bend' || look.t === first.look.t) &&
      (kind !== 'bound' || look.currentA === first.look.currentA),
  )
  if (!isOne) return undefined
  return {
    kind: first.kind,
    section: first.section,
    startK: from.end.t,
    endK: to.end.t,
    startT: first.look.t,
    endT: third.look.t,
    boundA: first.look.currentA,
  }
}
