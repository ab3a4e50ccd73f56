/**
 * The documents and how they use each other. Changes are applied at once and in order; reading from disk is
 * the only thing that waits. A document is replaced, never altered, so that whoever holds one holds a snapshot.
 *
 * Deliberately absent: a cache on disk. All is made again from the texts in the time that reading a cache would take.
 */

import { parseFile } from '../../grammar/file.ts'
import { type Chunk, chunksIn, type SourceFile, type Span } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import { type Allow, type Definition, readChunk, type Use } from '../semantic/definitions.ts'
import { isEvaluated } from '../semantic/evaluate.ts'
import { createRunsOverTime, type RunsOverTime } from '../semantic/over-time.ts'
import { createScope, type Scope } from '../semantic/scope.ts'
import { type Bounds, outside } from './bounds.ts'
import { decode, type FileSystem, normalizeUri, resolveUri } from './files.ts'

export interface Document {
  readonly uri: string
  /** The very same in all versions of a file that follow one another: what is kept along its edits is kept with it. */
  readonly lineage: object
  readonly source: SourceFile
  /** The editor's version of an open document; undefined for one read from disk. */
  readonly version: number | undefined
  readonly invalidAt: number | undefined
  /** Where each chunk begins. */
  readonly starts: ReadonlyMap<Chunk, number>
  readonly definitions: readonly Definition[]
  readonly uses: readonly Use[]
  readonly allows: readonly Allow[]
  /** The `detent` lines that stand in no block, in order, whether or not they read. */
  readonly versions: readonly { readonly chunk: Chunk; readonly match: Match }[]
  /** The addresses that the uses name, in their order; undefined for a path that leads nowhere, or may not be followed. */
  readonly useUris: readonly (string | undefined)[]
}

/** The definitions of a document in the chunks that touch a stretch of it, in their order. */
export function definitionsIn({ source }: Document, within: Span): readonly Definition[] {
  return chunksIn(source, within).flatMap(({ chunk }) => readChunk(chunk).definitions)
}

interface ResolvedUse {
  readonly use: Use
  readonly uri: string | undefined
  /** `loading`: not read yet; `cycle`: the file leads back to this one. */
  readonly state: 'found' | 'missing' | 'loading' | 'cycle'
  /** Why a file that may well be there is not read; only where it is missing. */
  readonly why?: string
}

/** One file with everything it sees. */
export interface FileView {
  readonly document: Document
  readonly uses: readonly ResolvedUse[]
  /** The file itself first, then every file it reaches. */
  readonly documents: readonly Document[]
  readonly scope: Scope
  /** Its own profiles. */
  readonly profiles: readonly Definition[]
  /** Those of them that whatever looks at all may predict: in a file of a great many lines the ones that have been, by now. */
  readonly predicted: readonly Definition[]
  /** Notes that one of them has just been predicted: from then on it is among those that have been. */
  readonly notePredicted: (profile: Definition) => void
}

/** Whether all profiles of a file may be predicted, or have been. */
export const isWhole = ({ predicted, profiles }: FileView): boolean => predicted.length === profiles.length

type Entry =
  | { readonly state: 'loaded'; readonly document: Document }
  | { readonly state: 'missing'; readonly why?: string }

function createDocument(
  uri: string,
  text: string,
  version: number | undefined,
  invalidAt: number | undefined,
  bounds: Bounds,
  previous?: Document,
): Document {
  const source = parseFile(text, previous?.source)
  const starts = new Map<Chunk, number>()
  const [uses, definitions, allows]: [Use[], Definition[], Allow[]] = [[], [], []]
  const versions: { readonly chunk: Chunk; readonly match: Match }[] = []
  // A long file has thousands of chunks, and this is done at each character.
  for (const { chunk, start } of source.chunks) {
    starts.set(chunk, start)
    const reading = readChunk(chunk)
    for (const use of reading.uses) uses.push(use)
    for (const definition of reading.definitions) definitions.push(definition)
    for (const allow of reading.allows) allows.push(allow)
    for (const match of reading.versions) versions.push({ chunk, match })
  }
  const same = previous?.uri === uri && sameUses(uses, previous.uses)
  return {
    uri,
    lineage: previous?.lineage ?? {},
    source,
    version,
    invalidAt,
    starts,
    definitions,
    uses,
    allows,
    versions,
    useUris: same ? previous.useUris : useUrisOf(uri, uses, bounds),
  }
}

function useUrisOf(uri: string, uses: readonly Use[], bounds: Bounds): readonly (string | undefined)[] {
  return uses.map(use => {
    const to = resolveUri(uri, use.path)
    return to !== undefined && bounds(uri, to) ? to : undefined
  })
}

function sameUses(a: readonly Use[], b: readonly Use[]): boolean {
  return a.length === b.length && a.every((use, index) => use.path === b[index]?.path)
}

export interface Workspace {
  /** The runs over time that its profiles ask for. */
  readonly overTime: RunsOverTime
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
  /** What files may lead to is another by now: their uses are followed again. What is then not loaded `load` reads. */
  boundsChanged(): void
  /** Why a file is not read, where that is known: it may be there all the same. */
  unread(uri: string): string | undefined
  /** A file with everything it sees; undefined for a file that is not loaded. */
  view(uri: string): FileView | undefined
  /** The loaded files that reach this one through `use`; also where there is no such file yet. */
  usersOf(uri: string): readonly string[]
}

/** What is done with files of a great many lines. */
export interface Extent {
  /** The profiles of a file of more lines are not predicted all together, but those first that a person sees. */
  readonly predictedLines: number
}

/** Whether a text has more lines than so many. */
export function isLonger(text: string, lines: number): boolean {
  if (text.length < lines) return false
  let found = 1
  for (let at = text.indexOf('\n'); at >= 0 && found <= lines; at = text.indexOf('\n', at + 1)) found++
  return found > lines
}

interface SeenView {
  readonly view: FileView
  /** The state of the workspace in which the view was last found to be right. */
  readonly state: number
}

/**
 * The documents, in memory. A view is evicted with its document; it is made again when one of its documents changed, which
 * is looked for only where anything changed at all.
 * @param bounds which file may lead to which; without it any to any
 */
export function createWorkspace(
  files: FileSystem,
  extent: Extent = { predictedLines: Number.POSITIVE_INFINITY },
  bounds: Bounds = () => true,
): Workspace {
  const overTime = createRunsOverTime()
  const entries = new Map<string, Entry>()
  const open = new Set<string>()
  const views = new Map<string, SeenView>()
  const loading = new Map<string, Promise<void>>()
  /** The loaded files that name an address, whether or not it leads to a file. */
  const namedBy = new Map<string, Set<string>>()
  let state = 0

  const loadedAt = (key: string): Document | undefined => {
    const entry = entries.get(key)
    return entry?.state === 'loaded' ? entry.document : undefined
  }

  /** The one way in which entries change, so that who uses what is always known. */
  const put = (key: string, entry: Entry | undefined): void => {
    state++
    const before = loadedAt(key)
    const after = entry?.state === 'loaded' ? entry.document : undefined
    if (entry === undefined) {
      entries.delete(key)
      views.delete(key)
    } else entries.set(key, entry)
    if (before?.useUris === after?.useUris) return
    for (const used of before?.useUris ?? []) {
      if (used === undefined) continue
      const users = namedBy.get(used)
      users?.delete(key)
      if (users?.size === 0) namedBy.delete(used)
    }
    for (const used of after?.useUris ?? []) {
      if (used === undefined) continue
      const users = namedBy.get(used)
      if (users === undefined) namedBy.set(used, new Set([key]))
      else users.add(key)
    }
  }

  const read = (key: string): Promise<void> => {
    const running = loading.get(key)
    if (running !== undefined) return running
    const started: Promise<void> = files.read(key).then(bytes => {
      const newest = loading.get(key)
      // The file changed while it was read: what counts is what is read now.
      if (newest !== undefined && newest !== started) return newest
      loading.delete(key)
      // An editor may have opened the file meanwhile, or closed it; then this is out of date.
      if (newest === undefined || open.has(key)) return undefined
      if (bytes === undefined) put(key, { state: 'missing' })
      else if ('why' in bytes) put(key, { state: 'missing', why: bytes.why })
      else {
        const { text, invalidAt } = decode(bytes)
        put(key, { state: 'loaded', document: createDocument(key, text, undefined, invalidAt, bounds, loadedAt(key)) })
      }
      return undefined
    })
    loading.set(key, started)
    return started
  }

  const load = async (uris: Iterable<string>): Promise<void> => {
    const seen = new Set<string>()
    let wanted = [...uris].map(normalizeUri)
    while (wanted.length > 0) {
      const fresh = wanted.filter(uri => !seen.has(uri))
      for (const uri of fresh) seen.add(uri)
      await Promise.all(fresh.filter(uri => !entries.has(uri)).map(read))
      wanted = fresh.flatMap(uri => (loadedAt(uri)?.useUris ?? []).filter(one => one !== undefined))
    }
  }

  const reach = (start: Document): Document[] => {
    const found = [start]
    const seen = new Set([start.uri])
    for (const current of found) {
      for (const uri of current.useUris) {
        if (uri === undefined || seen.has(uri)) continue
        const next = loadedAt(uri)
        if (next === undefined) continue
        seen.add(uri)
        found.push(next)
      }
    }
    return found
  }

  const usersOf = (key: string): readonly string[] => {
    const found: string[] = []
    const seen = new Set([key])
    for (let at: string | undefined = key, next = 0; at !== undefined; at = found[next++]) {
      for (const user of namedBy.get(at) ?? []) {
        if (seen.has(user)) continue
        seen.add(user)
        found.push(user)
      }
    }
    return found
  }

  const resolveUse = (from: Document, use: Use, uri: string | undefined, circle: ReadonlySet<string>): ResolvedUse => {
    if (uri === undefined) {
      const isThere = resolveUri(from.uri, use.path) !== undefined
      return isThere ? { use, uri, state: 'missing', why: outside } : { use, uri, state: 'missing' }
    }
    const entry = entries.get(uri)
    if (entry === undefined) return { use, uri, state: 'loading' }
    if (entry.state === 'missing') return { use, uri, ...entry }
    return { use, uri, state: uri === from.uri || circle.has(uri) ? 'cycle' : 'found' }
  }

  const createView = (
    own: Document,
    uses: readonly ResolvedUse[],
    documents: readonly Document[],
    before: FileView | undefined,
  ): FileView => {
    // A file with other loads may put its own evaluation of a profile in the place of the one from here. That a profile has
    // been predicted from here is noted for this reason: work that waits for the last of them would have no end.
    const profiles = own.definitions.filter(({ kind }) => kind === 'profile')
    const scope = createScope(
      documents.flatMap(other => other.definitions),
      overTime,
      before?.scope,
    )
    const isAsBefore = before?.scope.looked === scope.looked && isWhole(before)
    const been = new Set(isAsBefore ? before.profiles : [])
    let isLeft = isLonger(own.source.text, extent.predictedLines)
    return {
      document: own,
      uses,
      documents,
      scope,
      profiles,
      get predicted() {
        if (!isLeft) return profiles
        for (const one of profiles) if (!been.has(one) && isEvaluated(scope, one)) been.add(one)
        isLeft = been.size < profiles.length
        return isLeft ? profiles.filter(one => been.has(one)) : profiles
      },
      notePredicted: profile => {
        if (isLeft) been.add(profile)
      },
    }
  }

  const view = (uri: string): FileView | undefined => {
    const own = loadedAt(normalizeUri(uri))
    if (own === undefined) return undefined
    const known = views.get(own.uri)
    if (known?.state === state) return known.view
    const documents = reach(own)
    // What leads back here: only where a file is used both ways can there be any.
    const circle = own.uses.length === 0 ? new Set<string>() : new Set(usersOf(own.uri))
    const uses = own.uses.map((use, index) => resolveUse(own, use, own.useUris[index], circle))
    const before = known?.view
    const same =
      before !== undefined &&
      before.documents.length === documents.length &&
      before.documents.every((other, index) => other === documents[index]) &&
      before.uses.every((other, index) => other.state === uses[index]?.state && other.why === uses[index]?.why)
    const current = same ? before : createView(own, uses, documents, before)
    views.set(own.uri, { view: current, state })
    return current
  }

  const close = (key: string): void => {
    // Whatever is being read of it counts no more.
    loading.delete(key)
    put(key, undefined)
  }

  return {
    overTime,
    set: (uri, text, version) => {
      const key = normalizeUri(uri)
      open.add(key)
      const known = loadedAt(key)
      // Some clients send a change twice: what was worked out for the text stays good.
      if (known !== undefined && known.version === version && known.source.text === text) return known
      const made = createDocument(key, text, version, undefined, bounds, loadedAt(key))
      put(key, { state: 'loaded', document: made })
      return made
    },
    close: uri => {
      const key = normalizeUri(uri)
      open.delete(key)
      close(key)
    },
    forget: uris => {
      for (const uri of uris) {
        const key = normalizeUri(uri)
        if (!open.has(key)) close(key)
      }
    },
    load,
    boundsChanged: () => {
      for (const [key, entry] of [...entries]) {
        if (entry.state !== 'loaded') continue
        const { document } = entry
        const useUris = useUrisOf(key, document.uses, bounds)
        if (useUris.some((uri, index) => uri !== document.useUris[index]))
          put(key, { state: 'loaded', document: { ...document, useUris } })
      }
    },
    unread: uri => {
      const entry = entries.get(normalizeUri(uri))
      return entry?.state === 'missing' ? entry.why : undefined
    },
    document: uri => loadedAt(normalizeUri(uri)),
    documents: function* () {
      for (const entry of entries.values()) if (entry.state === 'loaded') yield entry.document
    },
    isOpen: uri => open.has(normalizeUri(uri)),
    view,
    usersOf: uri => usersOf(normalizeUri(uri)),
  }
}
