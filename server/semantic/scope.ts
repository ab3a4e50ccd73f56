/** The definitions that a file sees. */

import { type DefinitionKind, definitionWords } from '../../grammar/vocabulary/index.ts'
import type { Definition } from './definitions.ts'
import { inCommon } from './in-common.ts'
import type { RunsOverTime } from './over-time.ts'

/** The definitions that a file sees: its own and those of the files it uses, directly or through others. */
export interface Scope {
  /** A number of its own: no other scope has it. */
  readonly id: number
  /** The very same while there are the same names of the same kinds, wherever they lead. */
  readonly names: object
  /** The very same while each name that something kept rests on leads where it led: then all of that stands. */
  readonly looked: object
  /** What kept things rest on in this scope and in those before it, as `lookedUp` writes it: shared by them all, it only grows. */
  readonly reads: Set<string>
  /** What may lead elsewhere than in the scope before it; undefined where there is none, or nothing is known of that. */
  readonly since?: Since | undefined
  /** Where runs over time are asked for. */
  readonly overTime: RunsOverTime
  /** The first definition of this kind and name, or undefined. */
  find(kind: DefinitionKind, name: string): Definition | undefined
  /** All definitions of a kind, own ones first, each name once. */
  all(kind: DefinitionKind): readonly Definition[]
}

/** What may differ between a scope and one before it. */
interface Since {
  /** The number of the scope before it. */
  readonly scopeId: number
  /** Whether a name may lead elsewhere; without a name, whether there may be other definitions of the kind. */
  readonly mayDiffer: (kind: DefinitionKind, name: string | undefined) => boolean
}

const none: readonly Definition[] = []

let scopes = 0
export const nextScopeId = (): number => ++scopes

type ByKind = ReadonlyMap<DefinitionKind, ReadonlyMap<string, Definition>>

/** Names that may lead elsewhere, by kind. */
type Changed = ReadonlyMap<DefinitionKind, ReadonlySet<string>>

/** Whether there are the same names of the same kinds as in a scope. */
function hasSameNames(byKind: ByKind, changed: Changed, { find }: Scope): boolean {
  return [...changed].every(([kind, names]) =>
    [...names].every(name => (byKind.get(kind)?.has(name) === true) === (find(kind, name) !== undefined)),
  )
}

/** The names of what stands between what two lists begin and end with: any other leads where it led. */
function changedNames(before: readonly Definition[], after: readonly Definition[]): ReadonlySet<string> {
  const { front, back } = inCommon(before, after, (one, other) => one === other)
  const between = (list: readonly Definition[]) => list.slice(front, list.length - back)
  return new Set([...between(before), ...between(after)].map(({ name }) => name))
}

/** A name that is looked up; without one all definitions of the kind. */
export const lookedUp = (kind: DefinitionKind, name: string | undefined): string =>
  name === undefined ? kind : `${kind} ${name}`

/** Whether something that is kept rests on what may lead elsewhere. */
function touches(reads: ReadonlySet<string>, changed: Changed): boolean {
  return [...changed].some(
    ([kind, names]) => reads.has(lookedUp(kind, undefined)) || [...names].some(name => reads.has(lookedUp(kind, name))),
  )
}

function sinceOf(scopeId: number, changed: Changed): Since {
  return {
    scopeId,
    mayDiffer: (kind, name) => {
      const names = changed.get(kind)
      return names !== undefined && (name === undefined || names.has(name))
    },
  }
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
  const lists = new Map<DefinitionKind, readonly Definition[]>()
  const changed = new Map<DefinitionKind, ReadonlySet<string>>()
  for (const kind of definitionWords) {
    const [earlier, list] = [before?.all(kind) ?? none, [...(byKind.get(kind)?.values() ?? none)]]
    const names = changedNames(earlier, list)
    if (names.size > 0) changed.set(kind, names)
    lists.set(kind, names.size === 0 ? earlier : list)
  }
  return {
    id: nextScopeId(),
    names: before !== undefined && hasSameNames(byKind, changed, before) ? before.names : {},
    looked: before !== undefined && !touches(before.reads, changed) ? before.looked : {},
    reads: before?.reads ?? new Set(),
    since: before && sinceOf(before.id, changed),
    overTime,
    find: (kind, name) => byKind.get(kind)?.get(name),
    all: kind => lists.get(kind) ?? none,
  }
}
