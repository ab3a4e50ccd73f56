/**
 * A plate held at a temperature: with it every place of the coolant has one current, the positive root of
 * α i Th + i²R/2 = K(Th − Tc) + Q_out/N, and so one heat. Which currents hold it, and which is the smallest (model section
 * 5, `drive`).
 */

import { rootBetween, type Sought } from '../../root.ts'
import { emptyState, type PlateState, placeState } from './driven.ts'
import { LONGEST_WAY_K, placeAt, type Section } from './path.ts'
import { constantsAt, flowsAt, type Stack } from './stack.ts'

/** A plate held at a temperature, at one place of its coolant. */
export interface Look {
  readonly t: number
  readonly currentA: number
  readonly heatW: number
  /** Slopes of heat and current over t. */
  readonly heatSlope: number
  readonly currentSlope: number
  /** Slopes of heat and current over the plate's temperature with the coolant where it is. */
  readonly heatByPlate: number
  readonly currentByPlate: number
  /** Where along the way the current would be none, by its slope at this place: of use where there is no current at all. */
  readonly stillT: number
}

/** Places next to each other between which the heat only rises or only falls, every current on it allowed. */
interface Stretch {
  readonly section: Section
  readonly low: Look
  readonly high: Look
}

/** The modules, their coolant's way and the most current: what a search for a current needs. */
export interface Field {
  readonly stack: Stack
  readonly sections: readonly Section[]
  readonly limitA: number
  readonly airC: number
}

const state = emptyState()

export function lookAt({ stack }: Field, coldK: number, section: Section, t: number): Look {
  placeAt(section, t, state)
  const { coolantK, outW, coolantSlope, outSlope } = state
  const hotK = coolantK + stack.blockKPerW * outW
  const hotSlope = coolantSlope + stack.blockKPerW * outSlope
  constantsAt(stack, stack.airK + (coldK + hotK) / 2, state)
  const lifted = state.k * (hotK - coldK) + outW / stack.modules
  const pumped = state.alpha * (stack.airK + hotK)
  const inner = pumped * pumped + 2 * state.ohm * lifted
  const stillT = t - lifted / (state.k * hotSlope + outSlope / stack.modules)
  if (!(inner >= 0)) {
    const none = Number.NEGATIVE_INFINITY
    return { t, currentA: none, heatW: none, heatSlope: 0, currentSlope: 0, heatByPlate: 0, currentByPlate: 0, stillT }
  }
  const currentA = (2 * lifted) / (pumped + Math.sqrt(inner))
  flowsAt(stack, coldK, hotK, currentA, state)
  const currentSlope = (outSlope - state.outByHot * hotSlope) / state.outByCurrent
  const currentByPlate = -state.outByCold / state.outByCurrent
  return {
    t,
    currentA,
    heatW: state.heatW,
    heatSlope: state.heatByHot * hotSlope + state.heatByCurrent * currentSlope,
    currentSlope,
    heatByPlate: state.heatByCold + state.heatByCurrent * currentByPlate,
    currentByPlate,
    stillT,
  }
}

/** First look beyond the beginning of the last section, in K; each one after is twice as far. */
const FIRST_LOOK_K = 8
const FALLING_LOOKS = 12
const RISING_LOOKS = 2

/** A look, and how far beyond it on the way the search for it came to rest. */
interface Rest {
  readonly look: Look
  readonly t: number
}

/**
 * Where something read off a look comes to 0 between two looks, at or below it at `from`.
 *
 * @param share the part of the way between them at which to look first
 */
function whereZero(
  field: Field,
  coldK: number,
  section: Section,
  from: Look,
  to: Look,
  share: number,
  read: (look: Look, out: Sought) => void,
  tolerance?: number,
): Rest {
  let look = from
  const t = rootBetween(
    (at, out) => {
      look = lookAt(field, coldK, section, at)
      read(look, out)
    },
    from.t,
    to.t,
    between(from.t, to.t, share),
    tolerance,
  )
  return { look, t }
}

/** Where the current comes to a value between two looks on either side of it. */
function whereCurrent(field: Field, coldK: number, section: Section, from: Look, to: Look, currentA: number): Look {
  const sign = to.currentA > from.currentA ? 1 : -1
  const share = (currentA - from.currentA) / (to.currentA - from.currentA)
  const { look, t } = whereZero(field, coldK, section, from, to, share, (at, out) => {
    out.value = sign * (at.currentA - currentA)
    out.slope = sign * at.currentSlope
  })
  // Written as it is, so that a plate at its limit has just that current.
  return { ...(t === look.t ? look : lookAt(field, coldK, section, t)), currentA }
}

/** Where the heat turns between two looks; −1 for a maximum, 1 for a minimum. */
function whereTurns(field: Field, coldK: number, section: Section, from: Look, to: Look, sign: 1 | -1): Look {
  const share = from.heatSlope / (from.heatSlope - to.heatSlope)
  const read = (at: Look, out: Sought): void => {
    out.value = sign * at.heatSlope
    out.slope = Number.NaN
  }
  const { look, t } = whereZero(field, coldK, section, from, to, share, read, turnTolerance(section))
  return t === look.t ? look : lookAt(field, coldK, section, t)
}
/** The heat is level at its turn: an error of this in the radiated heat, in W, is one of its square in the heat taken. */
const TURN_TOLERANCE = 1e-9
export const turnTolerance = ({ piece }: Section): number => TURN_TOLERANCE / Math.max(1, piece.startConductance)

function between(from: number, to: number, share: number): number {
  return from + (share > 0.02 && share < 0.98 ? share : 0.5) * (to - from)
}

/**
 * The stretches of a plate held at `coldK` over the air. Where the radiated heat nowhere falls the current rises along
 * the way, so that what takes less heat with more current can serve no search and is left out. Coolant below the air
 * matters to heats below nothing alone, unless it would be best there.
 */
export function stretchesAt(field: Field, coldK: number, wantsBelow = false): readonly Stretch[] {
  const { sections, limitA } = field
  const found: Stretch[] = []
  const wantsAll = sections.some(section => section.falls)
  for (const section of sections) {
    if (section.end <= 0) continue
    let from = lookAt(field, coldK, section, beginOf(section))
    if (section.start <= 0 && from.currentA > 0 && (wantsBelow || from.heatSlope <= 0)) {
      const still = sections[0] as Section
      const coldest = lookAt(field, coldK, still, still.start)
      span(field, coldK, still, coldest, still === section ? from : lookAt(field, coldK, still, 0), true, found)
    }
    if (!wantsAll && from.currentA > limitA) break
    for (const t of looksOf(section)) {
      const to = lookAt(field, coldK, section, t)
      span(field, coldK, section, from, to, wantsAll, found)
      from = to
      if (section.end === LONGEST_WAY_K && (to.currentA > limitA || (to.currentA > 0 && to.heatSlope < 0))) break
    }
  }
  return found
}

export const beginOf = ({ start }: Section): number => Math.max(0, start)

/** Looks beyond the beginning of a section. */
function looksOf(section: Section): readonly number[] {
  const { end, piece, falls } = section
  const from = beginOf(section)
  const looks: number[] = []
  if (end === LONGEST_WAY_K) {
    for (let step = FIRST_LOOK_K; from + step < end; step *= 2) looks.push(from + step)
  } else {
    const count = falls ? FALLING_LOOKS : piece.exponent === 0 ? 1 : RISING_LOOKS
    for (let look = 1; look < count; look++) looks.push(from + ((end - from) * look) / count)
  }
  looks.push(end)
  return looks
}

/** Adds what of the span between two looks has an allowed current. */
function span(
  field: Field,
  coldK: number,
  section: Section,
  from: Look,
  to: Look,
  wantsAll: boolean,
  found: Stretch[],
): void {
  const { limitA } = field
  if ((from.currentA < 0 && to.currentA < 0) || (from.currentA > limitA && to.currentA > limitA)) return
  const bound = (look: Look, from: Look, to: Look): Look => {
    if (look.currentA < 0) return whereCurrent(field, coldK, section, from, to, 0)
    return look.currentA > limitA ? whereCurrent(field, coldK, section, from, to, limitA) : look
  }
  const low = bound(from, from, to)
  if (low.heatSlope > 0 && to.heatSlope < 0 && !wantsAll) {
    const top = whereTurns(field, coldK, section, low, to, -1)
    found.push({ section, low, high: bound(top, low, top) })
    return
  }
  if (low.heatSlope <= 0 && !wantsAll) {
    found.push({ section, low, high: low })
    return
  }
  const high = bound(to, low, to)
  if (low.heatSlope * high.heatSlope < 0) {
    const turn = whereTurns(field, coldK, section, low, high, low.heatSlope > 0 ? -1 : 1)
    found.push({ section, low, high: turn }, { section, low: turn, high })
  } else found.push({ section, low, high })
}

/** A plate with the current that was chosen for it. */
export interface Chosen {
  readonly currentA: number
  readonly coldK: number
  readonly section: Section
  readonly t: number
}

/** A plate that is held at one temperature; its stretches are found once. */
export class HeldPlate {
  readonly coldK: number
  /** The most heat at which some current holds it. */
  readonly toW: number
  private readonly field: Field
  private readonly stretches: readonly Stretch[]

  constructor(field: Field, coldK: number) {
    this.field = field
    this.coldK = coldK
    this.stretches = stretchesAt(field, coldK, true)
    this.toW = this.stretches.reduce(
      (most, { low, high }) => Math.max(most, low.heatW, high.heatW),
      Number.NEGATIVE_INFINITY,
    )
  }

  /** The smallest current that holds it at a heat up to `toW`; undefined where it is not held at all. */
  at(heatW: number): Chosen | undefined {
    const { coldK, field } = this
    let chosen: Chosen | undefined
    let nearest: Chosen | undefined
    let apart = Number.POSITIVE_INFINITY
    for (const { section, low, high } of this.stretches) {
      const rises = high.heatW > low.heatW
      for (const { t, currentA, heatW: endW } of [low, high]) {
        if (!(Math.abs(endW - heatW) < apart)) continue
        apart = Math.abs(endW - heatW)
        nearest = { currentA, coldK, section, t }
      }
      if (heatW < Math.min(low.heatW, high.heatW) || heatW > Math.max(low.heatW, high.heatW)) continue
      const sign = rises ? 1 : -1
      const share = (heatW - low.heatW) / (high.heatW - low.heatW)
      const { look, t } = whereZero(field, coldK, section, low, high, share, (at, out) => {
        out.value = sign * (at.heatW - heatW)
        out.slope = sign * at.heatSlope
      })
      const currentA = t === look.t ? look.currentA : look.currentA + look.currentSlope * (t - look.t)
      if (chosen === undefined || currentA < chosen.currentA) chosen = { currentA, coldK, section, t }
    }
    // A heat at either end of what is held may lie beyond it by rounding.
    return chosen ?? nearest
  }
}

/** All there is to know of a chosen plate. */
export function stateOf({ stack }: Field, { currentA, coldK, section, t }: Chosen, out: PlateState): void {
  placeState(stack, currentA, coldK, section, t, out)
}
