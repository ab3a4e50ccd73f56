/** The definitions that a file sees. */

import { type DefinitionKind, definitionWords } from '../../grammar/vocabulary/index.ts'
import type { Definition } from './definitions.ts'
import type { RunsOverTime } from './over-time.ts'

/** The definitions that a file sees: its own and those of the files it uses, directly or through others. */
export interface Scope {
  /** A number of its own: no other scope has it. */
  readonly id: number
  /** The very same while there are the same names of the same kinds, wherever they lead. */
  readonly names: object
  /** Where runs over time are asked for. */
  readonly overTime: RunsOverTime
  /** The first definition of this kind and name, or undefined. */
  find(kind: DefinitionKind, name: string): Definition | undefined
  /** All definitions of a kind, own ones first, each name once. */
  all(kind: DefinitionKind): readonly Definition[]
}

const none: readonly Definition[] = []

let scopes = 0
export const nextScopeId = (): number => ++scopes

/** @param before a scope whose lists are taken over where they are the same: what rests on a list then sees that at once */
export function createScope(definitions: Iterable<Definition>, overTime: RunsOverTime, before?: Scope): Scope {
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
  let hasSameNames =
    before !== undefined && definitionWords.every(kind => byKind.has(kind) || before.all(kind).length === 0)
  for (const [kind, names] of byKind) {
    const list = [...names.values()]
    const earlier = before?.all(kind) ?? []
    if (earlier.length !== list.length || !earlier.every(({ name }) => names.has(name))) hasSameNames = false
    const isSame = earlier.length === list.length && list.every((one, index) => one === earlier[index])
    lists.set(kind, isSame ? earlier : list)
  }
  return {
    id: nextScopeId(),
    names: hasSameNames && before !== undefined ? before.names : {},
    overTime,
    find: (kind, name) => byKind.get(kind)?.get(name),
    all: kind => lists.get(kind) ?? none,
  }
}
