/** Renaming of definitions, in all loaded files at once. */

import type { Span } from '../../../grammar/tree.ts'
import type { DefinitionKind } from '../../../grammar/vocabulary/index.ts'
import { mainRail } from '../../model/index.ts'
import { partNames } from '../../semantic/part-names.ts'
import { fileName } from '../../workspace/files.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import type { FileEdits } from '../actions.ts'
import { nameAt, usesOf } from './find.ts'
import { partNameAt, tiedName, usesOfPartName } from './part-names.ts'
import { isBuiltIn, type NameUse } from './reference.ts'

/** The name that can be renamed at a place. */
export interface Renamable extends Span {
  readonly name: string
}

const wellFormed = /^[a-z][a-z0-9]*(?:-[a-z0-9]+)*$/

export function renamableAt(workspace: Workspace, uri: string, offset: number): Renamable | undefined {
  const found = nameAt(workspace, uri, offset)
  if (found?.reference.definition !== undefined) return { ...found.span, name: found.reference.name }
  const part = partNameAt(workspace, uri, offset)
  // The main rail is that of every group without a line of its own: there is no name to change.
  return part === undefined || isMainRail(part.meaning) ? undefined : { ...part.span, name: part.meaning.name }
}

const isMainRail = ({ kind, name }: { kind: string; name: string }): boolean => kind === 'rail' && name === mainRail

/** A file that sees the definition and already has another of the new name: its lines would mean something else. */
function taken(workspace: Workspace, uris: Iterable<string>, kind: DefinitionKind, name: string): string | undefined {
  for (const uri of uris) if (workspace.view(uri)?.scope.find(kind, name) !== undefined) return uri
  return undefined
}

export type Renaming = { readonly files: readonly FileEdits[] } | { readonly refused: string }

function malformed(name: string): { readonly refused: string } | undefined {
  return wellFormed.test(name)
    ? undefined
    : { refused: `“${name}” is not a name: names are small letters, digits and single hyphens, a letter first.` }
}

function editsAt(uses: readonly NameUse[], name: string): Renaming {
  const byFile = new Map<string, { start: number; end: number; text: string }[]>()
  for (const use of uses) {
    const edits = byFile.get(use.uri) ?? []
    edits.push({ start: use.start, end: use.end, text: name })
    byFile.set(use.uri, edits)
  }
  return { files: [...byFile].map(([file, edits]) => ({ uri: file, edits })) }
}

/** The edits that give the group or rail at a place another name, in every part that its loads and boards tie it to. */
function renamePartName(workspace: Workspace, uri: string, offset: number, name: string): Renaming | undefined {
  const found = partNameAt(workspace, uri, offset)
  if (found === undefined || isMainRail(found.meaning)) return undefined
  const wrong = malformed(name)
  if (wrong !== undefined) return wrong
  const tied = tiedName(workspace, found.meaning)
  if (name === tied.name) return { files: [] }
  for (const part of tied.parts) {
    const { groups, rails } = partNames(part)
    const isTaken = tied.kind === 'group' ? groups.includes(name) : name === mainRail || rails.includes(name)
    if (isTaken) return { refused: `A ${tied.kind} of the part ${part.name} is already called “${name}”.` }
  }
  return editsAt(usesOfPartName(workspace, tied), name)
}

/** The edits that give what is named at a place another name; undefined where no name stands. */
export function rename(workspace: Workspace, uri: string, offset: number, name: string): Renaming | undefined {
  const found = nameAt(workspace, uri, offset)
  const definition = found?.reference.definition
  if (definition === undefined) return renamePartName(workspace, uri, offset, name)
  const { kind } = definition
  const wrong = malformed(name)
  if (wrong !== undefined) return wrong
  if (isBuiltIn(kind, name)) return { refused: `“${name}” is a built-in load.` }
  if (name === definition.name) return { files: [] }
  const uses = usesOf(workspace, definition)
  const seeing = new Set([uri, ...uses.map(use => use.uri)])
  const clash = taken(workspace, seeing, kind, name)
  if (clash !== undefined) {
    return {
      refused: `A ${kind} is already called “${name}” in ${fileName(clash)} or a file it uses.`,
    }
  }
  return editsAt(uses, name)
}
