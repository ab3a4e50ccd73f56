/** Every place that means a group of cores or a supply rail of a part, and what such a name means. */

import { onceFor } from '../../../grammar/once.ts'
import type { Span } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { partsFor } from '../../checks/support/names-of-parts.ts'
import { type Definition, entries, text } from '../../semantic/definitions.ts'
import { partNames } from '../../semantic/part-names.ts'
import type { FileView, Workspace } from '../../workspace/workspace.ts'
import { cursorAt } from '../cursor.ts'
import type { DefinitionPlace, NameUse } from './reference.ts'

type Kind = 'group' | 'rail'

interface Place extends Span {
  readonly name: string
  readonly of: Kind | 'either'
  readonly role: NameUse['role']
  /** The definition in which it stands. */
  readonly owner: Definition
}

/** What a name means: groups or rails of one or more parts. A load or a board may serve many. */
export interface PartName {
  readonly kind: Kind
  readonly name: string
  readonly parts: ReadonlySet<Definition>
}

function placesIn(owner: Definition, match: Match, into: Place[]): void {
  for (const { slot, from } of match.slots) {
    const item = match.statement.items[from]
    if (slot.slot !== 'part-name' || item?.kind !== 'word') continue
    const role = slot.of === 'group' && slot.after !== true ? 'definition' : 'reference'
    into.push({ name: item.text, of: slot.of, role, owner, start: item.start, end: item.end })
  }
  for (const child of match.children) placesIn(owner, child, into)
}

const placesOf = onceFor((owner: Definition): readonly Place[] => {
  const found: Place[] = []
  placesIn(owner, owner.match, found)
  return found
})

function hasName(part: Definition, kind: Kind, name: string): boolean {
  const { groups, rails } = partNames(part)
  return (kind === 'group' ? groups : rails).includes(name)
}

function meaningOf(view: FileView, { name, of, owner }: Place): PartName | undefined {
  const inSight = owner.kind === 'part' ? [owner] : partsFor(view, owner)
  for (const kind of of === 'either' ? (['group', 'rail'] as const) : [of]) {
    const parts = inSight.filter(part => hasName(part, kind, name))
    if (parts.length > 0) return { kind, name, parts: new Set(parts) }
  }
  return undefined
}

/** The name of a group or rail that a place of a file touches, and what it means; undefined where no part has it. */
export function partNameAt(
  workspace: Workspace,
  uri: string,
  offset: number,
): { readonly meaning: PartName; readonly span: Span } | undefined {
  const view = workspace.view(uri)
  const cursor = view && cursorAt(view, offset)
  const { item, definition } = cursor ?? {}
  if (view === undefined || cursor === undefined || item === undefined || definition === undefined) return undefined
  const place = placesOf(definition).find(one => one.start === item.start)
  const meaning = place && meaningOf(view, place)
  return meaning && { meaning, span: { start: cursor.base + item.start, end: cursor.base + item.end } }
}

/** Every place in the loaded files that means a name of these parts, with what else it means there, sorted. */
function* placesMeaning(
  workspace: Workspace,
  { kind, name, parts }: PartName,
): Iterable<{ readonly use: NameUse; readonly parts: ReadonlySet<Definition> }> {
  const uris = [...workspace.documents()].map(({ uri }) => uri)
  for (const uri of uris.sort()) {
    const view = workspace.view(uri)
    for (const owner of view?.document.definitions ?? []) {
      const base = view?.document.starts.get(owner.chunk) ?? 0
      for (const place of placesOf(owner)) {
        const meaning = view === undefined || place.name !== name ? undefined : meaningOf(view, place)
        if (meaning?.kind !== kind || ![...meaning.parts].some(part => parts.has(part))) continue
        const use = { uri, role: place.role, start: base + place.start, end: base + place.end }
        yield { use, parts: meaning.parts }
      }
    }
  }
}

/** Every place in the loaded files that means the group or rail, sorted. */
export function usesOfPartName(workspace: Workspace, meaning: PartName): readonly NameUse[] {
  return [...placesMeaning(workspace, meaning)].map(({ use }) => use)
}

/**
 * The same name with all parts that it ties together: a load or a board that serves two parts says one name for both, so
 * that it can only change in both.
 */
export function tiedName(workspace: Workspace, meaning: PartName): PartName {
  const parts = new Set(meaning.parts)
  for (let known = 0; known < parts.size; ) {
    known = parts.size
    for (const place of placesMeaning(workspace, { ...meaning, parts })) for (const one of place.parts) parts.add(one)
  }
  return { ...meaning, parts }
}

/** The line that a part states a name on: the group's block, or the first `rail` line with it. */
function statedBy(part: Definition, { kind, name }: PartName): { readonly line: Match; readonly at: Span } | undefined {
  const groups = entries(part.match, 'group')
  const lines = kind === 'group' ? groups : groups.flatMap(group => entries(group, 'rail'))
  for (const line of lines) {
    const at = text(line, kind === 'group' ? 'name' : 'value')
    if (at?.text === name) return { line, at }
  }
  return undefined
}

/** Where the group or rail whose name stands at a place is stated. */
export function partNameDefinition(workspace: Workspace, uri: string, offset: number): DefinitionPlace | undefined {
  const found = partNameAt(workspace, uri, offset)
  const [part] = found?.meaning.parts ?? []
  const stated = found && part && statedBy(part, found.meaning)
  const home = [...workspace.documents()].find(({ definitions }) => part !== undefined && definitions.includes(part))
  const base = part && home?.starts.get(part.chunk)
  if (found === undefined || stated === undefined || home === undefined || base === undefined) return undefined
  const { start, end } = stated.line.statement
  return {
    origin: found.span,
    uri: home.uri,
    whole: { start: base + start, end: base + end },
    name: { start: base + stated.at.start, end: base + stated.at.end },
  }
}
