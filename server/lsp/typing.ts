/**
 * Where a person types. The protocol does not say where the cursor is: it is where the last change ended, until there is
 * a change elsewhere, the file is saved, or a pause.
 */

import type { TextDocumentContentChangeEvent } from 'vscode-languageserver'
import type { TextDocument } from 'vscode-languageserver-textdocument'
import type { BeingTyped } from '../features/being-typed.ts'
import type { Document, FileView } from '../workspace/workspace.ts'

/** A pause, after which what waited is shown. */
const restMs = 1500

export interface Typing {
  /** The text was changed; `at` is where the cursor is now, undefined where nobody typed. */
  edited(uri: string, at: number | undefined): void
  /** Nobody types in this file any more: it was saved or closed. */
  rested(uri: string): void
  /** The line that is being typed, if the file sees it. */
  in(view: FileView): BeingTyped | undefined
  /** Findings of this file wait. */
  waits(uri: string): void
  stop(): void
}

interface Told {
  readonly beingTyped: (uri: string, at: number) => BeingTyped | undefined
  /** Called when something begins to wait, and when nothing does any more. */
  readonly waits: (waits: boolean) => void
  /** Called with the files whose findings waited, once they wait no more. */
  readonly shown: (uris: readonly string[]) => void
}

export function createTyping(told: Told): Typing {
  let place: { readonly uri: string; readonly at: number } | undefined
  let line: BeingTyped | undefined
  let timer: ReturnType<typeof setTimeout> | undefined
  const waiting = new Set<string>()

  const rest = (): void => {
    clearTimeout(timer)
    place = undefined
    line = undefined
    if (waiting.size === 0) return
    const uris = [...waiting]
    waiting.clear()
    told.waits(false)
    told.shown(uris)
  }
  return {
    edited: (uri, at) => {
      if (at === undefined) return rest()
      clearTimeout(timer)
      timer = setTimeout(rest, restMs)
      place = { uri, at }
      line = undefined
    },
    rested: uri => {
      if (place?.uri === uri) rest()
    },
    in: view => {
      if (place === undefined || !view.documents.some(({ uri }) => uri === place?.uri)) return undefined
      line ??= told.beingTyped(place.uri, place.at)
      // The view is of another text of that file.
      return line !== undefined && view.documents.includes(line.document) ? line : undefined
    },
    waits: uri => {
      if (waiting.size === 0) told.waits(true)
      waiting.add(uri)
    },
    stop: () => clearTimeout(timer),
  }
}

/** Where typing left the cursor in what was inserted: between the braces or quotes that the editor closed, or at the end. */
function cursorIn(inserted: string): number | undefined {
  if (inserted === '{}' || inserted === '""') return 1
  const opened = /^(\r?\n[ \t]*)\r?\n[ \t]*$/.exec(inserted)?.[1]
  if (opened !== undefined) return opened.length
  // More than a line at once was pasted, formatted or taken back.
  const whole = inserted.split('\n').slice(1, -1)
  return whole.some(line => line.trim() !== '') ? undefined : inserted.length
}

/** What lies between the stretches that two texts have in common at their beginnings and ends. */
function difference(before: string, after: string): { readonly start: number; readonly inserted: string } {
  const most = Math.min(before.length, after.length)
  let start = 0
  while (start < most && before.charCodeAt(start) === after.charCodeAt(start)) start++
  let same = 0
  while (
    same < most - start &&
    before.charCodeAt(before.length - 1 - same) === after.charCodeAt(after.length - 1 - same)
  )
    same++
  return { start, inserted: after.slice(start, after.length - same) }
}

/**
 * The cursor after these changes of a text.
 * @param document with the changes made
 * @param before its text before them
 */
export function cursorAfter(
  document: TextDocument,
  before: string,
  changes: readonly TextDocumentContentChangeEvent[],
): number | undefined {
  const [only, ...more] = changes
  const isPlaced = only !== undefined && more.length === 0 && 'range' in only
  const { start, inserted } = isPlaced
    ? { start: document.offsetAt(only.range.start), inserted: only.text }
    : difference(before, document.getText())
  const cursor = cursorIn(inserted)
  return cursor === undefined ? undefined : start + cursor
}

/** What was found in a file before typing began, as keys; evicted with the document, and handed on when it is edited. */
const settled = new WeakMap<Document, readonly string[]>()

export const settledFindings = {
  of: (document: Document): readonly string[] => settled.get(document) ?? [],
  keep: (document: Document, keys: readonly string[]): void => {
    settled.set(document, keys)
  },
  handOn: (from: Document | undefined, to: Document | undefined): void => {
    const keys = from && settled.get(from)
    if (keys !== undefined && to !== undefined) settled.set(to, keys)
  },
}
