import { parseFile } from '../../grammar/file.ts'
import type { Chunk, SourceFile } from '../../grammar/tree.ts'
import { type Definition, readChunk, type Use } from '../semantic/definitions.ts'
import { createScope, type Scope } from '../semantic/scope.ts'
import { decode, type FileSystem, normalizeUri, resolveUri } from './files.ts'

/**
 * The documents and how they use each other. Changes are applied at once and in order; reading from disk is
 * the only thing that waits. A document is replaced, never altered, so that whoever holds one holds a snapshot.
 */

export interface Document {
  readonly uri: string
  readonly source: SourceFile
  /** The editor's version of an open document; undefined for one read from disk. */
  readonly version: number | undefined
  readonly invalidAt: number | undefined
  /** Where each chunk begins. */
  readonly starts: ReadonlyMap<Chunk, number>
  readonly definitions: readonly Definition[]
  readonly uses: readonly Use[]
}

export interface ResolvedUse {
  readonly use: Use
  readonly uri: string | undefined
  /** `loading`: not read yet; `cycle`: the file leads back to this one. */
  readonly state: 'found' | 'missing' | 'loading' | 'cycle'
}

/** One file with everything it sees. */
export interface FileView {
  readonly document: Document
  readonly uses: readonly ResolvedUse[]
  /** The file itself first, then every file it reaches. */
  readonly documents: readonly Document[]
  readonly scope: Scope
}

type Entry = { readonly state: 'loaded'; readonly document: Document } | { readonly state: 'missing' }

function createDocument(
  uri: string,
  text: string,
  version: number | undefined,
  invalidAt: number | undefined,
  previous?: Document,
): Document {
  const source = parseFile(text, previous?.source)
  const readings = source.chunks.map(({ chunk }) => readChunk(chunk))
  return {
    uri,
    source,
    version,
    invalidAt,
    starts: new Map(source.chunks.map(({ chunk, start }) => [chunk, start])),
    definitions: readings.flatMap(reading => reading.definitions),
    uses: readings.flatMap(reading => reading.uses),
  }
}

export interface Workspace {
  /** Opens a document, or gives an open one a new text; its text counts over the disk's. */
  set(uri: string, text: string, version: number): Document
  /** Closes a document; the next `load` reads it from disk again. */
  close(uri: string): void
  /** Forgets what was read from disk of these files, so that the next `load` reads them again. Open ones stay. */
  forget(uris: Iterable<string>): void
  /** Reads these files and all that they use, where they are not there yet. */
  load(uris: Iterable<string>): Promise<void>
  document(uri: string): Document | undefined
  documents(): Iterable<Document>
  isOpen(uri: string): boolean
  /** A file with everything it sees; undefined for a file that is not loaded. */
  view(uri: string): FileView | undefined
  /** The loaded files that reach this one through `use`. */
  usersOf(uri: string): readonly string[]
}

/** The documents, in memory; each view is evicted when one of its documents changes. */
export function createWorkspace(files: FileSystem): Workspace {
  const entries = new Map<string, Entry>()
  const open = new Set<string>()
  const views = new Map<string, FileView>()
  const loading = new Map<string, Promise<void>>()

  const document = (uri: string): Document | undefined => {
    const entry = entries.get(normalizeUri(uri))
    return entry?.state === 'loaded' ? entry.document : undefined
  }

  const read = (uri: string): Promise<void> => {
    const running = loading.get(uri)
    if (running !== undefined) return running
    const started = files.read(uri).then(bytes => {
      loading.delete(uri)
      // An editor may have opened the file meanwhile; its text counts.
      if (open.has(uri)) return
      if (bytes === undefined) entries.set(uri, { state: 'missing' })
      else {
        const { text, invalidAt } = decode(bytes)
        entries.set(uri, { state: 'loaded', document: createDocument(uri, text, undefined, invalidAt, document(uri)) })
      }
    })
    loading.set(uri, started)
    return started
  }

  const load = async (uris: Iterable<string>): Promise<void> => {
    const seen = new Set<string>()
    let wanted = [...uris].map(normalizeUri)
    while (wanted.length > 0) {
      const fresh = wanted.filter(uri => !seen.has(uri))
      for (const uri of fresh) seen.add(uri)
      await Promise.all(fresh.filter(uri => !entries.has(uri)).map(read))
      wanted = fresh.flatMap(uri => (document(uri)?.uses ?? []).flatMap(use => resolveUri(uri, use.path) ?? []))
    }
  }

  const reach = (start: Document): Document[] => {
    const found = [start]
    const seen = new Set([start.uri])
    for (const current of found) {
      for (const use of current.uses) {
        const uri = resolveUri(current.uri, use.path)
        const next = uri === undefined || seen.has(uri) ? undefined : document(uri)
        if (next !== undefined) {
          seen.add(next.uri)
          found.push(next)
        }
      }
    }
    return found
  }

  const resolveUse = (from: Document, use: Use): ResolvedUse => {
    const uri = resolveUri(from.uri, use.path)
    if (uri === undefined) return { use, uri, state: 'missing' }
    const entry = entries.get(uri)
    if (entry === undefined) return { use, uri, state: 'loading' }
    if (entry.state === 'missing') return { use, uri, state: 'missing' }
    const back = reach(entry.document).some(other => other.uri === from.uri)
    return { use, uri, state: back ? 'cycle' : 'found' }
  }

  const view = (uri: string): FileView | undefined => {
    const own = document(uri)
    if (own === undefined) return undefined
    const documents = reach(own)
    const uses = own.uses.map(use => resolveUse(own, use))
    const known = views.get(own.uri)
    const same =
      known !== undefined &&
      known.documents.length === documents.length &&
      known.documents.every((other, index) => other === documents[index]) &&
      known.uses.every((other, index) => other.state === uses[index]?.state)
    if (same) return known
    const fresh = { document: own, uses, documents, scope: createScope(documents.flatMap(other => other.definitions)) }
    views.set(own.uri, fresh)
    return fresh
  }

  return {
    set: (uri, text, version) => {
      const key = normalizeUri(uri)
      open.add(key)
      const made = createDocument(key, text, version, undefined, document(key))
      entries.set(key, { state: 'loaded', document: made })
      return made
    },
    close: uri => {
      const key = normalizeUri(uri)
      open.delete(key)
      entries.delete(key)
      views.delete(key)
    },
    forget: uris => {
      for (const uri of uris) {
        const key = normalizeUri(uri)
        if (open.has(key)) continue
        entries.delete(key)
        views.delete(key)
      }
    },
    load,
    document,
    documents: function* () {
      for (const entry of entries.values()) if (entry.state === 'loaded') yield entry.document
    },
    isOpen: uri => open.has(normalizeUri(uri)),
    view,
    usersOf: uri => {
      const key = normalizeUri(uri)
      const users: string[] = []
      for (const entry of entries.values()) {
        if (entry.state !== 'loaded' || entry.document.uri === key || entry.document.uses.length === 0) continue
        if (reach(entry.document).some(other => other.uri === key) || directlyUses(entry.document, key))
          users.push(entry.document.uri)
      }
      return users
    },
  }
}

/** Also true where the used file is not there yet: its arrival must be noticed. */
function directlyUses(document: Document, uri: string): boolean {
  return document.uses.some(use => resolveUri(document.uri, use.path) === uri)
}
