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

type ByKind = ReadonlyMap<DefinitionKind, ReadonlyMap<string, Definition>>

/** Whether there are the same names of the same kinds as in a scope. */
function hasSameNames(byKind: ByKind, { all }: Scope): boolean {
  return definitionWords.every(kind => {
    const [names, earlier] = [byKind.get(kind), all(kind)]
    return earlier.length === (names?.size ?? 0) && earlier.every(({ name }) => names?.has(name))
  })
}

/** The definitions by kind; a list is the scope's where it is the same. */
function listed(byKind: ByKind, before: Scope | undefined): ReadonlyMap<DefinitionKind, readonly Definition[]> {
  const lists = new Map<DefinitionKind, readonly Definition[]>()
  for (const [kind, names] of byKind) {
    const list = [...names.values()]
    const earlier = before?.all(kind) ?? none
    const isSame = earlier.length === list.length && list.every((one, index) => one === earlier[index])
    lists.set(kind, isSame ? earlier : list)
  }
  return lists
}

/**
 * @param before a scope whose lists are taken over where they are the same: what rests on a list then sees that at once. No
 * function in here may name it: what the scope's own functions see would hold it, and with it all scopes before it
 */
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
  const lists = listed(byKind, before)
  return {
    id: nextScopeId(),
    names: before !== undefined && hasSameNames(byKind, before) ? before.names : {},
    overTime,
    find: (kind, name) => byKind.get(kind)?.get(name),
    all: kind => lists.get(kind) ?? none,
  }
}
