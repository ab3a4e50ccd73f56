/** Lines laid over a course, whose order counts: which line each replaces, or where it comes in. */

import type { Match } from '../../../grammar/values.ts'
import { text } from '../../semantic/definitions.ts'
import { identity } from './rows.ts'

/** Where lines of a statement come into a course: in place of a line of it, before or behind one, at its end. */
export interface CoursePlace {
  readonly where: 'for' | 'before' | 'behind' | 'end'
  /** The line of the course; undefined at its end. */
  readonly line: Match | undefined
  readonly laid: readonly Match[]
}

/** A step is known by its load, a fault by what fails; undefined for what has no place in the order. */
function lineKey(match: Match): string | undefined {
  const word = match.word?.word
  if (word === '') return `step ${text(match, 'load')?.text}`
  if (word !== 'fault') return undefined
  return `fault ${text(match, 'fault')?.text ?? 'drive'}`
}

/**
 * In the order of the statement a line replaces the next one of the same load, or the same fault, of the course. Where
 * there is none it comes in behind the line above it in the statement; the first ones, before the line below them. Where
 * none of them is in the course they stand at its end, faults alone at its beginning, since behind the end they do nothing.
 */
export function coursePlaces(course: Match, statements: readonly Match[]): readonly CoursePlace[] {
  const there = course.children.filter(one => one.sound && lineKey(one) !== undefined)
  const places: CoursePlace[] = []
  let next = 0
  let above: Match | undefined
  let waiting: Match[] = []
  let behind: Match[] = []
  const put = (where: CoursePlace['where'], line: Match | undefined, laid: readonly Match[]): void => {
    if (laid.length > 0) places.push({ where, line, laid })
  }
  for (const match of statements) {
    const key = lineKey(match)
    if (key === undefined) {
      const same = course.children.filter(one => one.sound && identity(one) === identity(match)).at(-1)
      const first = course.children[0]
      put(same !== undefined ? 'for' : first === undefined ? 'end' : 'before', same ?? first, [match])
      continue
    }
    const index = there.findIndex((one, at) => at >= next && lineKey(one) === key)
    const own = there[index]
    if (own === undefined) {
      if (above === undefined) waiting.push(match)
      else behind.push(match)
      continue
    }
    put('behind', above, behind)
    put('before', own, waiting)
    put('for', own, [match])
    ;[above, next, waiting, behind] = [own, index + 1, [], []]
  }
  put('behind', above, behind)
  const [first] = there
  const isFaults = waiting.every(({ word }) => word?.word === 'fault')
  if (isFaults && first !== undefined) put('before', first, waiting)
  else put('end', undefined, waiting)
  return places
}
