import type { Match } from '../../grammar/values.ts'
import type { Place } from '../../grammar/vocabulary/index.ts'
import { defaultOf, entry, mentions, pureNumber, quantity } from './definitions.ts'

/** Gathering of plain numbers out of a block, with what was missing, assumed or uncertain. */

/** A constant with a stated standard uncertainty: where it goes in the model's input. */
export interface UncertainConstant {
  readonly target: 'part' | 'cooler' | 'load'
  readonly field: string
  /** For fields that are tables: the row. */
  readonly index?: number
  /** In the field's unit. */
  readonly standardUncertainty: number
}

export interface Gathering {
  readonly block: Match
  readonly place: Place
  readonly target: UncertainConstant['target']
  /** Key words that are required and do not stand in the block. */
  readonly missing: string[]
  /** Key words that stand there on a line in error. */
  readonly broken: string[]
  /** Defaults used, in the language's spelling. */
  readonly assumed: string[]
  readonly uncertain: UncertainConstant[]
}

export function gatherFrom(block: Match, place: Place, target: UncertainConstant['target']): Gathering {
  return { block, place, target, missing: [], broken: [], assumed: [], uncertain: [] }
}

/** Notes that a key word gives no value: missing, or there but in error. */
export function noteMissing(gathering: Gathering, word: string): void {
  const list = mentions(gathering.block, word) ? gathering.broken : gathering.missing
  if (!list.includes(word)) list.push(word)
}

/** A statement, or a note that it is missing. */
export function required(gathering: Gathering, word: string): Match | undefined {
  const found = entry(gathering.block, word)
  if (found === undefined) noteMissing(gathering, word)
  return found
}

/**
 * A number in base units. Without the statement its default counts and is noted as assumed; without a
 * default it is noted as missing and NaN stands in its place: such input never reaches the model.
 */
export function numberOf(gathering: Gathering, word: string, field: string): number {
  const found = entry(gathering.block, word)
  if (found === undefined) {
    const fallback = mentions(gathering.block, word) ? undefined : defaultOf(gathering.place, word)
    if (fallback?.value === undefined) {
      noteMissing(gathering, word)
      return Number.NaN
    }
    gathering.assumed.push(`${word} ${fallback.text}`)
    return fallback.value
  }
  const value = quantity(found) ?? pureNumber(found)
  if (value === undefined) return Number.NaN
  if (value.uncertainty !== undefined) {
    gathering.uncertain.push({ target: gathering.target, field, standardUncertainty: value.uncertainty })
  }
  return value.value
}

/** A number that may be absent without anything taking its place. */
export function optionalNumber(gathering: Gathering, word: string): number | undefined {
  const found = entry(gathering.block, word)
  return found === undefined ? undefined : (quantity(found) ?? pureNumber(found))?.value
}
