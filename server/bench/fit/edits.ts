/** The fitted constants as edits of the lines that state them, with `±` and correlations. */

import type { Chunk, Statement } from '../../../grammar/tree.ts'
import { baseUnit, type Dimension, findUnit, type Unit } from '../../../grammar/units/units.ts'
import type { Match } from '../../../grammar/values.ts'
import { usualLeakageAt } from '../../../grammar/vocabulary/usual-values.ts'
import { type Definition, entries, entry, pureNumber, quantity, rows } from '../../semantic/definitions.ts'
import { correlationIn } from '../../semantic/gather.ts'
import { withUncertainty } from '../../wording/uncertain.ts'
import { constantKey, type FittedConstant } from './fit.ts'
import type { RunsFit } from './runs.ts'

/** In the chunk's offsets. */
export interface FitEdit {
  readonly chunk: Chunk
  readonly start: number
  readonly end: number
  readonly text: string
  /** How many constants, and how many of their correlations, it writes. */
  readonly constants: number
  readonly correlations: number
}

/** What is written of a fit. */
export interface FittedConstants extends Pick<RunsFit, 'part' | 'coolers' | 'needsSlope'> {
  readonly constants: readonly FittedConstant[]
  /** Of `constants`, row by row. */
  readonly correlation: readonly (readonly number[])[]
}

/** What a fit found, as it is written; nothing where nothing was fitted. */
export function fittedConstants({ part, coolers, needsSlope, result }: RunsFit): FittedConstants {
  const { constants = [], correlation = [] } = 'constants' in result ? result : {}
  return { part, coolers, needsSlope, constants, correlation }
}

/** Pairs correlated less than this are not worth a line. */
const LEAST_CORRELATION = 0.05

interface Change {
  readonly word: string
  readonly label: string
  readonly value: number
  readonly standardUncertainty: number
  readonly dimension: Dimension | undefined
  /** For rows of the radiator: which, by rising duty. */
  readonly row?: number
}

/** The statement whose value a change replaces, and the value's place in it. */
function placeOf(
  definition: Definition,
  { word, row }: Change,
): { start: number; end: number; unit: Unit | undefined } | undefined {
  const found = entry(definition.match, word)
  if (found === undefined) return undefined
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

function insertion(
  definition: Definition,
  behind: Statement,
  lines: readonly string[],
  written: Pick<FitEdit, 'constants' | 'correlations'>,
): FitEdit {
  const { chunk } = definition
  const from =
    Math.max(chunk.text.lastIndexOf('\n', behind.start - 1), chunk.text.lastIndexOf('\r', behind.start - 1)) + 1
  const before = chunk.text.slice(from, behind.start)
  // In a block on one line statements are separated by `;`; otherwise the new line is indented like the one before it.
  const isWholeLine = /^\s*$/.test(before)
  const lineBreak = chunk.text.includes('\r\n') ? '\r\n' : '\n'
  const text = lines.map(line => (isWholeLine ? `${lineBreak}${before}${line}` : `; ${line}`)).join('')
  const end = lineEnd(chunk.text, behind.end, isWholeLine)
  return { chunk, start: end, end, text, ...written }
}

/** A block with nothing in it, such as that of a cooler whose constants all count as usual. */
function filled(
  { chunk, match }: Definition,
  lines: readonly string[],
  written: Pick<FitEdit, 'constants' | 'correlations'>,
): readonly FitEdit[] {
  const { open, close } = match.statement.block ?? {}
  if (open === undefined || close === undefined || chunk.text.slice(open.end, close.start).trim() !== '') return []
  const lineBreak = chunk.text.includes('\r\n') ? '\r\n' : '\n'
  const text = `${lineBreak}${lines.map(line => `  ${line}${lineBreak}`).join('')}`
  return [{ chunk, start: open.end, end: close.start, text, ...written }]
}

/** Behind a statement's comment, where a new line follows. */
function lineEnd(text: string, at: number, isWholeLine: boolean): number {
  if (!isWholeLine) return at
  const end = text.slice(at).search(/\r|\n/)
  return end < 0 ? text.length : at + end
}

const nothing = { constants: 0, correlations: 0 }

/** A whole line with its line end, or a statement with the `;` behind or before it. */
function removal(chunk: Chunk, { start, end }: Statement): FitEdit {
  const { text } = chunk
  let from = start
  while (from > 0 && /[^\S\r\n]/.test(text.charAt(from - 1))) from--
  const isWholeLine = from === 0 || /[\r\n]/.test(text.charAt(from - 1))
  if (isWholeLine) {
    const to = lineEnd(text, end, true)
    const after = text.startsWith('\r\n', to) ? to + 2 : Math.min(text.length, to + 1)
    return { chunk, start: from, end: after, text: '', ...nothing }
  }
  const behind = /^\s*;/.exec(text.slice(end))?.[0].length ?? 0
  return { chunk, start: from, end: end + behind, text: '', ...nothing }
}

/** A constant that was left out is worth a line from this share on of what the runs teach about it; engineering judgement. */
const LEAST_LEARNED = 0.02

function changesOf(constants: readonly FittedConstant[], owner: string, target: 'part' | 'cooler'): Change[] {
  const own = constants.filter(({ constant }) => constant.target === target && constant.owner === owner)
  const isWorthIt = ({ constant, learned }: FittedConstant): boolean =>
    constant.from !== 'usual' || learned >= LEAST_LEARNED
  // The rows of a table that was left out are written together, or not at all.
  const tables = new Set(
    own.filter(one => one.constant.row !== undefined && isWorthIt(one)).map(({ constant }) => constant.word),
  )
  return own
    .filter(one => isWorthIt(one) || (one.constant.row !== undefined && tables.has(one.constant.word)))
    .map(({ constant: { word, label, dimension, row }, value, standardUncertainty }) => {
      return { word, label, value, standardUncertainty, dimension, ...(row === undefined ? {} : { row }) }
    })
}

/** What follows the value of a word that was left out: the usual leakage holds at a voltage and a temperature. */
const behindValue: Readonly<Record<string, string>> = { leakage: ` at ${usualLeakageAt.text}` }

function editsOf(definition: Definition, changes: readonly Change[]): { edits: FitEdit[]; missing: string[] } {
  const edits: FitEdit[] = []
  const missing: string[] = []
  const missingRows = new Map<string, string[]>()
  for (const change of changes) {
    const at = placeOf(definition, change)
    const own = at?.unit ?? (change.dimension === undefined ? undefined : findUnit(baseUnit[change.dimension]))
    const written = withUncertainty(change.value, change.standardUncertainty, own)
    if (at === undefined && change.row !== undefined) {
      const others = missingRows.get(change.word) ?? []
      missingRows.set(change.word, [...others, `${change.label.slice(change.word.length + 1)} ${written}`])
    } else if (at === undefined) missing.push(`${change.word} ${written}${behindValue[change.word] ?? ''}`)
    else if (definition.chunk.text.slice(at.start, at.end) !== written)
      edits.push({
        chunk: definition.chunk,
        start: at.start,
        end: at.end,
        text: written,
        constants: 1,
        correlations: 0,
      })
  }
  for (const [word, rows] of missingRows) missing.push(`${word} { ${rows.join('; ')} }`)
  return { edits, missing }
}

/** A `correlated` line serves what a load settles at: none is written of heat capacities, of modules and of leads. */
const bearsOnSettling = ({ word }: { readonly word: string }): boolean =>
  !/-heat$/.test(word) && !['module', 'plate-leak', 'leads'].includes(word)

/**
 * The `correlated` lines of the fitted constants that stand in one definition: the part's have a constant of the part
 * before, a cooler's are of that cooler alone.
 * @param sees whether a cooler's name means something where the part stands
 */
function correlationLines(
  { constants, correlation }: FittedConstants,
  { kind, name }: Definition,
  sees: (cooler: string) => boolean,
): string[] {
  const fitted = constants.map(({ constant }) => constant)
  const lines: string[] = []
  fitted.forEach((first, i) => {
    fitted.forEach((second, j) => {
      const isHere = first.target === kind && first.owner === name
      if (j <= i || !isHere || !bearsOnSettling(first) || !bearsOnSettling(second)) return
      const isApart = second.target !== kind
      if (isApart ? !sees(second.owner) : second.owner !== name) return
      const r = correlation[i]?.[j] ?? 0
      if (!(Math.abs(r) >= LEAST_CORRELATION)) return
      const of = isApart ? ` of ${second.owner}` : ''
      // Rounded to three digits a matrix stays one that some errors can have, but for the very edge.
      const written = Math.max(-0.999, Math.min(0.999, r)).toFixed(3)
      lines.push(`correlated ${first.label} ${second.label}${of} ${written}`)
    })
  })
  return lines
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
 * The edits that put a fit's constants in the place of the stated ones, each with its `±`, and the correlations with
 * them. None where nothing was fitted. They do not overlap.
 */
export function fitEdits(fit: FittedConstants, sees: (cooler: string) => boolean = () => true): readonly FitEdit[] {
  const { part, coolers, constants, needsSlope } = fit
  const edits: FitEdit[] = []
  const partChanges = changesOf(constants, part.name, 'part')
  if (needsSlope?.known === true) {
    const { valueVPerK: value, standardUncertainty } = needsSlope
    const dimension = 'voltage-per-kelvin'
    partChanges.push({ word: 'needs-slope', label: 'needs-slope', value, standardUncertainty, dimension })
  }
  const all = constants.map(({ constant }) => constantKey(constant))
  const fitted = new Set([...all, ...partChanges.map(({ label }) => `part ${part.name} ${label}`)])
  edits.push(...editsIn(part, partChanges, fitted, correlationLines(fit, part, sees)))
  for (const [name, definition] of coolers) {
    const lines = correlationLines(fit, definition, sees)
    edits.push(...editsIn(definition, changesOf(constants, name, 'cooler'), fitted, lines))
  }
  return edits
}

/** The changed constants of one definition, and its correlations in the place of those that are out of date. */
function editsIn(
  definition: Definition,
  changes: readonly Change[],
  fitted: ReadonlySet<string>,
  correlations: readonly string[],
): FitEdit[] {
  const { edits, missing } = editsOf(definition, changes)
  const old = outdated(definition, fitted)
  const { chunk } = definition
  const isAsBefore =
    missing.length === 0 &&
    old.map(({ statement: { start, end } }) => chunk.text.slice(start, end)).join('\n') === correlations.join('\n')
  if (isAsBefore) return edits
  edits.push(...old.map(match => removal(chunk, match.statement)))
  const gone = new Set(old.map(({ statement }) => statement))
  const lines = [...missing, ...correlations]
  const behind = definition.match.statement.block?.statements.findLast(statement => !gone.has(statement))
  if (lines.length === 0) return edits
  const written = { constants: missing.length, correlations: correlations.length }
  if (behind !== undefined) edits.push(insertion(definition, behind, lines, written))
  else edits.push(...filled(definition, lines, written))
  return edits
}
