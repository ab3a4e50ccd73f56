/** Which row of a table another replaces: by core counts, threshold or first cell. */

import type { Match } from '../../../grammar/values.ts'
import { counts, type Definition, nameAfter, quantity, text } from '../../semantic/definitions.ts'
import { expectationKey } from '../../semantic/profile.ts'
import { coresText } from '../../wording/counts.ts'

/** What identifies a statement in its block; undefined where each stands for itself. */
export function identity(match: Match): string | undefined {
  const word = match.word?.word ?? ''
  if (word === 'expect') return `expect ${expectationKey(match)}`
  const name = nameAfter(match)
  if (word !== '' && match.word?.many !== true) return name === undefined ? word : `${word} ${name}`
  if (match.place === 'bands') {
    const cores = counts(match, 'cores')
    return `${cores?.from} ${cores?.to} ${quantity(match, 'above')?.value}`
  }
  if (word !== '' && word !== 'set') return undefined
  const slot = match.slots.find(one => one.slot.slot !== 'part-name')?.slot
  const value = slot !== undefined && 'name' in slot ? match.values.get(slot.name) : undefined
  if (value === undefined) return undefined
  return `${word} ${name ?? ''} ${JSON.stringify('value' in value ? value.value : 'text' in value ? value.text : [value.kind])}`
}

/** What cannot stand beside a statement: `cores` of a load is one number or one for each busy group. */
export function ruledOut(match: Match, there: readonly Match[]): readonly Match[] {
  if (match.place !== 'load' || match.word?.word !== 'cores') return []
  const isNamed = nameAfter(match) !== undefined
  return there.filter(one => one.word?.word === 'cores' && (nameAfter(one) !== undefined) !== isNamed)
}

/** A row of `bands` that gives nothing back takes the row of its counts and threshold out. */
export function takesOut(match: Match): boolean {
  return match.place === 'bands' && quantity(match, 'drop')?.value === 0
}

/** What is left of a row of `steps` beside the counts that another takes: texts of the rest, with their own ratio. */
export function leftOf(
  row: Match,
  over: Match,
): readonly { readonly cores: string; readonly from: number }[] | undefined {
  const [own, taken] = [counts(row, 'cores'), counts(over, 'cores')]
  if (own === undefined || taken === undefined || own.to < taken.from || own.from > taken.to) return undefined
  const rest: { cores: string; from: number }[] = []
  if (own.from < taken.from) rest.push({ cores: coresText(own.from, taken.from - 1), from: own.from })
  if (own.to > taken.to) rest.push({ cores: coresText(taken.to + 1, own.to), from: taken.to + 1 })
  return rest
}

/** Where behind its counts a row goes on. */
export function afterCounts(row: Match): number {
  const slot = row.slots.find(({ slot }) => 'name' in slot && slot.name === 'cores')
  const item = slot === undefined ? undefined : row.statement.items[slot.to - 1]
  return item?.end ?? row.statement.start
}

/** A block by its word, and the name of the group that it is of or for: `steps`, `steps broad`, `group broad`. */
export interface BlockName {
  readonly word: string
  readonly name: string | undefined
}

export function blockName(match: Match): BlockName {
  const word = match.word?.word ?? ''
  return { word, name: word === 'group' ? text(match, 'name')?.text : nameAfter(match) }
}

export const blockText = ({ word, name }: BlockName): string => (name === undefined ? word : `${word} ${name}`)

/** The last statement of a block with this word and name that reads. */
export function blockOf(parent: Match | Definition['match'], { word, name }: BlockName): Match | undefined {
  return parent.children
    .filter(child => child.sound && child.word?.word === word && blockName(child).name === name)
    .at(-1)
}
