/** The fitted constants as edits of the lines that state them, with `±`. */

import type { Chunk, Statement } from '../../../grammar/tree.ts'
import { baseUnit, type Dimension, findUnit, type Unit } from '../../../grammar/units/units.ts'
import type { Match } from '../../../grammar/values.ts'
import { usualLeakageAt } from '../../../grammar/vocabulary/usual-values.ts'
import { type Definition, entries, entry, pureNumber, quantity, rows } from '../../semantic/definitions.ts'
import { correlationIn } from '../../semantic/gather.ts'
import { groupBlocks } from '../../semantic/group-constants.ts'
import { withUncertainty } from '../../wording/uncertain.ts'
import { constantKey, type FittedConstant } from './fit.ts'
import type { RunsFit } from './runs.ts'

/** In the chunk's offsets. */
export interface FitEdit {
  readonly chunk: Chunk
  readonly start: number
  readonly end: number
  readonly text: string
  /** How many constants it writes. */
  readonly constants: number
  /** The comment on the line, where it calls the value a guess, which it was. */
  readonly guess?: { readonly label: string; readonly comment: string }
}

/** What is written of a fit. */
export interface FittedConstants extends Pick<RunsFit, 'part' | 'coolers' | 'needsSlopes'> {
  readonly constants: readonly FittedConstant[]
  /** Of `constants`, row by row. */
  readonly correlation: readonly (readonly number[])[]
  /** The names of the runs that counted. */
  readonly runs: readonly string[]
}

/** What a fit found, as it is written; nothing where nothing was fitted. */
export function fittedConstants({ part, coolers, needsSlopes, result, used }: RunsFit): FittedConstants {
  const { constants = [], correlation = [] } = 'constants' in result ? result : {}
  return { part, coolers, needsSlopes, constants, correlation, runs: used.map(({ run }) => run) }
}

/** A constant as it stands in the files after a fit. */
export interface WrittenConstant {
  readonly fitted: FittedConstant
  /** Value and `±`. */
  readonly text: string
  /** Undefined for a pure number. */
  readonly unit: Unit | undefined
}

export interface FitEdits {
  readonly edits: readonly FitEdit[]
  /** In the order of the part's constants and then the coolers'. */
  readonly written: readonly WrittenConstant[]
}

interface Change {
  /** Undefined for the slope of the needs, which has no prior. */
  readonly fitted?: FittedConstant
  readonly word: string
  readonly label: string
  /** The group in whose block it stands. */
  readonly group?: string
  readonly value: number
  readonly standardUncertainty: number
  readonly dimension: Dimension | undefined
  /** For rows of the radiator: which, by rising duty. */
  readonly row?: number
}

/** The block that a constant stands in. @param group undefined: that of the definition itself */
function blockOf({ match }: Definition, group: string | undefined): Match {
  return groupBlocks(match).find(({ name }) => name === group)?.block ?? match
}

/** The statement whose value a change replaces, and the value's place in it. */
function placeOf(
  definition: Definition,
  { word, label, row, group }: Pick<Change, 'word' | 'label' | 'row' | 'group'>,
): { start: number; end: number; unit: Unit | undefined } | undefined {
  const found = entry(blockOf(definition, group), word)
  if (found === undefined) return undefined
  if (word === 'module') {
    const figure = entry(found, label.slice('module '.length))
    const own = figure && quantity(figure)
    return own && { start: own.start, end: own.end, unit: own.unit }
  }
  if (row !== undefined) {
    const sorted = rows(found).toSorted((a, b) => (quantity(a, 'duty')?.value ?? 0) - (quantity(b, 'duty')?.value ?? 0))
    const own = sorted[row] && quantity(sorted[row], 'resistance')
    return own && { start: own.start, end: own.end, unit: own.unit }
  }
  const own = quantity(found) ?? quantity(found, 'power')
  if (own !== undefined) return { start: own.start, end: own.end, unit: own.unit }
  const pure = pureNumber(found)
  return pure && { start: pure.start, end: pure.end, unit: undefined }
}

function insertion(definition: Definition, behind: Statement, lines: readonly MissingLine[]): FitEdit {
  const { chunk } = definition
  const from =
    Math.max(chunk.text.lastIndexOf('\n', behind.start - 1), chunk.text.lastIndexOf('\r', behind.start - 1)) + 1
  const before = chunk.text.slice(from, behind.start)
  // In a block on one line statements are separated by `;`; otherwise the new line is indented like the one before it.
  const isWholeLine = /^\s*$/.test(before)
  const lineBreak = chunk.text.includes('\r\n') ? '\r\n' : '\n'
  const text = lines.map(line => (isWholeLine ? `${lineBreak}${before}${line.text}` : `; ${line.text}`)).join('')
  const end = lineEnd(chunk.text, behind.end, isWholeLine)
  return { chunk, start: end, end, text, constants: constantsIn(lines) }
}

const constantsIn = (lines: readonly MissingLine[]): number => lines.reduce((sum, line) => sum + line.constants, 0)

/** A block with nothing in it, such as that of a cooler whose constants all count as usual. */
function filled({ chunk }: Definition, match: Match, lines: readonly MissingLine[]): readonly FitEdit[] {
  const { open, close } = match.statement.block ?? {}
  if (open === undefined || close === undefined || chunk.text.slice(open.end, close.start).trim() !== '') return []
  const lineBreak = chunk.text.includes('\r\n') ? '\r\n' : '\n'
  const text = `${lineBreak}${lines.map(line => `  ${line.text}${lineBreak}`).join('')}`
  return [{ chunk, start: open.end, end: close.start, text, constants: constantsIn(lines) }]
}

/** Behind a statement's comment, where a new line follows. */
function lineEnd(text: string, at: number, isWholeLine: boolean): number {
  if (!isWholeLine) return at
  const end = text.slice(at).search(/\r|\n/)
  return end < 0 ? text.length : at + end
}

/** A whole line with its line end, or a statement with the `;` behind or before it. */
function removal(chunk: Chunk, { start, end }: Statement): FitEdit {
  const { text } = chunk
  let from = start
  while (from > 0 && /[^\S\r\n]/.test(text.charAt(from - 1))) from--
  const isWholeLine = from === 0 || /[\r\n]/.test(text.charAt(from - 1))
  if (isWholeLine) {
    const to = lineEnd(text, end, true)
    const after = text.startsWith('\r\n', to) ? to + 2 : Math.min(text.length, to + 1)
    return { chunk, start: from, end: after, text: '', constants: 0 }
  }
  const behind = /^\s*;/.exec(text.slice(end))?.[0].length ?? 0
  return { chunk, start: from, end: end + behind, text: '', constants: 0 }
}

/** A constant that was left out is worth a line from this share on of what the runs teach about it; engineering judgement. */
const LEAST_LEARNED = 0.02

function changesOf(
  constants: readonly FittedConstant[],
  definition: Definition,
  target: 'part' | 'cooler',
  owner = definition.name,
): Change[] {
  const own = constants.filter(({ constant }) => constant.target === target && constant.owner === owner)
  const isWorthIt = (one: FittedConstant): boolean => {
    const { word, from } = one.constant
    // The figures of a module are written where they stand; beside those of its datasheet they would contradict it.
    if (word === 'module') return placeOf(definition, changeOf(one)) !== undefined
    // What an earlier fit has written stays written.
    const stands = entry(blockOf(definition, one.constant.group), word) !== undefined
    return from !== 'usual' || stands || one.learned >= LEAST_LEARNED
  }
  // The rows of a table that was left out are written together, or not at all.
  const tables = new Set(
    own.filter(one => one.constant.row !== undefined && isWorthIt(one)).map(({ constant }) => constant.word),
  )
  return own
    .filter(one => isWorthIt(one) || (one.constant.row !== undefined && tables.has(one.constant.word)))
    .map(changeOf)
}

function changeOf(fitted: FittedConstant): Change {
  const { constant, value, standardUncertainty } = fitted
  const { word, label, dimension, row, group } = constant
  const where = { ...(row === undefined ? {} : { row }), ...(group === undefined ? {} : { group }) }
  return { fitted, word, label, value, standardUncertainty, dimension, ...where }
}

/** What follows the value of a word that was left out: the usual leakage holds at a voltage and a temperature. */
const behindValue: Readonly<Record<string, string>> = { leakage: ` at ${usualLeakageAt.text}` }

const guessed = /\b(?:guess\w*|estimat\w*|assum\w*|rough\w*|perhaps|probably|unsure|rule of thumb)\b/i

/** What the comment behind a value says, where it calls the value a guess. */
function guessAt(text: string, end: number, label: string): Pick<FitEdit, 'guess'> {
  const comment = /^[^#"\r\n]*#\s*([^\r\n]*)/.exec(text.slice(end))?.[1]?.trim()
  return comment !== undefined && guessed.test(comment) ? { guess: { label, comment } } : {}
}

/** The line of what is not stated: of a table all its rows. */
interface MissingLine {
  readonly text: string
  readonly constants: number
}

interface ChangeEdits {
  readonly edits: FitEdit[]
  readonly missing: MissingLine[]
  readonly written: WrittenConstant[]
}

function editsOf(definition: Definition, changes: readonly Change[]): ChangeEdits {
  const edits: FitEdit[] = []
  const all: WrittenConstant[] = []
  const missing: MissingLine[] = []
  const missingRows = new Map<string, string[]>()
  for (const change of changes) {
    const at = placeOf(definition, change)
    const own = at?.unit ?? (change.dimension === undefined ? undefined : findUnit(baseUnit[change.dimension]))
    const written = withUncertainty(change.value, change.standardUncertainty, own)
    if (change.fitted !== undefined) all.push({ fitted: change.fitted, text: written, unit: own })
    if (at === undefined && change.row !== undefined) {
      const others = missingRows.get(change.word) ?? []
      missingRows.set(change.word, [...others, `${change.label.slice(change.word.length + 1)} ${written}`])
    } else if (at === undefined)
      missing.push({ text: `${change.word} ${written}${behindValue[change.word] ?? ''}`, constants: 1 })
    else if (definition.chunk.text.slice(at.start, at.end) !== written)
      edits.push({
        chunk: definition.chunk,
        start: at.start,
        end: at.end,
        text: written,
        constants: 1,
        ...guessAt(definition.chunk.text, at.end, change.label),
      })
  }
  for (const [word, rows] of missingRows)
    missing.push({ text: `${word} { ${rows.join('; ')} }`, constants: rows.length })
  return { edits, missing, written: all }
}

/**
 * The lines that speak of a constant that is fitted again.
 * @param fitted names as correlations have them, behind the kind that of the definition
 */
function outdated({ kind, name, match }: Definition, fitted: ReadonlySet<string>): readonly Match[] {
  return entries(match, 'correlated').filter(line => {
    const found = correlationIn(line, kind as 'part')
    if (found === undefined) return false
    const owned = (constant: string, owner: string): boolean => fitted.has(constant.replace(' ', ` ${owner} `))
    return owned(found.first, name) || owned(found.second, found.cooler ?? name)
  })
}

/**
 * The edits that put a fit's constants in the place of the stated ones, each with its `±`, and what the companion file says
 * of each constant that is written. None where nothing was fitted. They do not overlap.
 */
export function fitEdits(fit: FittedConstants): FitEdits {
  const { part, coolers, constants, needsSlopes } = fit
  const partChanges = changesOf(constants, part, 'part')
  for (const slope of needsSlopes) {
    if (!slope.known) continue
    const { valueVPerK: value, standardUncertainty, group } = slope
    const label = group === undefined ? 'needs-slope' : `needs-slope of ${group}`
    const where = group === undefined ? {} : { group }
    partChanges.push({
      word: 'needs-slope',
      label,
      ...where,
      value,
      standardUncertainty,
      dimension: 'voltage-per-kelvin',
    })
  }
  const all = constants.map(({ constant }) => constantKey(constant))
  const fitted = new Set([...all, ...partChanges.map(({ label }) => `part ${part.name} ${label}`)])
  const found = [editsIn(part, partChanges, fitted)]
  for (const [name, definition] of coolers)
    found.push(editsIn(definition, changesOf(constants, definition, 'cooler', name), fitted))
  return { edits: found.flatMap(one => one.edits), written: found.flatMap(one => one.written) }
}

/** The changed constants of one definition; correlations of them that stand there are out of date. */
function editsIn(definition: Definition, changes: readonly Change[], fitted: ReadonlySet<string>): FitEdits {
  const old = outdated(definition, fitted)
  const { chunk } = definition
  const edits = old.map(match => removal(chunk, match.statement))
  const gone = new Set(old.map(({ statement }) => statement))
  const written: WrittenConstant[] = []
  const groups = new Set([undefined, ...changes.map(({ group }) => group)])
  for (const group of groups) {
    const own = editsOf(
      definition,
      changes.filter(change => change.group === group),
    )
    edits.push(...own.edits)
    written.push(...own.written)
    if (own.missing.length === 0) continue
    const block = blockOf(definition, group)
    const behind = block.statement.block?.statements.findLast(statement => !gone.has(statement))
    if (behind !== undefined) edits.push(insertion(definition, behind, own.missing))
    else edits.push(...filled(definition, block, own.missing))
  }
  return { edits, written }
}
