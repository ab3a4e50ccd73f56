import { replaceFix } from '../support/edits.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check } from '../types.ts'

export const rangeReversed: Check = {
  code: 'range-reversed',
  severity: 'error',
  title: 'A range from high to low',
  page: {
    what: 'A range `A to B` whose first value is the higher one.',
    why: 'Either the two are swapped or one of them is a slip; the line does not say which, so it is not used.',
    remedy: 'Swap the two, as the quick fix does, or correct the one that is wrong.',
    example: 'room garage {\n  air 24 °C to 18 °C\n  humidity 50 %\n}',
  },
  *inChunk(chunk) {
    for (const { match } of matchesOfChunk(chunk)) {
      for (const problem of match.problems) {
        if (problem.problem !== 'range-reversed') continue
        const at = { chunk, start: problem.start, end: problem.end }
        yield {
          at,
          message: `Range runs from high to low. Either the two are swapped or one is a slip, so the line is left out of every prediction. If they are swapped, write \`${problem.swapped}\`.`,
          fixes: [replaceFix(`Write \`${problem.swapped}\``, at, problem.swapped)],
        }
      }
    }
  },
}
