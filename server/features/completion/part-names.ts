/** Names of groups of cores and of supply rails where one may stand behind a word. */

import type { Match } from '../../../grammar/values.ts'
import type { Form, Word } from '../../../grammar/vocabulary/index.ts'
import { partsFor } from '../../checks/support/names-of-parts.ts'
import { namedFields } from '../../checks/support/untaken-keys.ts'
import { mainRail } from '../../model/index.ts'
import { type Definition, nameAfter, text } from '../../semantic/definitions.ts'
import { partNames } from '../../semantic/part-names.ts'
import type { Context } from './types.ts'

type Of = 'group' | 'rail' | 'either'

export interface OfferedName {
  readonly name: string
  readonly of: 'group' | 'rail'
  readonly part: string
}

/** The parts whose names count where the cursor stands. */
function partsAt({ view, at }: Context): readonly Definition[] {
  const owner = view.document.definitions.find(({ match }) => match === at.around[0])
  if (owner === undefined) return []
  return owner.kind === 'part' ? [owner] : partsFor(view, owner)
}

/** Every name that the parts in question have, each once. Where all cores are alike there is none. */
function namesAt(context: Context, of: Of): readonly OfferedName[] {
  const found = new Map<string, OfferedName>()
  for (const part of partsAt(context)) {
    const { groups, rails } = partNames(part)
    const add = (kind: 'group' | 'rail', names: readonly string[]): void => {
      for (const name of names) if (!found.has(name)) found.set(name, { name, of: kind, part: part.name })
    }
    if (of !== 'rail') add('group', groups)
    // A single rail needs no name behind a word; a group says the one that it shares.
    if (context.at.place === 'group') add('rail', [...rails, mainRail])
    else if (of !== 'group' && rails.length > 1) add('rail', rails)
  }
  return [...found.values()]
}

/** The names that another statement of this word has taken, where each may stand once. */
function said(context: Context, word: string): ReadonlySet<string | undefined> {
  const isOf = (match: Match): boolean => match !== context.at.match && match.word?.word === word
  return new Set(context.at.siblings.filter(isOf).map(nameAfter))
}

/** Whether a name may be looked up: a field of a menu is of the setting that stands before the name. */
function isTaken({ at: { place, match } }: Context, { of }: OfferedName): boolean {
  const setting = match && text(match, 'setting')?.text
  if (place !== 'menu' || setting === undefined) return true
  return namedFields[setting]?.includes(`${of}s`) === true
}

/** The names to offer behind the word that the line begins with. */
export function groupNames(context: Context, of: Of): readonly OfferedName[] {
  const { match } = context.at
  const word = match?.word
  const names = namesAt(context, of).filter(name => isTaken(context, name))
  if (word === undefined || word.word === '' || word.many === true) return names
  const taken = said(context, word.word)
  return names.filter(({ name }) => !taken.has(name))
}

const nameIn = (form: Form): Of | undefined => {
  const [first] = form
  return first?.slot === 'part-name' && first.after === true ? first.of : undefined
}

/** Whether a word that stands in the block already may stand there again, for a group or rail that it does not name yet. */
export function hasUnsaidName(context: Context, word: Word): boolean {
  const of = word.forms.map(nameIn).find(one => one !== undefined)
  if (of === undefined) return false
  const taken = said(context, word.word)
  // A load gives its cores altogether or group by group, not both.
  if (word.word === 'cores' && taken.has(undefined)) return false
  return namesAt(context, of).some(({ name }) => !taken.has(name))
}
