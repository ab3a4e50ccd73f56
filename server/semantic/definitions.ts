/** Names and keys of a chunk: what it defines, what it uses, what it allows. Still one file, no other file is looked at. */

import { matchChunk } from '../../grammar/match.ts'
import { onceFor } from '../../grammar/once.ts'
import type { Chunk, Span } from '../../grammar/tree.ts'
import type { CountRange, Match, PureNumber, Quantity, RangeValue, TextValue, Value } from '../../grammar/values.ts'
import {
  type CoolerKind,
  type Default,
  type DefinitionKind,
  findWord,
  type Place,
} from '../../grammar/vocabulary/index.ts'

export interface Definition {
  readonly kind: DefinitionKind
  readonly name: string
  /** Where the name stands, in the chunk's offsets. */
  readonly nameSpan: Span
  readonly chunk: Chunk
  readonly match: Match
  readonly coolerKind: CoolerKind | undefined
  /** The profile it starts from. */
  readonly basedOn: TextValue | undefined
}

export interface Use extends Span {
  readonly path: string
  readonly chunk: Chunk
}

/** An accepted finding: `allow CODE "reason"`. */
export interface Allow extends Span {
  readonly code: string
  readonly codeSpan: Span
  readonly reason: string
  readonly chunk: Chunk
  /** The stretch of the chunk it covers; undefined at the top level: the whole file. */
  readonly covers: Span | undefined
  /** The definition in whose own block it stands, if it does. */
  readonly definition: string | undefined
}

export interface ChunkReading {
  readonly definitions: readonly Definition[]
  readonly uses: readonly Use[]
  readonly allows: readonly Allow[]
  /** The `detent N` statements. */
  readonly versions: readonly Match[]
}

function textOf(match: Match, name: string): TextValue | undefined {
  const value = match.values.get(name)
  return value !== undefined && 'text' in value ? value : undefined
}

function definitionOf(chunk: Chunk, match: Match): Definition | undefined {
  const name = textOf(match, 'name')
  const word = match.word
  if (name === undefined || word === undefined || word.block === undefined) return undefined
  return {
    kind: word.word as DefinitionKind,
    name: name.text,
    nameSpan: { start: name.start, end: name.end },
    chunk,
    match,
    coolerKind: textOf(match, 'kind')?.text as CoolerKind | undefined,
    basedOn: word.word === 'profile' ? textOf(match, 'profile') : undefined,
  }
}

function collectAllows(
  chunk: Chunk,
  match: Match,
  parent: Match | undefined,
  definition: string | undefined,
  into: Allow[],
): void {
  if (match.sound && match.word?.word === 'allow') {
    const code = textOf(match, 'code') as TextValue
    into.push({
      code: code.text,
      codeSpan: { start: code.start, end: code.end },
      reason: textOf(match, 'reason')?.text ?? '',
      chunk,
      covers: parent === undefined ? undefined : { start: parent.statement.start, end: parent.statement.end },
      definition,
      start: match.statement.start,
      end: match.statement.end,
    })
  }
  const own = parent === undefined ? textOf(match, 'name')?.text : undefined
  for (const child of match.children) collectAllows(chunk, child, match, own, into)
}

/** Reads a chunk's names. */
export const readChunk = onceFor((chunk: Chunk): ChunkReading => {
  const definitions: Definition[] = []
  const uses: Use[] = []
  const allows: Allow[] = []
  const versions: Match[] = []
  for (const match of matchChunk(chunk)) {
    const word = match.word?.word
    if (word === 'detent') versions.push(match)
    else if (word === 'use') {
      const path = textOf(match, 'path')
      if (path !== undefined) uses.push({ path: path.text, chunk, start: path.start, end: path.end })
    } else {
      const definition = definitionOf(chunk, match)
      if (definition !== undefined) definitions.push(definition)
    }
    collectAllows(chunk, match, undefined, undefined, allows)
  }
  return { definitions, uses, allows, versions }
})

/** The group or supply rail that a statement is for, by the name behind its key word; undefined where it has none. */
export function nameAfter(match: Match): string | undefined {
  return (textOf(match, 'group') ?? textOf(match, 'rail'))?.text
}

/** The statements of a block with this key word, sound ones only, in order; those for one group among them. */
export function entries(block: Match, word: string): readonly Match[] {
  return block.children.filter(child => child.sound && child.word?.word === word)
}

/**
 * The statement with this key word; where it is given twice, the last counts.
 * @param name of the group or rail that it is for: without one, that which is for none in particular
 */
export function entry(block: Match, word: string, name?: string): Match | undefined {
  const { children } = block
  // Asked more often than anything else of a text.
  for (let at = children.length - 1; at >= 0; at--) {
    const child = children[at] as Match
    if (child.word?.word === word && child.sound && nameAfter(child) === name) return child
  }
  return undefined
}

/** Whether the key word stands in the block, even on a line in error, other than for one group or rail alone. */
export function mentions(block: Match, word: string): boolean {
  return block.children.some(child => child.word?.word === word && !(child.sound && nameAfter(child) !== undefined))
}

/** The sound rows of a table. */
export function rows(table: Match): readonly Match[] {
  return table.children.filter(child => child.sound && child.word?.word === '')
}

function value<K extends Value['kind']>(match: Match, name: string, kind: K): Extract<Value, { kind: K }> | undefined {
  const found = match.values.get(name)
  return found?.kind === kind ? (found as Extract<Value, { kind: K }>) : undefined
}

export const quantity = (match: Match, name = 'value'): Quantity | undefined => value(match, name, 'quantity')
export const pureNumber = (match: Match, name = 'value'): PureNumber | undefined => value(match, name, 'number')
export const range = (match: Match, name = 'value'): RangeValue | undefined => value(match, name, 'range')
export const counts = (match: Match, name = 'value'): CountRange | undefined => value(match, name, 'counts')
export const text = textOf

/** The default of a key word as the vocabulary states it. @param kind of the cooler, where it is one */
export function defaultOf(place: Place, word: string, kind?: CoolerKind): Default | undefined {
  const stated = findWord(place, word)?.default
  return (kind && stated?.kinds?.[kind]) ?? stated
}
