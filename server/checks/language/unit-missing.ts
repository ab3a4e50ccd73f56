import type { Chunk } from '../../../grammar/tree.ts'
import { findUnit, unitsOf } from '../../../grammar/units/units.ts'
import type { Match, MatchProblem } from '../../../grammar/values.ts'
import { plain } from '../../wording/figures.ts'
import { choice, replaceFix } from '../support/edits.ts'
import { habitualSign, helps } from '../support/line-fixes.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check, Fix, Found, Place } from '../types.ts'

type Problem = Extract<MatchProblem, { problem: 'unit-missing' }>

/** Dimensions with a single usual unit; for the others the choice is the person's. */
const oneUnit = new Set(['ratio', 'percent', 'temperature', 'temperature-difference', 'power', 'current'])

/** The units of the word's own example first: they are the ones in which people measure it. */
function likelyUnits(match: Match, problem: Problem): readonly string[] {
  const example = match.word?.example ?? ''
  const shown = [...example.matchAll(/\d\s*([^\s\d;]+)/g)].flatMap(([, text]) => findUnit(text ?? '')?.symbol ?? [])
  const units = unitsOf(problem.dimension)
  // Of two names of one unit the first.
  const fitting = units
    .filter((unit, index) => units.findIndex(({ factor }) => factor === unit.factor) === index)
    .map(unit => unit.symbol)
  const all = [...new Set([...shown.filter(symbol => fitting.includes(symbol)), problem.suggestion, ...fitting])]
  return oneUnit.has(problem.dimension) ? all.slice(0, 1) : all.slice(0, 3)
}

function spelled(number: string, unit: string): string {
  return unit === 'x' ? `${number}x` : `${number} ${unit}`
}

/** @param at one number, or the two ends of a range */
function fixesFor(match: Match, problem: Problem, at: Place): readonly Fix[] {
  const numbers = at.chunk.text
    .slice(at.start, at.end)
    .split(/\sto\s/)
    .map(end => end.trim())
  const written = (unit: string, factor = 1): string =>
    numbers.map(number => spelled(factor === 1 ? number : plain(Number(number) * factor), unit)).join(' to ')
  const texts = likelyUnits(match, problem).map(unit => written(unit))
  // A share of one is a percentage that was written otherwise, where it cannot be one as it stands.
  if (problem.dimension === 'percent' && numbers.every(number => Number(number) <= 1)) texts.push(written('%', 100))
  const serving = texts.filter(text => helps(at.chunk, { start: at.start, end: at.end, text }))
  const fixes = serving.map(text => replaceFix(`Write \`${text}\``, at, text))
  return fixes.length === 1 ? fixes : fixes.map(choice)
}

/** A range with a unit at its end alone, which is read as meant for both. */
function* halfRanges(chunk: Chunk, match: Match): Iterable<Found> {
  if (!match.sound) return
  for (const { slot, from, to } of match.slots) {
    const items = slot.slot === 'range' ? match.statement.items.slice(from, to) : []
    const low = items.find(item => item.kind === 'number')
    const high = items.findLast(item => item.kind === 'number')
    if (low === undefined || high === undefined || low.unit !== undefined || high.unit === undefined) continue
    const unit = high.unit.canonical
    const at = { chunk, start: low.start, end: low.end }
    const text = spelled(low.number.text, unit)
    yield {
      at,
      severity: 'hint',
      message: `One unit for both ends: \`${chunk.text.slice(low.start, high.end)}\` is read with ${unit} at both. Write \`${text}\` to leave no doubt.`,
      fixes: [replaceFix(`Write \`${text}\``, at, text)],
    }
  }
}

const joint = /^\s+to\s+$/

/** The end of a range where neither end has a unit: it has one finding. */
function endOf(chunk: Chunk, match: Match, { start, end }: Problem): number {
  const other = match.problems.find(
    one => one.problem === 'unit-missing' && one.start > start && joint.test(chunk.text.slice(end, one.start)),
  )
  return other?.end ?? end
}

function isSecondEnd(chunk: Chunk, match: Match, { start }: Problem): boolean {
  return match.problems.some(
    one => one.problem === 'unit-missing' && one.start < start && joint.test(chunk.text.slice(one.end, start)),
  )
}

/** `19-25 °C`: what is wrong there is the dash, which has its finding. */
function isBeforeDash(chunk: Chunk, match: Match, { end }: Problem): boolean {
  return match.problems.some(one => one.start >= end && habitualSign(chunk, one.start) !== undefined)
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
      yield* halfRanges(chunk, match)
      for (const problem of match.problems) {
        if (problem.problem !== 'unit-missing') continue
        const at = { chunk, start: problem.start, end: endOf(chunk, match, problem) }
        if (isSecondEnd(chunk, match, problem) || isBeforeDash(chunk, match, problem)) continue
        const fixes = fixesFor(match, problem, at)
        const number = chunk.text.slice(at.start, at.end)
        const known = unitsOf(problem.dimension).map(unit => unit.symbol)
        const which =
          fixes.length === 1 ? fixes[0]?.title.replace('Write ', 'write ') : `write it in ${known.join(', ')}`
        yield {
          at,
          message: `\`${number}\` has no unit, so it could be another value than you measured; the line is left out of every prediction. If it is right, ${which}.`,
          fixes,
        }
      }
    }
  },
}
