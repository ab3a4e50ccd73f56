/** Renaming of definitions, in all loaded files at once. */

import type { Span } from '../../../grammar/tree.ts'
import type { DefinitionKind } from '../../../grammar/vocabulary/index.ts'
import { fileName } from '../../workspace/files.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import type { FileEdits } from '../actions.ts'
import { nameAt, usesOf } from './find.ts'
import { isBuiltIn } from './reference.ts'

/** The name that can be renamed at a place. */
export interface Renamable extends Span {
  readonly name: string
}

const wellFormed = /^[a-z][a-z0-9]*(?:-[a-z0-9]+)*$/

export function renamableAt(workspace: Workspace, uri: string, offset: number): Renamable | undefined {
  const found = nameAt(workspace, uri, offset)
  if (found?.reference.definition === undefined) return undefined
  return { ...found.span, name: found.reference.name }
}

/** A file that sees the definition and already has another of the new name: its lines would mean something else. */
function taken(workspace: Workspace, uris: Iterable<string>, kind: DefinitionKind, name: string): string | undefined {
  for (const uri of uris) if (workspace.view(uri)?.scope.find(kind, name) !== undefined) return uri
  return undefined
}

export type Renaming = { readonly files: readonly FileEdits[] } | { readonly refused: string }

/** The edits that give the definition at a place another name; undefined where no name stands. */
export function rename(workspace: Workspace, uri: string, offset: number, name: string): Renaming | undefined {
  const found = nameAt(workspace, uri, offset)
  const definition = found?.reference.definition
  if (definition === undefined) return undefined
  const { kind } = definition
  if (!wellFormed.test(name)) {
    return { refused: `“${name}” is not a name: names are small letters, digits and single hyphens, a letter first.` }
  }
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
  const byFile = new Map<string, { start: number; end: number; text: string }[]>()
  for (const use of uses) {
    const edits = byFile.get(use.uri) ?? []
    edits.push({ start: use.start, end: use.end, text: name })
    byFile.set(use.uri, edits)
  }
  return { files: [...byFile].map(([file, edits]) => ({ uri: file, edits })) }
}
