import { findUnit, unitsOf } from '../../../grammar/units/units.ts'
import type { Match, MatchProblem } from '../../../grammar/values.ts'
import { choice, replaceFix } from '../support/edits.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check, Fix, Place } from '../types.ts'

type Problem = Extract<MatchProblem, { problem: 'unit-missing' }>

/** Dimensions of which a bench uses one unit alone; for the others the choice is the person's. */
const oneUnit = new Set(['ratio', 'percent', 'temperature', 'temperature-difference', 'power', 'current'])

/** The units of the word's own example first: they are the ones in which people measure it. */
function likelyUnits(match: Match, problem: Problem): readonly string[] {
  const example = match.word?.example ?? ''
  const shown = [...example.matchAll(/\d\s*([^\s\d;]+)/g)].flatMap(([, text]) => findUnit(text ?? '')?.symbol ?? [])
  const fitting = unitsOf(problem.dimension).map(unit => unit.symbol)
  const all = [...new Set([...shown.filter(symbol => fitting.includes(symbol)), problem.suggestion, ...fitting])]
  return oneUnit.has(problem.dimension) ? all.slice(0, 1) : all.slice(0, 3)
}

function spelled(number: string, unit: string): string {
  return unit === 'x' ? `${number}x` : `${number} ${unit}`
}

function fixesFor(match: Match, problem: Problem, at: Place): readonly Fix[] {
  const number = at.chunk.text.slice(at.start, at.end)
  const fixes = likelyUnits(match, problem).map(unit => {
    const text = spelled(number, unit)
    return replaceFix(`Write \`${text}\``, at, text)
  })
  return fixes.length === 1 ? fixes : fixes.map(choice)
}

export const unitMissing: Check = {
  code: 'unit-missing',
  severity: 'error',
  title: 'A number without its unit',
  page: {
    what: 'A number that stands for a quantity and has no unit. Only counts and pure numbers (`cores`, `modules`, `activity`, `leakage-exponent`) have none.',
    why: 'A voltage of `1200` may be millivolts to one reader and a typing slip to another; at the part it is the difference between a boot and a loss.',
    remedy: 'Write the unit behind the number, with or without a space.',
    example: 'limits {\n  die 95\n}',
  },
  *inChunk(chunk) {
    for (const { match } of matchesOfChunk(chunk)) {
      for (const problem of match.problems) {
        if (problem.problem !== 'unit-missing') continue
        const at = { chunk, start: problem.start, end: problem.end }
        const fixes = fixesFor(match, problem, at)
        const number = chunk.text.slice(at.start, at.end)
        const known = unitsOf(problem.dimension).map(unit => unit.symbol)
        const which =
          fixes.length === 1 ? fixes[0]?.title.replace('Write ', 'write ') : `write it in ${known.join(', ')}`
        yield {
          at,
          message: `\`${number}\` has no unit, so it could be read as another value than was measured; the line is left out of every prediction. If it is right, ${which}.`,
          fixes,
        }
      }
    }
  },
}
