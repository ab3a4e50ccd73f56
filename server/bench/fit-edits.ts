import type { Chunk, Statement } from '../../grammar/tree.ts'
import { baseUnit, type Dimension, findUnit, fromBase, type Unit } from '../../grammar/units/units.ts'
import type { Match } from '../../grammar/values.ts'
import { type Definition, entries, entry, pureNumber, quantity, rows, text } from '../semantic/definitions.ts'
import type { FittedParameter } from './fit.ts'
import type { RunsFit } from './fit-runs.ts'

/** The fitted constants as edits of the lines that state them, with `±` and correlations. */

/** In the chunk's offsets. */
export interface FitEdit {
  readonly chunk: Chunk
  readonly start: number
  readonly end: number
  readonly text: string
}

/** Pairs that hang together less than this are not worth a line. */
const LEAST_CORRELATION = 0.05

/**
 * A value with its uncertainty as one writes them down: two digits of the uncertainty, the value to the same place.
 * @param unit undefined for a pure number
 */
export function withUncertainty(value: number, standardUncertainty: number, unit: Unit | undefined): string {
  const [own, spread] =
    unit === undefined ? [value, standardUncertainty] : [fromBase(value, unit), fromBase(standardUncertainty, unit)]
  const symbol = unit === undefined ? '' : ` ${unit.symbol}`
  const digits = spread > 0 ? Math.max(0, 1 - Math.floor(Math.log10(spread))) : 6
  // Rounding up may bring one digit more than two; that does no harm.
  return `${own.toFixed(Math.min(digits, 12))}${symbol} ± ${spread.toFixed(Math.min(digits, 12))}${symbol}`
}

interface Change {
  readonly word: string
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

/** The statement behind which a line that does not stand there yet is put, and how lines are parted there. */
function lastStatement(block: Match): Statement | undefined {
  return block.statement.block?.statements.at(-1)
}

function insertion(definition: Definition, behind: Statement, line: string): FitEdit {
  const { chunk } = definition
  const from =
    Math.max(chunk.text.lastIndexOf('\n', behind.start - 1), chunk.text.lastIndexOf('\r', behind.start - 1)) + 1
  const before = chunk.text.slice(from, behind.start)
  // In a block on one line statements are parted by `;`; else the new line is indented like the one before it.
  const isWholeLine = /^\s*$/.test(before)
  const lineBreak = chunk.text.includes('\r\n') ? '\r\n' : '\n'
  const text = isWholeLine ? `${lineBreak}${before}${line}` : `; ${line}`
  const end = lineEnd(chunk.text, behind.end, isWholeLine)
  return { chunk, start: end, end, text }
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
    return { chunk, start: from, end: after, text: '' }
  }
  const behind = /^\s*;/.exec(text.slice(end))?.[0].length ?? 0
  return { chunk, start: from, end: end + behind, text: '' }
}

function changesOf(parameters: readonly FittedParameter[], owner: string, target: 'part' | 'cooler'): Change[] {
  return parameters.flatMap(({ parameter, value, standardUncertainty, fitted }): Change[] => {
    if (!fitted || standardUncertainty === undefined) return []
    if (parameter.target !== target || parameter.owner !== owner) return []
    const { word, dimension, row } = parameter
    return [{ word, value, standardUncertainty, dimension, ...(row === undefined ? {} : { row }) }]
  })
}

function editsOf(definition: Definition, changes: readonly Change[]): { edits: FitEdit[]; missing: string[] } {
  const edits: FitEdit[] = []
  const missing: string[] = []
  for (const change of changes) {
    const at = placeOf(definition, change)
    const own = at?.unit ?? (change.dimension === undefined ? undefined : findUnit(baseUnit[change.dimension]))
    const written = withUncertainty(change.value, change.standardUncertainty, own)
    if (at === undefined) missing.push(`${change.word} ${written}`)
    else edits.push({ chunk: definition.chunk, start: at.start, end: at.end, text: written })
  }
  return { edits, missing }
}

/** The `correlated` lines of the fitted constants of the part. */
function correlationLines({ part, result }: RunsFit): readonly string[] {
  if (!('parameters' in result)) return []
  const fitted = result.parameters.filter(one => one.fitted)
  const lines: string[] = []
  fitted.forEach((first, i) => {
    fitted.forEach((second, j) => {
      if (j <= i || first.parameter.owner !== part.name || second.parameter.owner !== part.name) return
      if (first.parameter.target !== 'part' || second.parameter.target !== 'part') return
      const r = result.correlation[i]?.[j] ?? 0
      if (!(Math.abs(r) >= LEAST_CORRELATION)) return
      // Rounded to three digits a matrix stays one that some errors can have, but for the very edge.
      lines.push(
        `correlated ${first.parameter.word} ${second.parameter.word} ${Math.max(-0.999, Math.min(0.999, r)).toFixed(3)}`,
      )
    })
  })
  return lines
}

/** Whether an old correlation speaks of a constant that is fitted anew. */
function isOutdated(match: Match, words: ReadonlySet<string>): boolean {
  return [text(match, 'first'), text(match, 'second')].some(value => value !== undefined && words.has(value.text))
}

/**
 * The edits that put a fit's constants in the place of the stated ones, each with its `±`, and the correlations of the
 * part's constants with them. None where nothing was fitted. They do not overlap.
 */
export function fitEdits(fit: RunsFit): readonly FitEdit[] {
  const { part, coolers, result, needsSlope } = fit
  const parameters = 'parameters' in result ? result.parameters : []
  const edits: FitEdit[] = []
  const partChanges = changesOf(parameters, part.name, 'part')
  if (needsSlope?.known === true) {
    const { valueVPerK: value, standardUncertainty } = needsSlope
    partChanges.push({ word: 'needs-slope', value, standardUncertainty, dimension: 'voltage-per-kelvin' })
  }
  const own = editsOf(part, partChanges)
  edits.push(...own.edits)
  const words = new Set(partChanges.map(({ word }) => word))
  const outdated = entries(part.match, 'correlated').filter(match => isOutdated(match, words))
  edits.push(...outdated.map(match => removal(part.chunk, match.statement)))
  const gone = new Set(outdated.map(({ statement }) => statement))
  const lines = [...own.missing, ...correlationLines(fit)]
  const behind = part.match.statement.block?.statements.findLast(statement => !gone.has(statement))
  if (behind !== undefined && lines.length > 0) {
    const first = insertion(part, behind, lines[0] as string)
    const rest = lines.slice(1).map(line => insertion(part, behind, line).text)
    edits.push({ ...first, text: first.text + rest.join('') })
  }
  for (const [name, definition] of coolers) {
    const { edits: found, missing } = editsOf(definition, changesOf(parameters, name, 'cooler'))
    edits.push(...found)
    const last = lastStatement(definition.match)
    for (const line of last === undefined ? [] : missing) edits.push(insertion(definition, last as Statement, line))
  }
  return edits
}
