/** Where a place of a text is for a person: in the file as it stands, or in the overlay that it comes from. */

import type { Document } from '../../workspace/workspace.ts'
import type { Origin } from './pieces.ts'

/** A place of a file or of an overlay; lines and columns are counted from 1, columns in UTF-16 units. */
export interface ShownPlace {
  /** The file; of an overlay the one that it is laid over. */
  readonly uri: string
  /** Of an overlay its number, from 1; undefined for a place of the file itself. */
  readonly overlay: number | undefined
  readonly line: number
  readonly column: number
}

type Finder = (offset: number) => ShownPlace | undefined

/** How places of overlaid documents are found; evicted with the document. */
const finders = new WeakMap<Document, Finder>()

function placeAt(text: string, offset: number): { readonly line: number; readonly column: number } {
  const lines = text.slice(0, offset).split(/\r\n|\r|\n/)
  return { line: lines.length, column: (lines.at(-1)?.length ?? 0) + 1 }
}

/**
 * Notes where the places of an overlaid document come from.
 * @param texts of the files before anything was laid over them, by address
 * @param overlays texts of the overlays by their number
 */
export function notePlaces(
  document: Document,
  originAt: (offset: number) => Origin | undefined,
  texts: ReadonlyMap<string, string>,
  overlays: ReadonlyMap<number, string>,
): void {
  finders.set(document, offset => {
    const origin = originAt(offset)
    if (origin === undefined) return undefined
    if ('uri' in origin)
      return { uri: origin.uri, overlay: undefined, ...placeAt(texts.get(origin.uri) ?? '', origin.offset) }
    return {
      uri: document.uri,
      overlay: origin.overlay,
      ...placeAt(overlays.get(origin.overlay) ?? '', origin.offset),
    }
  })
}

/** Whether a place of this document may stand elsewhere. */
export function isOverlaid(document: Document): boolean {
  return finders.has(document)
}

/** Where a place of a document is for a person. */
export function shownPlace(document: Document, offset: number): ShownPlace {
  const found = finders.get(document)?.(offset)
  return found ?? { uri: document.uri, overlay: undefined, ...placeAt(document.source.text, offset) }
}

/** What an overlay is called where the name of a file would stand. */
export function overlayName(number: number): string {
  return `--with ${number}`
}
