/** Every place that means a definition, and the definition that a place means. */

import { matchChunk } from '../../../grammar/match.ts'
import { onceFor } from '../../../grammar/once.ts'
import type { Chunk, Span } from '../../../grammar/tree.ts'
import { type Definition, readChunk } from '../../semantic/definitions.ts'
import type { Document, FileView, Workspace } from '../../workspace/workspace.ts'
import { cursorAt } from '../cursor.ts'
import { partNameAt, partNameDefinition, usesOfPartName } from './part-names.ts'
import {
  type DefinitionPlace,
  type NamePlace,
  type NameUse,
  namePlaces,
  type Reference,
  referenceAt,
  resolve,
} from './reference.ts'

const placesOf = onceFor((chunk: Chunk): readonly NamePlace[] => namePlaces(chunk, matchChunk(chunk)))

/** What a name means; what a fit has left beside a part means what the files that use it see. */
function meaningOf(workspace: Workspace, view: FileView, place: NamePlace): Definition | undefined {
  const found = resolve(view, place)
  if (found !== undefined || !readChunk(place.chunk).definitions.some(({ kind }) => kind === 'fitted')) return found
  for (const user of workspace.usersOf(view.document.uri)) {
    const seen = workspace.view(user)?.scope.find(place.kind, place.name)
    if (seen !== undefined) return seen
  }
  return undefined
}

function usesIn(workspace: Workspace, view: FileView, definition: Definition): readonly NameUse[] {
  const { uri, source } = view.document
  return source.chunks.flatMap(({ chunk, start }) =>
    placesOf(chunk)
      .filter(place => place.kind === definition.kind && place.name === definition.name)
      .filter(place => meaningOf(workspace, view, place) === definition)
      .map(place => ({ uri, role: place.role, start: start + place.start, end: start + place.end })),
  )
}

/** Every place in the loaded files that means this definition, its own name among them, sorted. */
export function usesOf(workspace: Workspace, definition: Definition): readonly NameUse[] {
  const all = [...workspace.documents()].flatMap(({ uri }) => {
    const view = workspace.view(uri)
    return view === undefined ? [] : usesIn(workspace, view, definition)
  })
  return all.sort((a, b) => (a.uri < b.uri ? -1 : a.uri > b.uri ? 1 : a.start - b.start))
}

/** The name at a place of a file. */
export function nameAt(
  workspace: Workspace,
  uri: string,
  offset: number,
): { readonly view: FileView; readonly reference: Reference; readonly span: Span } | undefined {
  const view = workspace.view(uri)
  if (view === undefined) return undefined
  const cursor = cursorAt(view, offset)
  const found = referenceAt(cursor)
  if (found === undefined) return undefined
  const reference = { ...found, definition: found.definition ?? meaningOf(workspace, view, found) }
  const span = { start: cursor.base + reference.start, end: cursor.base + reference.end }
  return { view, reference, span }
}

function homeOf(workspace: Workspace, view: FileView, definition: Definition): Document | undefined {
  return [...view.documents, ...workspace.documents()].find(document => document.definitions.includes(definition))
}

/** Where the name at a place is defined; for the path of a `use` line, the beginning of that file. */
export function definitionAt(workspace: Workspace, uri: string, offset: number): DefinitionPlace | undefined {
  const found = nameAt(workspace, uri, offset)
  if (found === undefined) return partNameDefinition(workspace, uri, offset) ?? usedFileAt(workspace, uri, offset)
  const { view, reference, span } = found
  const { definition } = reference
  const home = definition === undefined ? undefined : homeOf(workspace, view, definition)
  const base = definition === undefined ? undefined : home?.starts.get(definition.chunk)
  if (definition === undefined || home === undefined || base === undefined) return undefined
  const { statement } = definition.match
  return {
    origin: span,
    uri: home.uri,
    whole: { start: base + statement.start, end: base + statement.end },
    name: { start: base + definition.nameSpan.start, end: base + definition.nameSpan.end },
  }
}

function usedFileAt(workspace: Workspace, uri: string, offset: number): DefinitionPlace | undefined {
  const view = workspace.view(uri)
  for (const { use, uri: target, state } of view?.uses ?? []) {
    const base = view?.document.starts.get(use.chunk) ?? 0
    const origin = { start: base + use.start, end: base + use.end }
    if (offset < origin.start || offset > origin.end || target === undefined || state === 'missing') continue
    const top = { start: 0, end: 0 }
    return { origin, uri: target, whole: top, name: top }
  }
  return undefined
}

/** Every place that means what the name at a place means. */
export function referencesAt(workspace: Workspace, uri: string, offset: number): readonly NameUse[] {
  const found = nameAt(workspace, uri, offset)
  if (found === undefined) {
    const part = partNameAt(workspace, uri, offset)
    return part === undefined ? [] : usesOfPartName(workspace, part.meaning)
  }
  const { view, reference } = found
  return reference.definition === undefined ? sameNames(view, reference) : usesOf(workspace, reference.definition)
}

/** Built-in and unknown names have no definition; the same name in the same file is what can be shown. */
function sameNames(view: FileView, reference: Reference): readonly NameUse[] {
  const { uri, source } = view.document
  return source.chunks.flatMap(({ chunk, start }) =>
    placesOf(chunk)
      .filter(place => place.kind === reference.kind && place.name === reference.name && place.role === 'reference')
      .map(place => ({ uri, role: place.role, start: start + place.start, end: start + place.end })),
  )
}
