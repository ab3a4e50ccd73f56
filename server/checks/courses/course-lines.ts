import { courseLines, longestCourseS, longestOf } from '../../semantic/courses.ts'
import { entry, readChunk } from '../../semantic/definitions.ts'
import { readsWhole } from '../../semantic/unread.ts'
import { durationText } from '../../wording/times.ts'
import type { Check } from '../types.ts'

export const courseLinesCheck: Check = {
  code: 'course-lines',
  severity: 'error',
  title: 'A course that cannot be followed',
  page: {
    what: 'Each `course`: one without a step, one that may last longer than 24 h with all that it waits for, and a `start` behind a step or a fault.',
    why: 'The order of a course’s lines is the order of the evening. What cannot be followed is not predicted, and what is expected of it stays undecided.',
    remedy: 'Write the steps, shorten them or what they wait for (`within`), and put `start` first.',
    example: 'load render { cores 4 }\n\ncourse long {\n  render 20 h\n  idle 10 h\n}',
  },
  *inChunk(chunk) {
    for (const definition of readChunk(chunk).definitions) {
      if (definition.kind !== 'course' || !readsWhole(definition)) continue
      const { name, nameSpan } = definition
      const at = { chunk, start: nameSpan.start, end: nameSpan.end }
      const lines = courseLines(definition)
      const first = lines[0]
      if (!lines.some(({ kind }) => kind === 'step')) {
        yield { at, message: `No step in course \`${name}\`: nothing is followed. Write a load and how long it runs.` }
      }
      const longest = longestOf(definition)
      if (longest > longestCourseS) {
        yield {
          at,
          message: `Too long: course \`${name}\` may last ${durationText(longest)}, and at most ${durationText(longestCourseS)} is followed. Shorten its steps, or what they wait for with \`within\`.`,
        }
      }
      const start = entry(definition.match, 'start')
      if (start !== undefined && first !== undefined && start.statement.start > first.match.statement.start) {
        const { statement } = start
        yield {
          at: { chunk, start: statement.start, end: statement.items.at(-1)?.end ?? statement.end },
          message: `\`start\` stands behind the first step or fault of course \`${name}\`, and is what the course begins with all the same. Put it first.`,
        }
      }
    }
  },
}
