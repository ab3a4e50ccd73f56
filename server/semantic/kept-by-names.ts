/**
 * Work that looks names up, kept as long as each of them leads where it led. Two things always hold:
 *
 * 1. What is kept rests on its key, on the names that were looked up while it was made, and on nothing else: the work is
 *    given a scope that writes down what is asked of it.
 * 2. It is given back only where every one of those names leads to the very same definitions in the scope at hand. That is
 *    looked up once for each scope, and only where a scope differs from the one before in one of those names. So an edit costs
 *    a glance at each thing kept, and work for what it changes.
 */

import type { DefinitionKind } from '../../grammar/vocabulary/index.ts'
import type { Definition } from './definitions.ts'
import { lookedUp, type Scope } from './scope.ts'

interface Read {
  readonly kind: DefinitionKind
  /** Undefined where all of the kind were asked for. */
  readonly name: string | undefined
  readonly found: Definition | readonly Definition[] | undefined
}

interface Kept<V> {
  readonly reads: readonly Read[]
  readonly made: V
  /** The scope in which that was last found to be right. */
  scopeId: number
}

function recording(scope: Scope, into: Read[]): Scope {
  return {
    id: scope.id,
    // Nobody who is given this scope may rest on it: what is kept is looked up name by name.
    names: {},
    looked: {},
    reads: scope.reads,
    overTime: scope.overTime,
    find: (kind, name) => {
      const found = scope.find(kind, name)
      into.push({ kind, name, found })
      return found
    },
    all: kind => {
      const found = scope.all(kind)
      into.push({ kind, name: undefined, found })
      return found
    },
  }
}

function isSame(some: readonly Definition[], others: readonly Definition[]): boolean {
  return some === others || (some.length === others.length && some.every((one, index) => one === others[index]))
}

/** Whether a name leads where it led. */
function holds(scope: Scope, { kind, name, found }: Read): boolean {
  return name === undefined ? isSame(scope.all(kind), found as readonly Definition[]) : scope.find(kind, name) === found
}

/** Whether all that was read leads where it led. */
function isStill(scope: Scope, { scopeId, reads }: Kept<unknown>): boolean {
  if (scopeId === scope.id) return true
  const { since } = scope
  if (since?.scopeId === scopeId && !reads.some(({ kind, name }) => since.mayDiffer(kind, name))) return true
  if (!reads.every(read => holds(scope, read))) return false
  note(scope, reads)
  return true
}

/** Whoever goes by `looked` of a scope hears of these names from now on. */
function note(scope: Scope, reads: readonly Read[]): void {
  for (const { kind, name } of reads) scope.reads.add(lookedUp(kind, name))
}

/**
 * Makes a function whose answer is kept with its key.
 * @param make may look names up while it runs, and not later
 */
export function keptByNames<K extends object, V>(make: (scope: Scope, key: K) => V): (scope: Scope, key: K) => V {
  /** Evicted with the key; replaced where a name leads elsewhere. */
  const kept = new WeakMap<K, Kept<V>>()
  return (scope, key) => {
    const before = kept.get(key)
    if (before !== undefined && isStill(scope, before)) {
      before.scopeId = scope.id
      return before.made
    }
    const reads: Read[] = []
    const made = make(recording(scope, reads), key)
    note(scope, reads)
    kept.set(key, { reads, made, scopeId: scope.id })
    return made
  }
}
