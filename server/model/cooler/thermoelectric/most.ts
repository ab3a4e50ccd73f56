/**
 * The most heat that a plate held at a temperature takes under any allowed current, and what makes it the most: looked for
 * everywhere, or followed from where it is known.
 */

import { beginOf, type Field, type Look, lookAt, stretchesAt, turnTolerance } from './held.ts'
import type { Section } from './path.ts'

/** The most heat that a plate held at `coldK` over the air takes, and where its coolant then is. */
export interface Most {
  readonly section: Section
  readonly look: Look
  /** What makes it the most: the heat turns there, the current is at a bound, or the coolant is at a bend of its way. */
  readonly kind: 'turn' | 'bound' | 'bend'
  /** dQ/dTc along the best places. */
  readonly heatByPlate: number
}

/** More heat than a trace more, which would be rounding: of two as good as the same the first has less current. */
const isMore = (one: Look, other: Look): boolean =>
  one.heatW > other.heatW + TRACE * Math.abs(other.heatW) || other.heatW === Number.NEGATIVE_INFINITY
const TRACE = 1e-12

export function mostHeat(field: Field, coldK: number): Most | undefined {
  let best: Look | undefined
  let where: Section | undefined
  for (const { section, low, high } of stretchesAt(field, coldK)) {
    const top = isMore(high, low) ? high : low
    if (best === undefined || isMore(top, best)) {
      best = top
      where = section
    }
  }
  if (best === undefined || where === undefined) return undefined
  const isBound = best.currentA === field.limitA || best.currentA === 0
  const isBend = best.t === beginOf(where) || best.t === where.end
  return mostOf(where, best, isBound ? 'bound' : isBend ? 'bend' : 'turn')
}

function mostOf(section: Section, look: Look, kind: Most['kind']): Most {
  const { heatByPlate, heatSlope, currentByPlate, currentSlope } = look
  // At a bound the coolant moves so that the current stays; at a turn or a bend that does not count.
  const moved = kind === 'bound' ? (heatSlope * currentByPlate) / currentSlope : 0
  return { section, look, kind, heatByPlate: heatByPlate - moved }
}

/** A run of plate temperatures whose most heat is of one kind, on one section: the coolant's place at both ends. */
export interface Branch {
  readonly kind: Most['kind']
  readonly section: Section
  readonly startK: number
  readonly endK: number
  readonly startT: number
  readonly endT: number
  /** The current of a branch at a bound. */
  readonly boundA: number
}

const BRANCH_ROUNDS = 8
const STILL_ROUNDS = 2
/** A step this small, in parts of the current, is the last: the secant's next would be below rounding. */
const TURN_PART = 1e-9
/** Two places of the coolant this close, in parts of 1 + |t|, are one. */
const LAST_PART = 1e-15

/** A look from which the current can be followed: near where it begins, where there is none at a place. */
function lookNear(field: Field, coldK: number, section: Section, t: number): Look | undefined {
  let look = lookAt(field, coldK, section, t)
  for (let round = 0; round < STILL_ROUNDS && look.currentA === Number.NEGATIVE_INFINITY; round++) {
    look = lookAt(field, coldK, section, look.stillT)
  }
  return look.currentA > Number.NEGATIVE_INFINITY ? look : undefined
}

/** As `mostHeat`, where it is known what makes it the most; undefined where the steps do not arrive. */
export function mostOnBranch(field: Field, coldK: number, branch: Branch): Most | undefined {
  const { kind, section, startT, endT, startK, endK, boundA } = branch
  if (kind === 'bend') return mostOf(section, lookAt(field, coldK, section, endT), kind)
  const near = lookNear(field, coldK, section, startT + ((coldK - startK) / (endK - startK)) * (endT - startT))
  if (near === undefined) return undefined
  if (kind === 'turn') return followTurn(field, coldK, section, near)
  let look = near
  for (let round = 0; round < BRANCH_ROUNDS; round++) {
    const step = (boundA - look.currentA) / look.currentSlope
    const t = look.t + step
    look = lookAt(field, coldK, section, t)
    if (!(Math.abs(step) <= turnTolerance(section) * (1 + Math.abs(t)))) continue
    // More current beyond the limit, or less than none, would have to take more heat.
    const gain = look.heatSlope / look.currentSlope
    return gain >= 0 === boundA > 0 ? mostOf(section, { ...look, currentA: boundA }, kind) : undefined
  }
  return undefined
}

/**
 * The turn near a place: where dQ/di is 0. Over the current the heat is all but a parabola, whatever its size, so that
 * secants of its slope arrive in a few steps from far; the coolant's place follows the current.
 */
function followTurn(field: Field, coldK: number, section: Section, from: Look): Most | undefined {
  const { stack, limitA } = field
  const gainOf = (look: Look): number => look.heatSlope / look.currentSlope
  let look = from
  let gain = gainOf(look)
  let bend = -stack.modules * stack.resistanceOhm
  for (let round = 0; round < BRANCH_ROUNDS; round++) {
    const stepA = -gain / bend
    const t = Math.min(section.end, Math.max(section.start, look.t + stepA / look.currentSlope))
    const next = lookNear(field, coldK, section, t)
    if (next === undefined) return undefined
    const nextGain = gainOf(next)
    const isLast = Math.abs(t - look.t) <= LAST_PART * (1 + Math.abs(t))
    if (isLast || Math.abs(next.currentA - look.currentA) <= TURN_PART * Math.abs(next.currentA)) {
      const isInside = t > section.start && t < section.end && next.currentA >= 0 && next.currentA <= limitA
      return isInside ? mostOf(section, next, 'turn') : undefined
    }
    bend = (nextGain - gain) / (next.currentA - look.currentA)
    // A maximum has no bend but downward.
    if (!(bend < 0)) return undefined
    look = next
    gain = nextGain
  }
  return undefined
}

/** A branch with one known place. */
export const standing = ({ kind, section, look: { t, currentA } }: Most, coldK: number): Branch => ({
  kind,
  section,
  startK: coldK,
  endK: coldK + 1,
  startT: t,
  endT: t,
  boundA: currentA,
})
