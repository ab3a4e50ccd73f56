/** Changes of one value outward from no change, and how values are written. */

import type { Chunk, Span } from '../../../../grammar/tree.ts'
import { fromBase, toBase } from '../../../../grammar/units/units.ts'
import type { Quantity } from '../../../../grammar/values.ts'
import { replace, stateIn } from '../../../checks/support/physics-edits.ts'
import type { FixEdit } from '../../../checks/types.ts'
import type { GroupSettings, Profile } from '../../../model/index.ts'
import { nameAfter } from '../../../semantic/definitions.ts'
import { partNames } from '../../../semantic/part-names.ts'
import type { ResolvedProfile, Sourced } from '../../../semantic/profile.ts'
import { withoutZeros } from '../../../wording/figures.ts'
import type { Move, Numbers } from '../types.ts'

/** So many times *one* is as far as anything is changed. */
const mostOnes = 10
/** Sums of grains carry binary noise. */
const noise = 1e-9

/** What counts as one, in which grain it is changed, and how far it may go, all in one unit. */
export interface Grain {
  readonly one: number
  readonly grain: number
  /** Nothing is changed below it, or above; what is beyond already may come nearer. */
  readonly low?: number
  readonly high?: number
}

const clean = (value: number): number => Number(value.toFixed(9))

/**
 * Values outward from one, both ways, the nearer ones first.
 * @param make the change to a value; undefined where there is none
 */
export function outward(
  from: number,
  { one, grain, low = Number.NEGATIVE_INFINITY, high = Number.POSITIVE_INFINITY }: Grain,
  make: (to: number, amount: number) => Omit<Move, 'asks' | 'side'> | undefined,
): readonly Move[] {
  const found: Move[] = []
  for (let count = 1; count * grain <= mostOnes * one * (1 + noise); count++) {
    for (const side of [1, -1] as const) {
      const amount = clean(side * count * grain)
      const to = clean(from + amount)
      if (side > 0 ? to > high + noise : to < low - noise) continue
      const move = make(to, amount)
      if (move !== undefined) found.push({ ...move, side, asks: clean((count * grain) / one) })
    }
  }
  return found
}

/** A change of the profile's numbers alone. */
export function inSettings(change: (profile: Profile) => Partial<Profile>): (numbers: Numbers) => Numbers {
  return numbers => {
    const { profile } = numbers.bench
    return { ...numbers, bench: { ...numbers.bench, profile: { ...profile, ...change(profile) } } }
  }
}

/**
 * A change of what is set for some groups of cores.
 * @param groups by their place in the part; the first stands for all cores of a plain part
 */
export function inGroups(
  groups: readonly number[],
  change: (settings: GroupSettings) => Partial<GroupSettings>,
): (numbers: Numbers) => Numbers {
  return inSettings(profile => {
    // What is set for the first group stands in the profile itself as well.
    const own = groups.includes(0) ? change(profile) : {}
    if (profile.groups === undefined) return own
    return { ...own, groups: profile.groups.map((one, at) => (groups.includes(at) ? { ...one, ...change(one) } : one)) }
  })
}

/** A statement, and the groups that it counts for. */
export interface ForGroups {
  readonly sourced: Sourced | undefined
  /** By their place in the part. */
  readonly groups: readonly number[]
  /** The name that it is found by; undefined for a plain part. */
  readonly name: string | undefined
  /** The name that it states; undefined where it is for every group. */
  readonly stated: string | undefined
}

/** Each statement of its kind once, with the groups that it counts for. */
export function forGroups(
  { part }: ResolvedProfile,
  find: (name: string | undefined) => Sourced | undefined,
): readonly ForGroups[] {
  const { groups: names } = partNames(part)
  const found: { sourced: Sourced | undefined; groups: number[]; name: string | undefined }[] = []
  for (const [index, name] of (names.length === 0 ? [undefined] : names).entries()) {
    const sourced = find(name)
    const same = found.find(one => one.sourced?.match === sourced?.match)
    if (same === undefined) found.push({ sourced, groups: [index], name })
    else same.groups.push(index)
  }
  return found.map(one => ({ ...one, stated: one.sourced && nameAfter(one.sourced.match) }))
}

/** A key word with the name of a group behind it, where there is one. */
export const wordOf = (word: string, stated: string | undefined): string =>
  stated === undefined ? word : `${word} ${stated}`

/** A value in the unit of another as the language writes it, and what that reads as in the base unit. */
export function written(
  { unit }: Pick<Quantity, 'unit'>,
  base: number,
): { readonly text: string; readonly value: number } {
  const digits = withoutZeros(fromBase(base, unit).toFixed(6))
  return { text: unit.symbol === 'x' ? `${digits}x` : `${digits} ${unit.symbol}`, value: toBase(Number(digits), unit) }
}

/** Where a value stands, without a `±` behind it. */
export function valueSpan(chunk: Chunk, { start, end }: Span): Span {
  const text = chunk.text.slice(start, end)
  return { start, end: start + (text.split(/±|\+-|\+−/, 1)[0] ?? text).trimEnd().length }
}

interface Rewrite extends Span {
  readonly text: string
}

function rewritten({ match, definition }: Sourced, changes: readonly Rewrite[]): string {
  const { start, end } = match.statement
  const { text } = definition.chunk
  let result = ''
  let at = start
  for (const change of changes) {
    result += text.slice(at, change.start) + change.text
    at = change.end
  }
  return result + text.slice(at, end)
}

/**
 * Rewrites stretches of a statement in the profile itself: where it inherits the statement, it states all of it.
 * @param changes in order
 */
export function restate(
  profile: ResolvedProfile,
  sourced: Sourced,
  block: 'limits' | 'voltage' | undefined,
  changes: readonly Rewrite[],
): readonly FixEdit[] {
  const own = profile.definition
  if (sourced.definition === own) return changes.map(change => replace(own, change, change.text))
  const edit = stateIn(own, block, rewritten(sourced, changes))
  return edit === undefined ? [] : [edit]
}
