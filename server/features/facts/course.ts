/** What is said about a course wherever it is shown. */

import { courseLines, longestOf } from '../../semantic/courses.ts'
import { type Definition, entry, text } from '../../semantic/definitions.ts'
import { counted } from '../../wording/counts.ts'
import { durationText } from '../../wording/times.ts'
import { code } from '../markdown.ts'

/** Where it starts, how many steps it has, and how long it lasts at the most. */
export function courseFacts(course: Definition): string {
  const start = entry(course.match, 'start')
  const settled = start && text(start, 'load')?.text
  const from = settled === undefined ? ((start && text(start, 'start')?.text) ?? 'idle') : undefined
  const steps = courseLines(course).filter(({ kind }) => kind === 'step').length
  const begin =
    from === undefined ? `from ${code(settled ?? '')} settled` : from === 'room' ? 'from power-on' : 'from idle'
  return `${begin}, ${counted(steps, 'step')}, ${durationText(longestOf(course))} at the most`
}
