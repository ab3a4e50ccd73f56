/** The acceptance of a finding, written where it covers no more than it must. */

import { matchChunk } from '../../grammar/match.ts'
import type { TextEdit } from '../../grammar/printer.ts'
import type { Block } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import { findWord } from '../../grammar/vocabulary/index.ts'
import type { PlacedFinding } from '../checks/run.ts'
import type { Document } from '../workspace/workspace.ts'
import { formattedEdits } from './formatted-edits.ts'

/** What the person replaces by the reason. */
const reason = '"…"'

/** A line that does not read is not accepted but put right, and an acceptance without use is taken out. */
const neverAccepted: ReadonlySet<string> = new Set(['syntax', 'unknown-word', 'allow-unused'])

export function canBeAccepted({ finding }: PlacedFinding): boolean {
  return !neverAccepted.has(finding.code)
}

export const acceptTitle = ({ finding }: PlacedFinding): string => `Allow ${finding.code} here, with a reason`

/** A block with both its braces. */
type Closed = Block & { readonly open: NonNullable<Block['open']>; readonly close: NonNullable<Block['close']> }

const isClosed = (block: Block | undefined): block is Closed => block?.open !== undefined && block.close !== undefined

/** The innermost block around a stretch of the chunk in which an acceptance may stand. */
function blockAround(matches: readonly Match[], start: number, end: number): Closed | undefined {
  for (const { statement, word, children } of matches) {
    if (start < statement.start || end > statement.end) continue
    const inner = blockAround(children, start, end)
    if (inner !== undefined) return inner
    const { block } = statement
    const place = word?.block
    return isClosed(block) && place !== undefined && findWord(place, 'allow') !== undefined ? block : undefined
  }
  return undefined
}

/** Where a statement for the whole file goes: behind the version and the files that it uses. */
function fileEdit({ source, uses, starts }: Document, line: string): TextEdit {
  const { text } = source
  const newline = text.includes('\r\n') ? '\r\n' : '\n'
  const version = source.chunks[0]?.chunk.statements.find(
    ({ items: [first] }) => first?.kind === 'word' && first.text === 'detent',
  )
  const last = uses.at(-1)
  const behind = last !== undefined ? (starts.get(last.chunk) ?? 0) + last.end : version?.end
  if (behind === undefined) return { start: 0, end: 0, text: `${line}${newline}` }
  const found = text.slice(behind).search(/[\r\n]/)
  const end = found < 0 ? text.length : behind + found
  return { start: end, end, text: `${newline}${line}` }
}

/** The edits that accept a finding, with a place for the reason; undefined where it no longer fits the text. */
export function acceptEdits(document: Document, { finding }: PlacedFinding): readonly TextEdit[] | undefined {
  const { chunk, start, end } = finding.at
  const base = document.starts.get(chunk)
  if (base === undefined) return undefined
  const line = `allow ${finding.code} ${reason}`
  const block = blockAround(matchChunk(chunk), start, end)
  if (block === undefined) return formattedEdits(document.source, [fileEdit(document, line)])
  const inside = chunk.text.slice(block.open.end, block.close.start)
  const at = base + block.close.start
  if (!inside.includes('\n')) {
    const kept = inside.trimEnd()
    const from = base + block.open.end + kept.length
    return formattedEdits(document.source, [{ start: from, end: at, text: `${kept === '' ? '' : ';'} ${line} ` }])
  }
  // On a line of its own before the one on which the block ends.
  const before = inside.slice(inside.lastIndexOf('\n') + 1)
  const newline = inside.includes('\r\n') ? '\r\n' : '\n'
  const edit =
    before.trim() === ''
      ? { start: at - before.length, end: at - before.length, text: `${before}  ${line}${newline}` }
      : { start: at, end: at, text: `${newline}${line}${newline}` }
  return formattedEdits(document.source, [edit])
}
