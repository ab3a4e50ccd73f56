/** Statements that overlay a bench for one call, read as the language reads them; each error names its place. */

import { parseFile } from '../../../grammar/file.ts'
import { matchChunk } from '../../../grammar/match.ts'
import type { Chunk } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { checks } from '../../checks/registry.ts'
import { type Definition, readChunk } from '../../semantic/definitions.ts'
import type { Sourced } from '../../semantic/profile.ts'
import { overlayName } from './places.ts'

/** An overlay that cannot be used: one line for a person, which names the place. */
export class OverlayTrouble extends Error {
  /** The line without its place. */
  readonly plain: string
  /** The overlay, from 1; undefined where no single one is meant. */
  readonly number: number | undefined
  /** Where in its text; undefined where all of it is meant. */
  readonly offset: number | undefined

  constructor(plain: string, number?: number, offset?: number) {
    const column = offset === undefined ? '' : `, column ${offset + 1}`
    super(number === undefined ? plain : `${overlayName(number)}${column}: ${plain}`)
    this.plain = plain
    this.number = number
    this.offset = offset
  }
}

/** One argument, read. */
export interface Overlay {
  /** Counted from 1. */
  readonly number: number
  readonly text: string
  /** The definition that it changes or adds; undefined where it changes profiles. */
  readonly definition: Definition | undefined
  /** Its statements, in offsets of `chunk`. */
  readonly statements: readonly Match[]
  readonly chunk: Chunk
  /** Where the argument begins in the chunk. */
  readonly base: number
}

/** Findings that say a line cannot be read; others judge what it says, once it is in place. */
const reading: ReadonlySet<string> = new Set([
  ...['syntax', 'unknown-word', 'unit-missing', 'unit-mismatch', 'range-reversed', 'value-range'],
])
const readingChecks = checks.filter(({ code }) => reading.has(code))

const overlaid = ['part', 'cooler', 'room', 'board', 'load', 'course'] as const
const refused = ['detent', 'use', 'run', 'profile'] as const

const onlyOne = 'Only one definition fits here: the next needs one of its own.'

const [head, tail] = ['profile overlaid {\n', '\n}']

function troubleAt(number: number | undefined, offset: number, message: string): OverlayTrouble {
  return new OverlayTrouble(message, number, offset)
}

/** The first place that does not read. A cooler that is there has its kind: the head may leave it out. */
function firstTrouble(chunk: Chunk): { readonly start: number; readonly message: string } | undefined {
  const [first] = chunk.statements
  const isCooler = first?.items[0]?.kind === 'word' && first.items[0].text === 'cooler' && first.items.length === 2
  const inHead = isCooler ? (first.block?.start ?? 0) : -1
  const found = readingChecks
    .flatMap(check => [...(check.inChunk?.(chunk) ?? [])])
    .filter(({ at }) => at.start > inHead)
  const [worst] = found.sort((a, b) => a.at.start - b.at.start)
  return worst === undefined ? undefined : { start: worst.at.start, message: worst.message }
}

interface Reading {
  readonly chunk: Chunk
  readonly statements: readonly Match[]
  /** Where the argument begins in the chunk. */
  readonly base: number
}

/**
 * Reads an argument between two texts that make a definition of it.
 * @param number of the overlay, from 1; undefined for another argument
 */
function readBetween(text: string, [before, after]: readonly [string, string], number: number | undefined): Reading {
  const source = parseFile(`${before}${text}${after}`)
  const [only, more] = source.chunks
  if (only === undefined || more !== undefined) {
    throw troubleAt(number, Math.max(0, (more?.start ?? 0) - before.length), onlyOne)
  }
  const { chunk } = only
  const base = before.length
  const trouble = firstTrouble(chunk)
  if (trouble !== undefined) {
    throw troubleAt(number, Math.min(Math.max(0, trouble.start - base), text.length), trouble.message)
  }
  const [block, ...others] = matchChunk(chunk)
  const [extra] = others
  if (extra !== undefined) {
    throw troubleAt(number, extra.statement.start - base, onlyOne)
  }
  const statements = block?.children ?? []
  const unsound = statements.find(({ sound }) => !sound)
  if (unsound !== undefined) {
    throw troubleAt(number, Math.max(0, unsound.statement.start - base), 'This cannot be read.')
  }
  return { chunk, statements, base }
}

/**
 * Reads an argument: a definition with a block, or statements of a profile.
 * Errors: `OverlayTrouble` with the place in the argument.
 * @param number of the argument, from 1
 */
export function readOverlay(text: string, number: number): Overlay {
  const first = /^\s*([\p{L}_][\p{L}\p{N}_-]*)/u.exec(text)?.[1] ?? ''
  if (text.trim() === '') throw troubleAt(number, 0, 'No statement given.')
  if ((refused as readonly string[]).includes(first)) {
    throw troubleAt(number, text.indexOf(first), `\`${first}\` cannot be overlaid: write its statements instead.`)
  }
  const isDefinition = (overlaid as readonly string[]).includes(first) && text.includes('{')
  if ((first === 'load' || first === 'course') && !isDefinition) {
    throw troubleAt(number, text.indexOf(first), `A ${first} needs its block: \`${first} NAME { … }\`.`)
  }
  const reading = readBetween(text, isDefinition ? ['', ''] : [head, tail], number)
  const definition = isDefinition ? readChunk(reading.chunk).definitions[0] : undefined
  if (isDefinition && definition === undefined) throw troubleAt(number, 0, `Write it as \`${first} NAME { … }\`.`)
  return { number, text, definition, ...reading }
}

/** An expectation in a profile of its own. */
export interface ReadExpectation {
  readonly sourced: Sourced
  /** The column of the argument, from 1, at an offset of the expectation's chunk. */
  columnAt(offset: number): number
}

/**
 * Reads what stands behind `expect`, or with it.
 * Errors: `OverlayTrouble` with the place in the argument.
 */
export function readExpectation(text: string): ReadExpectation {
  const isWhole = /^\s*expect\s/.test(text)
  if (text.trim() === '') throw troubleAt(undefined, 0, 'None is given: write it as behind `expect`.')
  const { chunk, statements, base } = readBetween(text, [isWhole ? head : `${head}expect `, tail], undefined)
  const [match, more] = statements
  const [definition] = readChunk(chunk).definitions
  if (match === undefined || definition === undefined) throw troubleAt(undefined, 0, 'This cannot be read.')
  if (more !== undefined) throw troubleAt(undefined, text.length, 'Name one expectation alone.')
  return { sourced: { match, definition }, columnAt: offset => offset - base + 1 }
}
