/** Writes proposed steps and bands into a profile: its own tables, never those of a profile it starts from. */
import { matchChunk } from '../../../grammar/match.ts'
import type { TextEdit } from '../../../grammar/printer.ts'
import type { Token } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import type { Plan } from '../../planning/index.ts'
import { entry, quantity } from '../../semantic/definitions.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import { bandsRows, type CountsRow, stepsRows } from '../../semantic/profile-values.ts'
import { coresText } from '../../wording/counts.ts'
import { statedText } from '../../wording/figures.ts'
import type { Document } from '../../workspace/workspace.ts'
import { formattedEdits } from '../formatted-edits.ts'
import { bandRowsOf } from './rows.ts'

/** A row as it is written, and what tells it from others. */
interface Row {
  readonly key: string
  readonly text: string
}

interface Table {
  readonly word: 'steps' | 'bands'
  /** The group of cores that it is for; undefined where all are alike. */
  readonly group: string | undefined
  readonly head: string
  readonly rows: readonly Row[]
}

const keyOf = (from: number, to: number, ...values: readonly number[]): string =>
  [from, to, ...values.map(value => value.toFixed(6))].join(' ')

/** The word of a table and the name behind it. */
const headOf = (word: Table['word'], group: string | undefined): string => [word, group].filter(Boolean).join(' ')

function stepsTable({ rows }: Plan, group: string | undefined): Table {
  return {
    word: 'steps',
    group,
    head: `${headOf('steps', group)} {`,
    rows: rows
      .filter(row => row.group === group)
      .map(({ from, to, ratio }) => ({
        key: keyOf(from, to, ratio),
        text: `${coresText(from, to)}   ${statedText(ratio, 'x')}`,
      })),
  }
}

function bandsTable(plan: Plan, group: string | undefined): Table {
  const { returnK } = plan
  const head = headOf('bands', group)
  return {
    word: 'bands',
    group,
    head: returnK > 0 ? `${head} return ${statedText(returnK, 'K')} {` : `${head} {`,
    rows: bandRowsOf(plan)
      .filter(row => row.group === group)
      .map(({ from, to, aboveC, drop }) => ({
        key: keyOf(from, to, aboveC, drop),
        text: `${coresText(from, to)}   above ${statedText(aboveC, '°C')}  -${statedText(drop, 'x')}`,
      })),
  }
}

/** The keys of the rows that count for a profile now, its own or inherited. */
function keysNow(profile: ResolvedProfile, { word, group }: Table): readonly string[] {
  if (word === 'steps') return stepsRows(profile, group).map(({ from, to, ratio }) => keyOf(from, to, ratio))
  return bandsRows(profile, group).map(({ from, to, aboveC, drop }) => keyOf(from, to, aboveC, drop))
}

function returnNow(profile: ResolvedProfile, group: string | undefined): number {
  const bands = profile.key('bands', group)
  return (bands && quantity(bands.match, 'return')?.value) ?? 0
}

/** Whether a table says what is proposed already. */
function isSame(profile: ResolvedProfile, table: Table, returnK: number): boolean {
  const now = keysNow(profile, table)
  const isReturnSame = table.word === 'steps' || now.length === 0 || returnNow(profile, table.group) === returnK
  return isReturnSame && now.length === table.rows.length && now.every((key, index) => key === table.rows[index]?.key)
}

/** Where a profile does not read, in words; undefined where it reads whole. Nothing is written into what does not. */
export function unwritableText({ definition }: Pick<ResolvedProfile, 'definition'>): string | undefined {
  const { chunk } = definition
  const isSound = (match: Match): boolean => match.sound && match.children.every(isSound)
  if (chunk.problems.length > 0 || !matchChunk(chunk).every(isSound)) return 'a line of it does not read'
  return definition.match.statement.block?.close === undefined ? 'its braces do not read' : undefined
}

interface Kept {
  /** Comments on lines of their own above it. */
  readonly above: readonly string[]
  readonly text: string
  readonly behind: string | undefined
}

/** What stands in a table: its rows, its other statements, and the comments of each. */
function contentOf(text: string, tokens: readonly Token[], table: Match, rows: readonly CountsRow[]) {
  const { block, end } = table.statement
  const opens = block?.open?.end ?? table.statement.start
  const inside = tokens.filter(({ kind, start }) => kind === 'comment' && start >= opens && start < end)
  const lineEnd = (at: number): number => {
    const found = text.indexOf('\n', at)
    return found < 0 ? text.length : found
  }
  const head = inside.find(({ start }) => start < lineEnd(opens) && text.slice(opens, start).trim() === '')
  let at = head?.end ?? opens
  const byRow = new Map<Match, Kept>()
  const others: Kept[] = []
  for (const child of table.children) {
    const { statement } = child
    const above = inside.filter(({ start }) => start >= at && start < statement.start).map(one => one.text)
    const behind = inside.find(({ start }) => {
      return (
        start >= statement.end && start < lineEnd(statement.end) && /^[ \t;]*$/.test(text.slice(statement.end, start))
      )
    })
    at = behind?.end ?? statement.end
    const kept = { above, text: text.slice(statement.start, statement.end), behind: behind?.text }
    if (rows.some(row => row.sourced.match === child)) byRow.set(child, kept)
    else others.push(kept)
  }
  const below = inside.filter(({ start }) => start >= at).map(one => one.text)
  return { head: head?.text, byRow, others, below }
}

const spaced = (text: string, comment: string | undefined): string =>
  comment === undefined ? text : `${text}  ${comment}`

/** The lines of a table, and the comments that no row of it keeps. */
function linesOf(table: Table, text: string, tokens: readonly Token[], match: Match, rows: readonly CountsRow[]) {
  const { head, byRow, others, below } = contentOf(text, tokens, match, rows)
  const now = new Map(rows.map(row => [keyOfRow(row), byRow.get(row.sourced.match)]))
  const kept = table.rows.map(({ key, text: fresh }) => ({ fresh, own: now.get(key), key }))
  const stays = new Set(kept.flatMap(({ key, own }) => (own === undefined ? [] : [key])))
  const goes = rows.flatMap(row => {
    const own = byRow.get(row.sourced.match)
    if (own === undefined || stays.has(keyOfRow(row))) return []
    return [...own.above, ...(own.behind === undefined ? [] : [own.behind])]
  })
  const lineOf = ({ above, text: own, behind }: Kept): string[] => [...above, spaced(own, behind)]
  return {
    above: [...goes, ...below],
    lines: [
      spaced(table.head, head),
      ...others.flatMap(lineOf).map(line => `  ${line}`),
      ...kept.flatMap(({ fresh, own }) => (own === undefined ? [fresh] : lineOf(own))).map(line => `  ${line}`),
      '}',
    ],
    isEmpty: table.rows.length === 0 && others.length === 0,
    head,
  }
}

function keyOfRow(row: CountsRow): string {
  if ('ratio' in row) return keyOf(row.from, row.to, (row as { ratio: number }).ratio)
  const band = row as CountsRow & { aboveC: number; drop: number }
  return keyOf(band.from, band.to, band.aboveC, band.drop)
}

/**
 * The edits of a profile's file that state a plan in it, formatted where the profile is. None where it says so already.
 * @param document the file of the profile
 */
export function planEdits(document: Document, profile: ResolvedProfile, plan: Plan): readonly TextEdit[] {
  const { definition } = profile
  const { chunk, match } = definition
  const { text, tokens } = chunk
  const base = document.starts.get(chunk) ?? 0
  const edits: TextEdit[] = []
  const appended: string[] = []
  const own = match.statement
  const newline = text.includes('\r\n') ? '\r\n' : '\n'
  const isOneLine = !text.slice(own.block?.start ?? 0, own.block?.end ?? 0).includes('\n')
  const groups: readonly (string | undefined)[] = [...new Set(plan.rows.map(({ group }) => group))]
  for (const table of groups.flatMap(group => [stepsTable(plan, group), bandsTable(plan, group)])) {
    const { word, group } = table
    if (isSame(profile, table, plan.returnK)) continue
    const there = entry(match, word, group)
    // A table of a group takes the place of one for all, wherever that stands.
    const isElse = group !== undefined && profile.key(word, group) !== undefined
    const inherited = isElse || profile.chain.slice(1).some(link => entry(link.match, word, group) !== undefined)
    const mayGo = table.rows.length === 0 && !inherited
    if (there === undefined && table.rows.length === 0 && !inherited) continue
    if (there === undefined) {
      if (isOneLine) appended.push(`${table.head} ${table.rows.map(row => row.text).join('; ')} }`)
      else appended.push(table.head, ...table.rows.map(row => `  ${row.text}`), '}')
      continue
    }
    const { start, end } = there.statement
    const rows = (word === 'steps' ? stepsRows(profile, group) : bandsRows(profile, group)) as readonly CountsRow[]
    const { above, lines, isEmpty, head } = linesOf(table, text, tokens, there, rows)
    const lineStart = text.lastIndexOf('\n', start - 1) + 1
    const indent = text.slice(lineStart, start)
    if (indent.trim() !== '') {
      // Among other statements on one line; comments cannot stand there.
      const inner = lines.slice(1, -1).map(line => line.trim())
      edits.push({ start: base + start, end: base + end, text: `${table.head} ${inner.join('; ')} }` })
      continue
    }
    const comments = mayGo && isEmpty && head !== undefined ? [head, ...above] : above
    const whole = [...comments, ...(mayGo && isEmpty ? [] : lines)]
    if (whole.length > 0) {
      const written = whole.map((line, index) => (index === 0 ? line : `${indent}${line}`)).join(newline)
      edits.push({ start: base + start, end: base + end, text: written })
    } else {
      const lineEnd = text.indexOf('\n', end)
      const isAlone = lineEnd >= 0 && text.slice(end, lineEnd).trim() === ''
      edits.push({ start: base + lineStart, end: base + (isAlone ? lineEnd + 1 : end), text: '' })
    }
  }
  if (appended.length > 0) edits.push(appendEdit(text, base, match, appended, isOneLine, newline))
  edits.sort((a, b) => a.start - b.start)
  return edits.length === 0 ? [] : formattedEdits(document.source, edits)
}

/** Puts lines at the end of a profile's block. */
function appendEdit(
  text: string,
  base: number,
  { statement }: Match,
  lines: readonly string[],
  isOneLine: boolean,
  newline: string,
): TextEdit {
  const { block } = statement
  const close = block?.close?.start ?? statement.end
  if (isOneLine) {
    const last = block?.statements.at(-1)
    const at = last?.end ?? block?.open?.end ?? close
    return { start: base + at, end: base + at, text: `${last === undefined ? ' ' : '; '}${lines.join('; ')}` }
  }
  const lineStart = text.lastIndexOf('\n', close - 1) + 1
  const before = text.slice(lineStart, close)
  const body = lines.map(line => `  ${line}${newline}`).join('')
  if (before.trim() === '') return { start: base + lineStart, end: base + lineStart, text: body }
  return { start: base + close, end: base + close, text: `${newline}${body}` }
}
