import { boundText } from '../../../grammar/describe.ts'
import type { Chunk } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import type { Bounds } from '../../../grammar/vocabulary/index.ts'
import { entry, quantity } from '../../semantic/definitions.ts'
import { matchesOfChunk } from '../support/walk.ts'
import { figure } from '../support/words.ts'
import type { Check, Found } from '../types.ts'

/** What a value may be, in words. */
export function boundsText({ min, max, above, below }: Bounds, unit: string): string {
  const shown = (value: number): string => boundText(value, unit)
  const low = min !== undefined ? `at least ${shown(min)}` : above !== undefined ? `more than ${shown(above)}` : ''
  const high = max !== undefined ? `at most ${shown(max)}` : below !== undefined ? `less than ${shown(below)}` : ''
  return [low, high].filter(text => text !== '').join(' and ')
}

const zeroK = 273.15

/** A module cannot hold its cold side below absolute zero, and its constants could not be drawn from such figures. */
function* tooLarge(chunk: Chunk, module: Match): Iterable<Found> {
  const at = entry(module, 'at')
  const difference = entry(module, 'difference')
  const hotC = at && quantity(at)?.value
  const differenceK = difference && quantity(difference)
  if (hotC === undefined || differenceK === undefined || differenceK.value < hotC + zeroK) return
  yield {
    at: { chunk, start: differenceK.start, end: differenceK.end },
    message: `A difference of ${figure(differenceK.value)} K below a hot side of ${figure(hotC)} °C would lie below absolute zero. Nothing can be predicted with this plate; write the value of the datasheet.`,
  }
}

export const valueRange: Check = {
  code: 'value-range',
  severity: 'error',
  title: 'A value that cannot be',
  page: {
    what: 'A number outside what its key can mean at all: a fan duty above 100 %, a negative resistance, a bench at 2000 °C. How far a part may be driven is another matter, and the checks of voltage and limits judge it.',
    why: 'It is a slip, and every figure computed from it would be nonsense.',
    remedy: 'Write the value that was meant. Which one that is only you can know, so there is no quick fix.',
    example: 'fan {\n  30 °C  120 %\n}',
  },
  *inChunk(chunk) {
    for (const { match } of matchesOfChunk(chunk)) {
      if (match.word?.block === 'module') yield* tooLarge(chunk, match)
      for (const problem of match.problems) {
        if (problem.problem !== 'value-range') continue
        const at = { chunk, start: problem.start, end: problem.end }
        yield {
          at,
          message: `\`${chunk.text.slice(at.start, at.end)}\` cannot be: the value must be ${boundsText(problem.bounds, problem.unit)}. The line is left out of every prediction; write the value that was meant.`,
        }
      }
    }
  },
}
