/** Statements for every group of a part, or every supply rail, that none takes, since each has its own. */

import type { Match } from '../../../grammar/values.ts'
import { findWord } from '../../../grammar/vocabulary/index.ts'
import { type Definition, entries, entry, mentions, nameAfter, rows, text } from '../../semantic/definitions.ts'
import { groupBlocks } from '../../semantic/group-constants.ts'
import { groupsByRail, type PartNames, partNames } from '../../semantic/part-names.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import type { FileView } from '../../workspace/workspace.ts'
import type { Found } from '../types.ts'
import { removeFix } from './edits.ts'
import { namesAny, partsFor } from './names-of-parts.ts'
import { headPlace } from './place.ts'

function found(definition: Definition, match: Match, what: string, whose = 'group'): Found {
  const { chunk } = definition
  return {
    at: headPlace({ chunk }, match),
    message: `Every ${whose} has its own \`${what}\`${what === 'set' ? ' rows' : ''}, so none takes this one. The line changes nothing: remove it.`,
    fixes: [removeFix('Remove it', chunk, match.statement)],
  }
}

/** Keys of a part that each of its groups states. */
export function* untakenInPart(definition: Definition): Iterable<Found> {
  const groups = definition.kind === 'part' ? groupBlocks(definition.match) : []
  if (groups.length === 0) return
  for (const match of definition.match.children) {
    const word = match.word?.word ?? ''
    if (!match.sound || word === '' || match.word?.carried === true || findWord('group', word) !== match.word) continue
    if (match.word?.in.includes('file') === true) continue
    if (groups.every(({ block }) => mentions(block, word))) yield found(definition, match, word)
  }
}

/** Settings of a profile for every group or rail, where each has one of its own, here or in what it starts from. */
export function* untakenInProfile(profile: ResolvedProfile): Iterable<Found> {
  const { definition, part } = profile
  const { groups, rails } = partNames(part)
  if (groups.length === 0) return
  const { match } = definition
  const takenBy = (names: readonly string[], find: (name: string) => Match | undefined, own: Match): boolean =>
    names.some(name => find(name) === own)
  for (const word of ['steps', 'bands', 'vector']) {
    const own = entry(match, word)
    if (own !== undefined && !takenBy(groups, name => profile.key(word, name)?.match, own))
      yield found(definition, own, word)
  }
  const voltage = entry(match, 'voltage')
  const core = voltage && entry(voltage, 'core')
  if (core !== undefined && !takenBy(groups, name => profile.inner('voltage', 'core', name)?.match, core))
    yield found(definition, core, 'core')
  const taken = new Set(groups.flatMap(name => profile.setRows(name).map(row => row.match)))
  for (const row of voltage === undefined ? [] : entries(voltage, 'set'))
    if (nameAfter(row) === undefined && !taken.has(row)) yield found(definition, row, 'set')
  const limits = entry(match, 'limits')
  const current = limits && entry(limits, 'current')
  if (current !== undefined && !takenBy(rails, name => profile.inner('limits', 'current', name)?.match, current))
    yield found(definition, current, 'current', 'supply rail')
}

/** What a board or a load says for all, where every part in sight has groups that each have their own there. */
export function* untakenOfMany(view: FileView, definition: Definition): Iterable<Found> {
  const { kind, match } = definition
  if ((kind !== 'board' && kind !== 'load') || !namesAny(definition)) return
  const all = partsFor(view, definition).map(part => ({ ...partNames(part), byRail: groupsByRail(part) }))
  if (all.length === 0 || all.some(({ groups }) => groups.length === 0)) return
  const words = kind === 'board' ? (['core-voltage-step', 'load-line'] as const) : (['activity'] as const)
  // A load with named counts keeps no other group busy.
  const busy = new Set(entries(match, 'cores').flatMap(line => nameAfter(line) ?? []))
  const isKnown = (name: string): boolean => all.some(({ groups }) => groups.includes(name))
  // Such a name has a finding of its own, and is nothing to judge others by.
  if (kind === 'load' && ![...busy].every(isKnown)) return
  for (const word of words) {
    const own = entry(match, word)
    if (own === undefined) continue
    const named = new Set(entries(match, word).flatMap(line => nameAfter(line) ?? []))
    const isTaken = all.some(({ groups, rails }) => {
      const takers = kind === 'board' ? rails : busy.size === 0 ? groups : groups.filter(name => busy.has(name))
      return takers.some(name => !named.has(name))
    })
    if (!isTaken) yield found(definition, own, word, kind === 'board' ? 'supply rail' : 'busy group')
  }
  if (kind === 'board') yield* untakenFields(definition, all)
}

type NamesOfPart = PartNames & { readonly byRail: ReadonlyMap<string, readonly string[]> }

/** What a field of a menu can be looked up by: settings that groups have, and settings that rails have. */
export const namedFields: Readonly<Record<string, readonly ('groups' | 'rails')[] | undefined>> = {
  steps: ['groups'],
  bands: ['groups'],
  vector: ['groups'],
  'core-voltage': ['groups', 'rails'],
  current: ['rails'],
}

/** Fields of a menu with a name that no entry of the sheet has, and fields for all where each has its own. */
function* untakenFields(definition: Definition, all: readonly NamesOfPart[]): Iterable<Found> {
  const menu = entry(definition.match, 'menu')
  const lines = (menu === undefined ? [] : rows(menu)).flatMap(line => {
    const setting = text(line, 'setting')
    return setting === undefined || setting.kind === 'string'
      ? []
      : [{ line, setting: setting.text, name: nameAfter(line) }]
  })
  for (const { line, setting, name } of lines) {
    const of = namedFields[setting] ?? []
    if (name !== undefined) {
      const isKnown = all.some(names => names.groups.includes(name) || names.rails.includes(name))
      if (!isKnown || all.some(names => of.some(kind => names[kind].includes(name)))) continue
      yield unlooked(definition, line, setting, of)
      continue
    }
    const named = new Set(lines.flatMap(one => (one.setting === setting ? (one.name ?? []) : [])))
    const isTaken = all.some(({ rails, byRail }) => {
      if (of.length === 0) return true
      if (!of.includes('groups')) return rails.some(rail => !named.has(rail))
      const has = (group: string, rail: string): boolean =>
        named.has(group) || (of.includes('rails') && named.has(rail))
      return [...byRail].some(([rail, on]) => on.some(group => !has(group, rail)))
    })
    if (!isTaken) yield found(definition, line, setting, of.includes('groups') ? 'group' : 'supply rail')
  }
}

/** Why a field with a name is not shown, and what to do about it. */
function unlookedText(of: readonly ('groups' | 'rails')[]): string {
  if (of.length === 0) return 'once for the whole part, so this named field is never shown. Remove the name.'
  return of.includes('groups')
    ? 'for each group of cores, so a field named after a supply rail is never shown. Remove the name, or name a group.'
    : 'for each supply rail, so a field named after a group is never shown. Remove the name, or name a rail.'
}

function unlooked(definition: Definition, line: Match, setting: string, of: readonly ('groups' | 'rails')[]): Found {
  const { chunk } = definition
  return {
    at: headPlace({ chunk }, line),
    message: `\`${setting}\` is entered ${unlookedText(of)}`,
    fixes: [removeFix('Remove it', chunk, line.statement)],
  }
}
