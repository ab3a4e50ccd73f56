/** Settings of a profile and of its part, read one by one: these checks work on a bench that is not complete yet. */

import type { Span } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import { isAttempted } from './attempted.ts'
import { counts, entry, mentions, pureNumber, quantity, range } from './definitions.ts'
import { coresIn, groupBlocks } from './group-constants.ts'
import type { GroupView } from './group-view.ts'
import { type ResolvedProfile, type Sourced, tableRows } from './profile.ts'

/** Ratios are written in decimals; two that agree this closely are the same. */
export const sameRatio = 1e-9

export interface CountsRow {
  readonly sourced: Sourced
  readonly from: number
  readonly to: number
  /** Where the counts stand, in the chunk of the row. */
  readonly countsSpan: Span
}

export interface StepsRow extends CountsRow {
  readonly ratio: number
  readonly ratioSpan: Span
}

export interface BandsRow extends CountsRow {
  readonly aboveC: number
  readonly drop: number
  readonly dropSpan: Span
}

function spanOf({ start, end }: Span): Span {
  return { start, end }
}

function countsRow(sourced: Sourced): CountsRow | undefined {
  const found = counts(sourced.match, 'cores')
  return found && { sourced, from: found.from, to: found.to, countsSpan: spanOf(found) }
}

/** The sound rows of `steps`, in the order of the text. */
export function stepsRows(profile: ResolvedProfile, group?: string): readonly StepsRow[] {
  return tableRows(profile, 'steps', group).flatMap(sourced => {
    const row = countsRow(sourced)
    const ratio = quantity(sourced.match, 'ratio')
    return row === undefined || ratio === undefined ? [] : [{ ...row, ratio: ratio.value, ratioSpan: spanOf(ratio) }]
  })
}

/** The sound rows of `bands`, in the order of the text. */
export function bandsRows(profile: ResolvedProfile, group?: string): readonly BandsRow[] {
  return tableRows(profile, 'bands', group).flatMap(sourced => {
    const row = countsRow(sourced)
    const above = quantity(sourced.match, 'above')
    const drop = quantity(sourced.match, 'drop')
    if (row === undefined || above === undefined || drop === undefined) return []
    return [{ ...row, aboveC: above.value, drop: drop.value, dropSpan: spanOf(drop) }]
  })
}

/**
 * Core counts that the rows of a table speak of; undefined where a row does not read so far, because then
 * nobody can tell what it covers.
 */
export function coveredCounts(table: Sourced): readonly { readonly from: number; readonly to: number }[] | undefined {
  const found: { from: number; to: number }[] = []
  for (const child of table.match.children) {
    if (child.word !== undefined && child.word.word !== '') continue
    const row = child.word === undefined ? undefined : counts(child, 'cores')
    if (row === undefined) return undefined
    found.push({ from: Math.min(row.from, row.to), to: Math.max(row.from, row.to) })
  }
  return found
}

/** Runs of core counts from 1 to `cores` that no row covers. */
export function missingCounts(
  rows: readonly { readonly from: number; readonly to: number }[],
  cores: number,
): readonly { readonly from: number; readonly to: number }[] {
  const found: { from: number; to: number }[] = []
  for (let count = 1; count <= cores; count++) {
    if (rows.some(row => count >= row.from && count <= row.to)) continue
    const last = found.at(-1)
    if (last !== undefined && last.to === count - 1) last.to = count
    else found.push({ from: count, to: count })
  }
  return found
}

/** A profile, or what one group of its part's cores sees of it. */
type Seen = ResolvedProfile & Partial<Pick<GroupView, 'group'>>

/** What the part states of the cores: in the group's block where that has the word, else of all. */
function ofCores({ part, group }: Seen, word: string): Match | undefined {
  if (part === undefined) return undefined
  const block = group === undefined ? undefined : groupBlocks(part.match).find(({ name }) => name === group)?.block
  const own = block && entry(block, word)
  return own ?? (block !== undefined && mentions(block, word) ? undefined : entry(part.match, word))
}

/** How many cores the profile's part has, or those of the group that it is seen for; undefined where that is not known. */
export function partCores(profile: Seen): number | undefined {
  const { part, group } = profile
  if (part === undefined) return undefined
  if (group === undefined) return coresIn(part.match)
  const found = ofCores(profile, 'cores')
  return found && pureNumber(found)?.value
}

/** The lowest and the highest ratio of the profile's part, or of the group that it is seen for, if they are known. */
export function partRatios(profile: Seen): { readonly low: number; readonly high: number } | undefined {
  const found = ofCores(profile, 'ratio')
  const value = found && range(found)
  return value && { low: value.low.value, high: value.high.value }
}

/** The core voltages that the profile's part allows, or the group that it is seen for, if they are known. */
export function partVoltages(profile: Seen): { readonly lowV: number; readonly highV: number } | undefined {
  const found = ofCores(profile, 'core-voltage')
  const value = found && range(found)
  return value && { lowV: value.low.value, highV: value.high.value }
}

/** The ratio step of the profile's part; the default of 1x where it states none. */
export function partRatioStep(profile: ResolvedProfile): number | undefined {
  const { part } = profile
  if (part === undefined) return undefined
  const found = entry(part.match, 'ratio-step')
  if (found !== undefined) return quantity(found)?.value
  return mentions(part.match, 'ratio-step') || isAttempted(part.match.children, 'ratio-step') ? undefined : 1
}

/** The ratio given back under vector loads; 0 where the profile states none. */
export function vectorDrop(profile: ResolvedProfile): number {
  const found = profile.key('vector')
  return (found && quantity(found.match)?.value) ?? 0
}
