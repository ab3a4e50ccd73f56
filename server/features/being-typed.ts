/**
 * Which findings wait while a line is being typed: what stands on the cursor's line and can still become valid is not
 * wrong yet, and neither is what follows from it.
 */

import { onceFor } from '../../grammar/once.ts'
import { type Chunk, chunkAt, type Item, type Span } from '../../grammar/tree.ts'
import { unitsOf } from '../../grammar/units/units.ts'
import { findWord, menuSettings, type Word, wordsIn } from '../../grammar/vocabulary/index.ts'
import { languageChecks } from '../checks/language/index.ts'
import { checks } from '../checks/registry.ts'
import type { PlacedFinding } from '../checks/run.ts'
import type { Finding } from '../checks/types.ts'
import { partNames } from '../semantic/part-names.ts'
import type { Document, FileView, Workspace } from '../workspace/workspace.ts'
import { typingPlace } from './completion/place.ts'
import { filterTextOf } from './completion/spellings.ts'
import { type Wanted, wantedNext } from './completion/wanted.ts'

/** A place in a text at which a person types. */
export interface BeingTyped {
  readonly document: Document
  readonly chunk: Chunk
  /** The cursor's line, in offsets of the file. */
  readonly line: Span
  /** Whether what stands before the cursor can be gone on with to a line that is right. */
  readonly canGoOn: boolean
  /** Whether it is the name of a definition, which others go by. */
  readonly isName: boolean
}

/** A number, a date or a time of day, whole or begun. */
const begunNumber = /^\d+(?:\.\d*)?$/
const begunDate = /^\d{1,4}(?:-\d{0,2}){0,2}$|^\d{1,2}:\d{0,2}$/
/** Signs that are begun with one of their letters. */
const begunPlusMinus = /^(?:±|\+|\+-|\+\/|\+\/-)$/

const isNameBegun = (run: string): boolean => /^[a-z][a-z0-9-]*$/.test(run)

const begins =
  (run: string) =>
  (word: string): boolean =>
    word.startsWith(run)

/** Whether one of the things that may come next can begin with what is typed. */
function canBegin(view: FileView, wanted: Wanted, run: string): boolean {
  const isBegin = begins(run)
  switch (wanted.want) {
    case 'word':
      return isBegin(wanted.word) || (wanted.word === '±' && begunPlusMinus.test(run))
    case 'unit':
      return unitsOf(wanted.dimension).some(({ symbol }) =>
        [symbol, ...(filterTextOf(symbol, run)?.split(' ') ?? [])].some(isBegin),
      )
    case 'name':
      return (
        view.scope.all(wanted.kind).some(({ name }) => isBegin(name)) ||
        (wanted.kind === 'load' && ['idle', 'off'].some(isBegin))
      )
    case 'part-name':
      if (wanted.isStated) return isNameBegun(run)
      return view.scope.all('part').some(part => {
        const { groups, rails } = partNames(part)
        return [...groups, ...rails].some(isBegin)
      })
    case 'new-name':
      return isNameBegun(run)
    case 'number':
      return begunNumber.test(run) || begunDate.test(run)
    case 'compare':
      return ['>=', '<=', '≥', '≤'].some(isBegin)
    case 'sign':
      return [...wanted.signs].some(isBegin)
    case 'code':
      return checks.some(({ code }) => isBegin(code))
    case 'setting':
      return menuSettings.some(isBegin)
    case 'string':
      return run.startsWith('"')
    case 'end':
      return false
  }
}

/** The items before a place of the chunk; of a number whose unit begins there, the number. */
function itemsBefore(items: readonly Item[], at: number): readonly Item[] {
  return items.flatMap((item): Item[] => {
    if (item.end <= at) return [item]
    const isCut = item.kind === 'number' && item.number.end <= at
    return isCut ? [{ ...item, unit: undefined, end: item.number.end }] : []
  })
}

function goingOn(view: FileView, fileOffset: number): Pick<BeingTyped, 'canGoOn' | 'isName'> {
  const at = typingPlace(view, fileOffset)
  if (at === undefined) return { canGoOn: false, isName: false }
  if (at.inString !== undefined) return { canGoOn: true, isName: false }
  const before = at.chunk.text.slice(0, at.offset)
  let from = before.length
  while (from > 0 && !/[\s;{}"]/.test(before[from - 1] as string)) from--
  const run = before.slice(from)
  const items = at.match?.statement.items ?? []
  const row = findWord(at.place, '')
  const wordOf = ([first]: readonly Item[]): Word | undefined =>
    (first?.kind === 'word' ? findWord(at.place, first.text) : undefined) ?? row
  const wantedAfter = (known: readonly Item[]): readonly Wanted[] => {
    const word = wordOf(known)
    return word === undefined ? [] : wantedNext(word.forms, word.word === '' ? known : known.slice(1))
  }
  const goesOn = (from: number, part: string): boolean => {
    const known = itemsBefore(items, from)
    if (
      known.length === 0 &&
      (part === '' || wordsIn(at.place).some(({ word }) => word !== '' && word.startsWith(part)))
    )
      return true
    const wanted = known.length === 0 && row !== undefined ? wantedNext(row.forms, []) : wantedAfter(known)
    // The head of a block goes on with its brace.
    const opens = wordOf(known)?.block !== undefined
    return part === ''
      ? wanted.some(({ want }) => want !== 'end' || opens)
      : wanted.some(one => canBegin(view, one, part))
  }
  const start = at.offset - run.length
  const isName = run !== '' && wantedAfter(itemsBefore(items, start)).some(({ want }) => want === 'new-name')
  if (goesOn(start, run)) return { canGoOn: true, isName }
  const stopped = { canGoOn: false, isName }
  // A sign or a number that touches what follows it: `-1x`, `20°C`.
  const sign = /^[-+]/.exec(run)?.[0] ?? ''
  const digits = /^\d*(?:\.\d*)?/.exec(run.slice(sign.length))?.[0] ?? ''
  const rest = run.slice(sign.length + digits.length)
  if (sign !== '' && !goesOn(start, sign)) return stopped
  const behindSign = start + sign.length
  if (digits !== '' && !goesOn(behindSign, digits)) return stopped
  const isPart = sign !== '' || digits !== ''
  return { canGoOn: isPart && (rest === '' || goesOn(behindSign + digits.length, rest)), isName }
}

/** What is being typed at an offset; undefined for a file that is not loaded. */
export function beingTyped(workspace: Workspace, uri: string, offset: number): BeingTyped | undefined {
  const view = workspace.view(uri)
  if (view === undefined) return undefined
  const { document } = view
  const { text } = document.source
  const start = text.lastIndexOf('\n', offset - 1) + 1
  const end = text.indexOf('\n', offset)
  const line = { start, end: end < 0 ? text.length : end }
  return { document, chunk: chunkAt(document.source, offset).chunk, line, ...goingOn(view, offset) }
}

/** Findings about what a definition that is being written does not have yet. */
const notYetCodes: ReadonlySet<string> = new Set([
  'missing-key',
  'unused-name',
  'steps-gap',
  'bands-missing-cores',
  'syntax',
])

/** Findings that say that a line is not right as it stands. */
const lineCodes: ReadonlySet<string> = new Set([
  'syntax',
  'unknown-word',
  'unknown-name',
  'unit-missing',
  'unit-mismatch',
  'value-range',
  'range-reversed',
  'use-missing',
  'version-unknown',
])

const languageCodes: ReadonlySet<string> = new Set(languageChecks.map(({ code }) => code))

/** What a finding is known again by after an edit, whatever figures it names by then. */
const keyOf = onceFor(({ code, profile = '', load = '', room = '', message }: Finding): string =>
  languageCodes.has(code) ? `${code} ${message}` : `${code} ${profile} ${load} ${room}`,
)

export function findingKeys(findings: readonly PlacedFinding[]): readonly string[] {
  return findings.map(({ finding }) => keyOf(finding))
}

const isOnLine = ({ line }: BeingTyped, { start }: PlacedFinding): boolean => start >= line.start && start <= line.end

/**
 * Whether the line is not right yet, and may still become so.
 * @param findings those of the file in which it stands
 */
export function isUnfinished(typed: BeingTyped, findings: readonly PlacedFinding[]): boolean {
  const isWrong = (one: PlacedFinding): boolean => lineCodes.has(one.finding.code) && isOnLine(typed, one)
  return typed.canGoOn && (typed.isName || findings.some(isWrong))
}

/**
 * The findings that do not wait.
 * @param unfinished whether the line is not right yet
 * @param settled the keys of what was found before; what was found then already does not wait
 */
export function findingsWhileTyping(
  view: FileView,
  findings: readonly PlacedFinding[],
  typed: BeingTyped,
  unfinished: boolean,
  settled: readonly string[],
): readonly PlacedFinding[] {
  const left = new Map<string, number>()
  for (const key of settled) left.set(key, (left.get(key) ?? 0) + 1)
  const isOwn = view.document === typed.document
  return findings.filter(one => {
    const key = keyOf(one.finding)
    const times = left.get(key) ?? 0
    left.set(key, times - 1)
    const { code, at } = one.finding
    const onLine = isOwn && isOnLine(typed, one)
    if (unfinished && onLine && lineCodes.has(code)) return false
    if (times > 0) return true
    return !(unfinished || (at.chunk === typed.chunk && notYetCodes.has(code) && !(onLine && code === 'syntax')))
  })
}
