/** The definitions that a file sees. */

import type { DefinitionKind } from '../../grammar/vocabulary/index.ts'
import type { Definition } from './definitions.ts'
import type { RunsOverTime } from './over-time.ts'

/** The definitions that a file sees: its own and those of the files it uses, directly or through others. */
export interface Scope {
  /** Where runs over time are asked for. */
  readonly overTime: RunsOverTime
  /** The first definition of this kind and name, or undefined. */
  find(kind: DefinitionKind, name: string): Definition | undefined
  /** All definitions of a kind, own ones first, each name once. */
  all(kind: DefinitionKind): readonly Definition[]
}

export function createScope(definitions: Iterable<Definition>, overTime: RunsOverTime): Scope {
  const byKind = new Map<DefinitionKind, Map<string, Definition>>()
  for (const definition of definitions) {
    let names = byKind.get(definition.kind)
    if (names === undefined) {
      names = new Map()
      byKind.set(definition.kind, names)
    }
    if (!names.has(definition.name)) names.set(definition.name, definition)
  }
  const lists = new Map<DefinitionKind, readonly Definition[]>()
  for (const [kind, names] of byKind) lists.set(kind, [...names.values()])
  return {
    overTime,
    find: (kind, name) => byKind.get(kind)?.get(name),
    all: kind => lists.get(kind) ?? [],
  }
}
