/** Runs as plain records: what a `run` definition says, nothing read and nothing predicted yet. */

import { onceFor } from '../../../grammar/once.ts'
import type { Chunk, Span } from '../../../grammar/tree.ts'
import type { Match, Quantity } from '../../../grammar/values.ts'
import { type Definition, entries, entry, nameAfter, pureNumber, quantity, text } from '../../semantic/definitions.ts'
import { type ByFigure, type Figure, figuresIn, type Reading, type Readings } from '../log/figures.ts'
import {
  type ColumnKind,
  canSeparate,
  type DecimalMark,
  type Delimiter,
  delimiters,
  type LogColumn,
  type LogMapping,
} from '../log/mapping.ts'

interface LogReference extends LogMapping {
  /** Relative to the file that names it. */
  readonly path: string
  readonly pathSpan: Span
  readonly columns: readonly LogColumn[]
}

interface Score {
  readonly value: number
  readonly unit: string
  readonly better: 'higher' | 'lower'
}

export type Outcome =
  | { readonly kind: 'held'; readonly forS: number }
  | { readonly kind: 'stopped'; readonly afterS: number; readonly what: string }

export interface RunRecord {
  readonly name: string
  readonly profile: string
  /** Empty for a run under a course. */
  readonly load: string
  readonly course: string | undefined
  /** `2026-01-12` or `2026-01-12 21:40`. */
  readonly date: string | undefined
  readonly revision: string | undefined
  readonly air: Reading | undefined
  readonly humidity: Reading | undefined
  readonly log: LogReference | undefined
  /** Figures read off by hand. */
  readonly measured: Readings
  /** Those of them, and `air` and `humidity`, whose uncertainty is stated. */
  readonly stated: ReadonlySet<Figure | 'air' | 'humidity'>
  readonly scores: readonly Score[]
  readonly outcome: Outcome | undefined
  readonly definition: Definition
}

function delimiterOf(statement: Match | undefined): Delimiter | undefined {
  const found = statement && text(statement, 'value')
  if (found === undefined) return undefined
  if (found.kind !== 'string') return delimiters[found.text]
  return canSeparate(found.text) ? found.text : undefined
}
const decimals: Readonly<Record<string, DecimalMark>> = { point: '.', comma: ',' }

/**
 * The standard uncertainty of a figure as it was written: the one stated, else that of rounding to its last digit,
 * which is a step of 10⁻ᵈ units spread evenly, 10⁻ᵈ/√12 (JCGM 100:2008, 4.3.7). The instrument's own error is not in it.
 */
function readingOf(match: Match, chunk: Chunk): Reading | undefined {
  const found = quantity(match)
  if (found === undefined) return undefined
  return { value: found.value, standardUncertainty: found.uncertainty ?? lastDigit(found, chunk) / Math.sqrt(12) }
}

/** The worth of the last digit written, in base units. */
function lastDigit(found: Quantity, chunk: Chunk): number {
  const written = /\d+(?:\.(\d+))?/.exec(chunk.text.slice(found.start, found.end))
  const digits = written?.[1]?.length ?? 0
  return found.unit.factor * 10 ** -digits
}

function logOf(match: Match): LogReference | undefined {
  const path = text(match, 'path')
  if (path === undefined) return undefined
  const columns = entries(match, 'column').flatMap((column): LogColumn[] => {
    const [kind, header] = [text(column, 'kind'), text(column, 'header')]
    const unit = column.values.get('unit')
    if (kind === undefined || header === undefined || unit?.kind !== 'unit') return []
    const { start, end } = column.statement
    return [
      {
        kind: figureOf(kind.text, column) as ColumnKind,
        header: header.text,
        unit: unit.unit,
        span: { start, end },
        headerSpan: { start: header.start, end: header.end },
        unitSpan: { start: unit.start, end: unit.end },
      },
    ]
  })
  const [delimiter, decimal] = [entry(match, 'delimiter'), entry(match, 'decimal')]
  const stated = {
    delimiter: delimiterOf(delimiter),
    decimal: decimal && decimals[text(decimal, 'value')?.text ?? ''],
  }
  return {
    path: path.text,
    pathSpan: { start: path.start, end: path.end },
    columns,
    ...(stated.delimiter === undefined ? {} : { delimiter: stated.delimiter }),
    ...(stated.decimal === undefined ? {} : { decimal: stated.decimal }),
  }
}

function outcomeOf(block: Match): Outcome | undefined {
  const [held, stopped] = [entry(block, 'held'), entry(block, 'stopped')]
  if (stopped !== undefined) {
    const after = quantity(stopped, 'after')
    return after && { kind: 'stopped', afterS: after.value, what: text(stopped, 'what')?.text ?? '' }
  }
  const time = held && quantity(held)
  return time && { kind: 'held', forS: time.value }
}

function measuredOf(block: Match, chunk: Chunk): Readings {
  const table = entry(block, 'measured')
  if (table === undefined) return {}
  const found: ByFigure<Reading> = {}
  for (const [figure, match] of measuredLines(table)) {
    const reading = readingOf(match, chunk)
    if (reading !== undefined) found[figure] = reading
  }
  return found
}

/** A figure of the group that the line names, if it does. */
const figureOf = (kind: string, line: Match): string => {
  const group = nameAfter(line)
  return group === undefined ? kind : `${kind} ${group}`
}

/** The lines of `measured` by what they give, in the order in which figures are shown; of two of one figure the last. */
export function measuredLines(table: Match): ReadonlyMap<Figure, Match> {
  const lines = new Map(
    table.children.flatMap(line => {
      const word = line.sound ? line.word?.word : undefined
      return word === undefined ? [] : [[figureOf(word, line), line] as const]
    }),
  )
  return new Map(figuresIn(lines.keys()).map(figure => [figure, lines.get(figure) as Match]))
}

function statedIn(run: Match): RunRecord['stated'] {
  const table = entry(run, 'measured')
  const has = (match: Match | undefined): boolean => (match && quantity(match)?.uncertainty) !== undefined
  return new Set([
    ...[...(table === undefined ? [] : measuredLines(table))].flatMap(([figure, line]) => (has(line) ? [figure] : [])),
    ...(['air', 'humidity'] as const).filter(word => has(entry(run, word))),
  ])
}

function read(definition: Definition): RunRecord | undefined {
  const { match, chunk, name } = definition
  const [profile, course] = [text(match, 'profile')?.text, text(match, 'course')?.text]
  const load = course === undefined ? text(match, 'load')?.text : ''
  if (definition.kind !== 'run' || profile === undefined || load === undefined) return undefined
  const one = (word: string, value = 'value'): string | undefined => {
    const found = entry(match, word)
    return found && text(found, value)?.text
  }
  const reading = (word: string): Reading | undefined => {
    const found = entry(match, word)
    return found && readingOf(found, chunk)
  }
  const log = entry(match, 'log')
  return {
    name,
    profile,
    load,
    course,
    date: one('date'),
    revision: one('revision', 'revision'),
    air: reading('air'),
    humidity: reading('humidity'),
    log: log && logOf(log),
    measured: measuredOf(match, chunk),
    stated: statedIn(match),
    scores: entries(match, 'score').flatMap(score => {
      const value = pureNumber(score)?.value
      const [unit, better] = [text(score, 'unit')?.text, text(score, 'better')?.text]
      return value === undefined || unit === undefined ? [] : [{ value, unit, better: better as Score['better'] }]
    }),
    outcome: outcomeOf(match),
    definition,
  }
}

/** The record of a run; undefined for other definitions, and where its head does not read. */
const runRecord: (definition: Definition) => RunRecord | undefined = onceFor(read)

/** The records of the runs among some definitions, in their order. */
export function runRecords(definitions: Iterable<Definition>): readonly RunRecord[] {
  return [...definitions].flatMap(definition => runRecord(definition) ?? [])
}

/** What a run was made under, as its head names it: `render`, `course session`. */
export function underText({ load, course }: Pick<RunRecord, 'load' | 'course'>): string {
  return course === undefined ? load : `course ${course}`
}

/** The same for a finding of a run. */
export function madeUnder({ load, course }: Pick<RunRecord, 'load' | 'course'>): { load: string } | { course: string } {
  return course === undefined ? { load } : { course }
}
