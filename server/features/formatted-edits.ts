/**
 * Edits that leave the lines they touch as the formatter writes them. The author of an edit knows what it should say;
 * how wide its cell is and where the comment behind it begins are known here alone.
 */

import { parseFile } from '../../grammar/file.ts'
import { applyEdits, formatEdits, type TextEdit } from '../../grammar/printer.ts'
import type { SourceFile, Span } from '../../grammar/tree.ts'

interface Stretch extends Span {
  readonly edits: TextEdit[]
}

/** Whether what stands behind an edit is a line that it leaves as it was. */
function endsWithLine(text: string, { start, end, text: inserted }: TextEdit): boolean {
  const isLineStart = end === 0 || text.charAt(end - 1) === '\n'
  return isLineStart && (inserted.endsWith('\n') || (inserted === '' && end > start))
}

/** The lines that edits touch, those that touch each other together; in order. */
function touchedLines(text: string, edits: readonly TextEdit[]): readonly Stretch[] {
  const found: { start: number; end: number; edits: TextEdit[] }[] = []
  for (const edit of edits) {
    const start = text.lastIndexOf('\n', edit.start - 1) + 1
    const lineEnd = text.indexOf('\n', edit.end)
    const end = endsWithLine(text, edit) ? edit.end : lineEnd < 0 ? text.length : lineEnd
    const last = found.at(-1)
    if (last !== undefined && start <= last.end) {
      last.end = Math.max(last.end, end)
      last.edits.push(edit)
    } else found.push({ start, end, edits: [edit] })
  }
  return found
}

const moved = ({ start, end, text }: TextEdit, by: number): TextEdit => ({ start: start + by, end: end + by, text })

/** The smallest single edit that makes one text of another; undefined where they are the same. */
export function difference(before: string, after: string): TextEdit | undefined {
  if (before === after) return undefined
  const shorter = Math.min(before.length, after.length)
  let start = 0
  while (start < shorter && before.charCodeAt(start) === after.charCodeAt(start)) start++
  let same = 0
  while (
    same < shorter - start &&
    before.charCodeAt(before.length - 1 - same) === after.charCodeAt(after.length - 1 - same)
  )
    same++
  return { start, end: before.length - same, text: after.slice(start, after.length - same) }
}

/**
 * The same edits with the touched lines formatted where they read; a line in error stays as the edits leave it.
 * @param edits in order, none over another
 */
export function formattedEdits(source: SourceFile, edits: readonly TextEdit[]): readonly TextEdit[] {
  const { text } = source
  const formatting = formatEdits(parseFile(applyEdits(text, edits), source))
  let shift = 0
  return touchedLines(text, edits).flatMap(({ start, end, edits: own }): TextEdit[] => {
    const before = text.slice(start, end)
    const edited = applyEdits(
      before,
      own.map(edit => moved(edit, -start)),
    )
    const [from, to] = [start + shift, start + shift + edited.length]
    shift += edited.length - before.length
    const within = formatting.filter(edit => edit.start >= from && edit.end <= to).map(edit => moved(edit, -from))
    // Where there is nothing to format, the edits stay as they were meant.
    if (within.length === 0) return own
    const found = difference(before, applyEdits(edited, within))
    return found === undefined ? [] : [moved(found, start)]
  })
}
