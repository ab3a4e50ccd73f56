/** What may stand next in a statement that was begun. */

import type { Item } from '../../../grammar/tree.ts'
import { type Dimension, findUnit } from '../../../grammar/units/units.ts'
import type { DefinitionKind, Form, Slot } from '../../../grammar/vocabulary/index.ts'

/** What may stand next in a statement that was begun. */
export type Wanted =
  | { readonly want: 'word'; readonly word: string }
  | { readonly want: 'unit'; readonly dimension: Dimension }
  | { readonly want: 'number' }
  | { readonly want: 'name'; readonly kind: DefinitionKind }
  | { readonly want: 'new-name' }
  /** The name of a group of cores or of a supply rail; `isStated`: where the part gives it, so that it may be a new one. */
  | { readonly want: 'part-name'; readonly of: 'group' | 'rail' | 'either'; readonly isStated: boolean }
  | { readonly want: 'string'; readonly name: string }
  | { readonly want: 'compare' }
  | { readonly want: 'sign'; readonly signs: '+' | '-' | '+-' }
  | { readonly want: 'code' }
  | { readonly want: 'setting' }
  /** Nothing more: the statement may end here. */
  | { readonly want: 'end' }

/** Where a form has got to: past some items, at their end with what it wants, or not fitting at all. */
type Progress = { readonly at: number } | { readonly wanted: readonly Wanted[] } | undefined

type Step = (items: readonly Item[], at: number) => Progress

const number: Wanted = { want: 'number' }

function takeWord(...words: string[]): Step {
  return (items, at) => {
    const item = items[at]
    if (item === undefined) return { wanted: words.map(word => ({ want: 'word', word })) }
    return item.kind === 'word' && words.includes(item.text) ? { at: at + 1 } : undefined
  }
}

/** A number with a unit of this dimension; undefined for a pure number. */
function takeNumber(dimension: Dimension | undefined): Step {
  return (items, at) => {
    const item = items[at]
    if (item === undefined) return { wanted: [number] }
    if (item.kind === 'sign') return takeNumber(dimension)(items, at + 1)
    if (item.kind !== 'number') return undefined
    const last = at + 1 === items.length
    if (last && item.unit === undefined && dimension !== undefined) return { wanted: [{ want: 'unit', dimension }] }
    return { at: at + 1 }
  }
}

function take(kind: Item['kind'], wanted: Wanted): Step {
  return (items, at) => {
    if (items[at] === undefined) return { wanted: [wanted] }
    return items[at]?.kind === kind ? { at: at + 1 } : undefined
  }
}

function inOrder(...steps: Step[]): Step {
  return (items, at) => {
    let reached = at
    for (const step of steps) {
      const progress = step(items, reached)
      if (progress === undefined || 'wanted' in progress) return progress
      reached = progress.at
    }
    return { at: reached }
  }
}

/** Steps that may be left out: at the items' end they are offered, and what follows is offered too. */
function maybe(step: Step, rest: Step): Step {
  return (items, at) => {
    const taken = step(items, at)
    if (taken === undefined) return rest(items, at)
    if ('at' in taken) return rest(items, taken.at)
    if (at < items.length) return taken
    const without = rest(items, at)
    return { wanted: [...taken.wanted, ...(without !== undefined && 'wanted' in without ? without.wanted : [])] }
  }
}

/** The unit of a number that may do without: it is part of the number where there is one. */
function maybeUnit(dimensions: readonly Dimension[]): Step {
  return (items, at) => {
    const before = items[at - 1]
    const isBare = at === items.length && before?.kind === 'number' && before.unit === undefined
    return isBare ? { wanted: dimensions.map(dimension => ({ want: 'unit', dimension })) } : { at }
  }
}

/** An uncertainty, absolute or as a share; its unit may be left out. */
function uncertainty(dimension: Dimension | undefined, rest: Step): Step {
  const difference = dimension === 'temperature' ? 'temperature-difference' : dimension
  const units: readonly Dimension[] = difference === undefined ? ['percent'] : [difference, 'percent']
  const stated = inOrder(
    take('plus-minus', { want: 'word', word: '±' }),
    takeNumber(undefined),
    maybe(maybeUnit([...new Set(units)]), rest),
  )
  return (items, at) => {
    const taken = stated(items, at)
    if (taken !== undefined && at < items.length) return taken
    const without = rest(items, at)
    const wanted = [taken, without].flatMap(one => (one !== undefined && 'wanted' in one ? one.wanted : []))
    return at < items.length ? without : { wanted }
  }
}

function stepOf(slot: Exclude<Slot, { slot: 'optional' | 'any-order' }>): Step {
  switch (slot.slot) {
    case 'literal':
      return takeWord(slot.word)
    case 'choice':
      return takeWord(...slot.words)
    case 'quantity':
      return takeNumber(slot.dimension)
    case 'number':
      return takeNumber(undefined)
    case 'unit':
      return take('unit', { want: 'unit', dimension: slot.dimension })
    case 'date':
      return inOrder(
        take('date', number),
        maybe(take('time', number), (_items, at) => ({ at })),
      )
    case 'range': {
      const one = takeNumber(slot.dimension)
      return slot.single === true ? one : inOrder(one, takeWord('to'), one)
    }
    case 'count-range':
      return takeNumber(undefined)
    case 'cores': {
      const word = takeWord('cores', 'core')
      return inOrder(takeNumber(undefined), maybe(inOrder(takeWord('to'), takeNumber(undefined)), word))
    }
    case 'signed':
      return inOrder(take('sign', { want: 'sign', signs: slot.signs }), takeNumber(slot.dimension))
    case 'reference':
      return take('word', { want: 'name', kind: slot.kind })
    case 'defines':
      return take('word', { want: 'new-name' })
    case 'part-name':
      // Groups may share a rail; each has a name of its own.
      return take(
        'word',
        slot.of === 'group' ? { want: 'new-name' } : { want: 'part-name', of: slot.of, isStated: true },
      )
    case 'string':
      return take('string', { want: 'string', name: slot.name })
    case 'compare':
      return take('compare', { want: 'compare' })
    case 'code':
      return take('word', { want: 'code' })
    case 'setting':
      return take('word', { want: 'setting' })
  }
}

const finished: Step = (items, at) => (at < items.length ? undefined : { wanted: [{ want: 'end' }] })

/** What may follow a slot by itself: the second end of a range. */
function tailOf(slot: Slot): Step | undefined {
  if (slot.slot === 'range' && slot.single === true) return inOrder(takeWord('to'), takeNumber(slot.dimension))
  if (slot.slot === 'count-range') return inOrder(takeWord('to'), takeNumber(undefined))
  return undefined
}

/** Whether an item is the beginning of a form that stands among others in any order. */
function begins([first]: Form, item: Item | undefined): boolean {
  if (first?.slot === 'literal') return item?.kind === 'word' && item.text === first.word
  if (first?.slot === 'choice') return item?.kind === 'word' && first.words.includes(item.text)
  const unit = item?.kind === 'number' && item.unit !== undefined ? findUnit(item.unit.text) : undefined
  return first?.slot === 'quantity' && unit?.dimension === first.dimension
}

/** Forms in any order, each at most once; where one may end, the others are offered with what follows. */
function inAnyOrder(forms: readonly Form[], rest: Step): Step {
  return (items, at) => {
    const item = items[at]
    const others = (taken: Form | undefined): Step =>
      inAnyOrder(
        forms.filter(form => form !== taken),
        rest,
      )
    if (item === undefined) {
      const wanted = forms.flatMap(form => {
        const progress = formStep(form, rest)([], 0)
        return progress !== undefined && 'wanted' in progress ? progress.wanted : []
      })
      const without = rest(items, at)
      return { wanted: [...wanted, ...(without !== undefined && 'wanted' in without ? without.wanted : [])] }
    }
    const number = item.kind === 'sign' ? items[at + 1] : item
    if (number?.kind === 'number' && number.unit === undefined && number === items.at(-1)) {
      const units = forms.flatMap(([first]): Wanted[] =>
        first?.slot === 'quantity' ? [{ want: 'unit', dimension: first.dimension }] : [],
      )
      return { wanted: units }
    }
    const begun = forms.find(form => begins(form, number))
    return begun === undefined ? undefined : formStep(begun, others(begun))(items, at)
  }
}

function formStep(slots: readonly Slot[], rest: Step): Step {
  const [slot, ...others] = slots
  if (slot === undefined) return rest
  const following = formStep(others, rest)
  if (slot.slot === 'optional')
    return maybe(
      formStep(slot.slots, (_items, at) => ({ at })),
      following,
    )
  if (slot.slot === 'part-name' && slot.after === true) {
    // A word that fits what follows is no name.
    return (items, at) => {
      const without = following(items, at)
      if (at < items.length) return without ?? (items[at]?.kind === 'word' ? following(items, at + 1) : undefined)
      const others = without !== undefined && 'wanted' in without ? without.wanted : []
      return { wanted: [{ want: 'part-name', of: slot.of, isStated: false }, ...others] }
    }
  }
  if (slot.slot === 'any-order') return inAnyOrder(slot.forms, following)
  if ((slot.slot === 'quantity' || slot.slot === 'number') && slot.uncertain === true) {
    const dimension = slot.slot === 'quantity' ? slot.dimension : undefined
    return inOrder(stepOf(slot), uncertainty(dimension, following))
  }
  const tail = tailOf(slot)
  return inOrder(stepOf(slot), tail === undefined ? following : maybe(tail, following))
}

/**
 * What may stand behind these items according to any of the forms, each thing once.
 * @param items the items before the cursor, from the form's first on
 */
export function wantedNext(forms: readonly Form[], items: readonly Item[]): readonly Wanted[] {
  const seen = new Set<string>()
  return forms
    .flatMap(form => {
      const progress = formStep(form, finished)(items, 0)
      return progress !== undefined && 'wanted' in progress ? progress.wanted : []
    })
    .filter(wanted => {
      const key = JSON.stringify(wanted)
      if (seen.has(key)) return false
      seen.add(key)
      return true
    })
}
