/** Gathering of plain numbers out of a block, with what was missing, assumed or uncertain. */

import type { Match } from '../../grammar/values.ts'
import { correlates } from '../../grammar/vocabulary/fitted-of-cooler.ts'
import type { CoolerKind, Place } from '../../grammar/vocabulary/index.ts'
import { type UsualValue, usualAmount, usualText, usualValueOf } from '../../grammar/vocabulary/usual-values.ts'
import { defaultOf, entry, mentions, pureNumber, quantity, text } from './definitions.ts'

/** One number of the model's input that a constant moves, and by how much for each unit of the constant. */
export interface FieldChange {
  readonly target: 'part' | 'cooler' | 'board' | 'load'
  readonly field: string
  /** The group of the part, or the supply rail of the board, that the field is of; absent: the whole definition. */
  readonly of?: string
  /** For fields that are tables: the row, and the column in it. */
  readonly row?: { readonly index: number; readonly column: string }
  readonly per: number
}

/** A constant of the bench that carries an uncertainty: stated, or that of its usual value. */
export interface UncertainConstant {
  /** The key word, with the definition's kind before it: `part switching`. */
  readonly name: string
  readonly standardUncertainty: number
  /** Of a constant that is left out: one geometric standard deviation, a factor. Its logarithm is normal then. */
  readonly spread?: number
  readonly changes: readonly FieldChange[]
}

/** What counts for a word that is left out. */
export interface UsualFigures {
  readonly word: string
  /** As it is written behind the word. */
  readonly text: string
  readonly spread: number
  /** As it stands in `assumed`. */
  readonly assumed: string
}

/** How the errors of two constants are correlated. */
export interface Correlation {
  /** Names as in `UncertainConstant`. */
  readonly first: string
  readonly second: string
  readonly coefficient: number
  /** The cooler whose constant the second is, or both are, where a line names one. */
  readonly cooler?: string
}

/** What a `correlated` line says; undefined where it does not read. */
export function correlationIn(line: Match, place: Place): Correlation | undefined {
  const firstWord = text(line, 'first')?.text ?? ''
  const firstOf = place !== 'fitted' ? place : correlates(firstWord) ? 'cooler' : 'part'
  const nameOf = (word: string, duty: string, owner: string): string | undefined => {
    const [found, row] = [text(line, word)?.text, quantity(line, duty)?.value]
    const group = text(line, `${word}-group`)?.text
    const of = group === undefined ? '' : ` of ${group}`
    return found && `${owner} ${found}${row === undefined ? '' : ` ${row} %`}${of}`
  }
  const cooler = text(line, 'cooler')?.text
  const first = nameOf('first', 'first-duty', firstOf)
  const second = nameOf('second', 'duty', cooler === undefined ? firstOf : 'cooler')
  const coefficient = pureNumber(line)?.value
  if (first === undefined || second === undefined || coefficient === undefined) return undefined
  return { first, second, coefficient, ...(cooler === undefined ? {} : { cooler }) }
}

export interface Gathering {
  readonly block: Match
  readonly place: Place
  readonly target: FieldChange['target']
  /** Of a part, for usual values that depend on it; NaN where it does not say. */
  readonly cores: number
  /** Key words that are required and do not stand in the block. */
  readonly missing: string[]
  /** Key words that stand there on a line in error. */
  readonly broken: string[]
  /** Defaults used, in the language's spelling. */
  readonly assumed: string[]
  /** Those of them that are usual values. */
  readonly usual: UsualFigures[]
  readonly uncertain: UncertainConstant[]
  readonly correlated: Correlation[]
}

export function gatherFrom(block: Match, place: Place, target: FieldChange['target']): Gathering {
  const stated = place === 'part' ? entry(block, 'cores') : undefined
  const cores = (stated && pureNumber(stated)?.value) ?? Number.NaN
  return { block, place, target, cores, missing: [], broken: [], assumed: [], usual: [], uncertain: [], correlated: [] }
}

/** Notes a constant's uncertainty; zero counts as not stated. */
export function noteUncertain(
  gathering: Gathering,
  word: string,
  standardUncertainty: number | undefined,
  changes: readonly Omit<FieldChange, 'target'>[],
): void {
  if (standardUncertainty === undefined || !(standardUncertainty > 0)) return
  const { target } = gathering
  gathering.uncertain.push({
    name: `${gathering.place} ${word}`,
    standardUncertainty,
    changes: changes.map(change => ({ target, ...change })),
  })
}

/** Notes that usual figures take the place of a word that is left out. @param text they as they are written */
export function noteUsual(gathering: Gathering, word: string, text: string, spread: number): void {
  const assumed = `${word} ${text} (factor ${spread})`
  gathering.assumed.push(assumed)
  gathering.usual.push({ word, text, spread, assumed })
}

/** Takes a usual value in the place of a constant that is left out, with its spread. @param label where it is a row's */
export function takeUsual(
  gathering: Gathering,
  label: string,
  value: UsualValue,
  change: Omit<FieldChange, 'target' | 'per'>,
): number {
  const { target, place, cores } = gathering
  const amount = usualAmount(value, cores)
  const standardUncertainty = amount * Math.log(value.spread)
  const changes = [{ target, per: 1, ...change }]
  gathering.uncertain.push({ name: `${place} ${label}`, standardUncertainty, spread: value.spread, changes })
  return amount
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
 * A number in base units. Without the statement its usual value or its default counts and is noted as assumed; without
 * either it is noted as missing and NaN stands in its place: such input never reaches the model.
 * @param kind of the cooler, for a default that differs by it
 */
export function numberOf(gathering: Gathering, word: string, field: string, kind?: CoolerKind): number {
  const found = entry(gathering.block, word)
  if (found === undefined) {
    const isLeftOut = !mentions(gathering.block, word)
    const { place } = gathering
    const usual = isLeftOut && (place === 'part' || place === 'cooler') ? usualValueOf(place, word, kind) : undefined
    if (usual !== undefined) {
      noteUsual(gathering, word, usualText(usual, gathering.cores), usual.spread)
      return takeUsual(gathering, word, usual, { field })
    }
    const fallback = isLeftOut ? defaultOf(place, word, kind) : undefined
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
    noteUncertain(gathering, word, value.uncertainty, [{ field, per: 1 }])
  }
  return value.value
}

/** A number that may be absent without anything taking its place. */
export function optionalNumber(gathering: Gathering, word: string): number | undefined {
  const found = entry(gathering.block, word)
  return found === undefined ? undefined : (quantity(found) ?? pureNumber(found))?.value
}
