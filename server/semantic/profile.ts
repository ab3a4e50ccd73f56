/** A profile with all that it starts from, its names resolved. */

import type { Match, TextValue } from '../../grammar/values.ts'
import { isBuiltInLoad, mostInherited } from '../../grammar/vocabulary/index.ts'
import { type Definition, entries, entry, nameAfter, rows, text } from './definitions.ts'
import { keptByNames } from './kept-by-names.ts'
import type { Scope } from './scope.ts'

/** A statement and the profile that states it. */
export interface Sourced {
  readonly match: Match
  readonly definition: Definition
}

export interface ResolvedProfile {
  readonly definition: Definition
  /** Every course that the profile's file declares or uses. */
  readonly courses: readonly Definition[]
  /** The profile itself first, then the one it starts from, and so on. */
  readonly chain: readonly Definition[]
  /** Where `based-on` does not lead to a profile, leads back, or leads on and on. */
  readonly broken: 'unknown' | 'cycle' | 'deep' | undefined
  readonly part: Definition | undefined
  /** What a fit has found of the part beside its values. */
  readonly fitted: Definition | undefined
  readonly cooler: Definition | undefined
  readonly room: Definition | undefined
  readonly board: Definition | undefined
  /** Every load that the profile's file declares or uses. */
  readonly loads: readonly Definition[]
  /**
   * The statement of a key or table that counts: the nearest one along the chain.
   * @param name of a group: its own, or else the one for every group; without, the latter
   */
  key(word: string, name?: string): Sourced | undefined
  /** A key inside `limits` or `voltage`: the nearest one along the chain. @param name of a group or rail, as for `key` */
  inner(block: 'limits' | 'voltage', word: string, name?: string): Sourced | undefined
  /** The `set` rows of the nearest profile that has any. @param name of a group, as for `key` */
  setRows(name?: string): readonly Sourced[]
  /** Expectations of the chain; one for the same load and figure replaces an inherited one. */
  expectations(): readonly Sourced[]
}

function chainOf(scope: Scope, definition: Definition): Pick<ResolvedProfile, 'chain' | 'broken'> {
  const chain = [definition]
  for (let current = definition; current.basedOn !== undefined; ) {
    const base = scope.find('profile', current.basedOn.text)
    if (base === undefined) return { chain, broken: 'unknown' }
    if (chain.includes(base)) return { chain, broken: 'cycle' }
    if (chain.length > mostInherited) return { chain, broken: 'deep' }
    chain.push(base)
    current = base
  }
  return { chain, broken: undefined }
}

/** What an expectation is about: one for the same load and figure replaces it. */
export function expectationKey(match: Match): string {
  const figure = (text(match, 'figure') as TextValue | undefined)?.text
  const clockOr = match.values.has('clock') ? 'holds' : 'above-dew'
  const about = figure ?? (match.values.has('trips') ? 'trips' : clockOr)
  const group = nameAfter(match)
  const which = group === undefined ? '' : ` of ${group}`
  const course = text(match, 'course')?.text
  return `${course === undefined ? text(match, 'load')?.text : `course ${course}`} ${about}${which} ${text(match, 'compare')?.text ?? ''}`
}

/** Resolves a profile in the scope of its own file: the very same object while no name in it leads elsewhere. */
export const resolveProfile: (scope: Scope, definition: Definition) => ResolvedProfile = keptByNames(resolve)

function resolve(scope: Scope, definition: Definition): ResolvedProfile {
  const { chain, broken } = chainOf(scope, definition)
  const key = (word: string, name?: string): Sourced | undefined => {
    for (const link of chain) {
      const match = entry(link.match, word, name)
      if (match !== undefined) return { match, definition: link }
    }
    return name === undefined ? undefined : key(word)
  }
  const blocks = (word: string): Sourced[] =>
    chain.flatMap(link => {
      const match = entry(link.match, word)
      return match === undefined ? [] : [{ match, definition: link }]
    })
  const inInner = (block: 'limits' | 'voltage', word: string, name?: string): Sourced | undefined => {
    for (const { match, definition: link } of blocks(block)) {
      const found = entry(match, word, name)
      if (found !== undefined) return { match: found, definition: link }
    }
    return name === undefined ? undefined : inInner(block, word)
  }
  const setRowsOf = (name?: string): readonly Sourced[] => {
    for (const { match, definition: link } of blocks('voltage')) {
      const found = entries(match, 'set').filter(row => nameAfter(row) === name)
      if (found.length > 0) return found.map(row => ({ match: row, definition: link }))
    }
    return name === undefined ? [] : setRowsOf()
  }
  const named = (kind: 'part' | 'cooler' | 'room' | 'board'): Definition | undefined => {
    const found = key(kind)
    const name = found === undefined ? undefined : text(found.match, kind)?.text
    return name === undefined ? undefined : scope.find(kind, name)
  }
  const part = named('part')
  return {
    definition,
    courses: scope.all('course'),
    chain,
    broken,
    part,
    fitted: part && scope.find('fitted', part.name),
    cooler: named('cooler'),
    room: named('room'),
    board: named('board'),
    // A definition cannot take the place of a built-in load; that has a finding of its own.
    loads: scope.all('load').filter(({ name }) => !isBuiltInLoad(name)),
    key,
    inner: inInner,
    setRows: setRowsOf,
    expectations: () => {
      const seen = new Set<string>()
      const result: Sourced[] = []
      for (const link of chain) {
        const own = entries(link.match, 'expect')
        for (const match of own) if (!seen.has(expectationKey(match))) result.push({ match, definition: link })
        for (const match of own) seen.add(expectationKey(match))
      }
      return result
    },
  }
}

/** The sound rows of a profile's table, of the nearest profile that has the table. @param name of a group, as for `key` */
export function tableRows(profile: ResolvedProfile, word: string, name?: string): readonly Sourced[] {
  const table = profile.key(word, name)
  return table === undefined ? [] : rows(table.match).map(match => ({ match, definition: table.definition }))
}
