/** Paths in `use` lines. */

import type { TextEdit } from '../../grammar/printer.ts'
import type { Document } from '../workspace/workspace.ts'

/** The path that leads from one file to another, as `use` writes it; undefined between different roots. */
export function usePath(fromUri: string, toUri: string): string | undefined {
  const [from, to] = [fromUri, toUri].map(uri => uri.split('/'))
  if (from === undefined || to === undefined || from.slice(0, 3).join('/') !== to.slice(0, 3).join('/'))
    return undefined
  let shared = 0
  while (shared < from.length - 1 && shared < to.length - 1 && from[shared] === to[shared]) shared++
  const up = from.slice(shared + 1).map(() => '..')
  try {
    return [...up, ...to.slice(shared).map(decodeURIComponent)].join('/')
  } catch {
    return undefined
  }
}

/** The edit that adds a `use` line: behind the last one, or behind the version, or at the top. */
export function addUse(document: Document, path: string): TextEdit {
  const { source, starts } = document
  const { text } = source
  const newline = text.includes('\r\n') ? '\r\n' : '\n'
  const line = `use "${path.replaceAll('"', '""')}"`
  const last = document.uses.at(-1)
  const version = source.chunks[0]?.chunk.statements.find(statement => {
    const first = statement.items[0]
    return first?.kind === 'word' && first.text === 'detent'
  })
  const behind = last !== undefined ? (starts.get(last.chunk) ?? 0) + last.end : version?.end
  if (behind === undefined) return { start: 0, end: 0, text: `${line}${newline}` }
  // A comment behind the statement stays with it.
  const found = text.slice(behind).search(/[\r\n]/)
  const end = found < 0 ? text.length : behind + found
  return { start: end, end, text: `${newline}${line}` }
}
