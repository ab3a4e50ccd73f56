import { onceFor } from '../../../grammar/once.ts'
import type { Chunk } from '../../../grammar/tree.ts'
import { type Dimension, dimensionName, toBase, unitsOf } from '../../../grammar/units/units.ts'
import type { Match, MatchProblem } from '../../../grammar/values.ts'
import { entry, quantity } from '../../semantic/definitions.ts'
import { resolveProfile } from '../../semantic/profile.ts'
import { plain, ratioText } from '../../wording/figures.ts'
import { alongEdits } from '../../workspace/along-edits.ts'
import type { FileView } from '../../workspace/workspace.ts'
import { replaceFix } from '../support/edits.ts'
import { joinedRanges } from '../support/ranges.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check, Fix, Found, Place } from '../types.ts'

type Problem = Extract<MatchProblem, { problem: 'unit-mismatch' }>

function what(problem: Problem, number: string): string {
  const found = dimensionName[problem.found.dimension]
  if (problem.dimension === undefined) {
    return `\`${number}\` is ${found}; this takes a pure number, without a unit.`
  }
  const wanted = `${dimensionName[problem.dimension]} (${symbols(problem.dimension)})`
  return `\`${number}\` is ${found}; this takes ${wanted}.`
}

function symbols(dimension: Dimension): string {
  return unitsOf(dimension)
    .map(unit => unit.symbol)
    .join(', ')
}

/** Kelvins from here on are counted from absolute zero: no bench is so cold, or so hot in °C. */
const absoluteFromK = 200
const zeroCelsiusK = 273.15

/** `293 K` where a temperature is wanted, in °C with as many decimals. */
function fromAbsolute({ dimension, found }: Problem, number: string): string | undefined {
  if (dimension !== 'temperature' || found.symbol !== 'K' || Number(number) < absoluteFromK) return undefined
  return `${(Number(number) - zeroCelsiusK).toFixed(number.split('.')[1]?.length ?? 0)} °C`
}

function fixFor(match: Match, problem: Problem, at: Place): readonly Fix[] {
  const { suggestion, unitStart, unitEnd } = problem
  const { chunk } = at
  const celsius = fromAbsolute(problem, chunk.text.slice(at.start, unitStart).trim())
  if (celsius !== undefined) return [replaceFix(`Write \`${celsius}\``, at, celsius)]
  if (suggestion === undefined) return []
  if (suggestion !== '') {
    const text = `${chunk.text.slice(at.start, unitStart)}${suggestion}`
    return [replaceFix(`Write \`${text}\``, { chunk, start: unitStart, end: unitEnd }, suggestion)]
  }
  const number = chunk.text.slice(at.start, unitStart).trimEnd()
  const isShare = problem.found.symbol === '%' && match.form?.some(slot => slot.slot === 'number' && !slot.whole)
  const share = plain(Number(number) / 100)
  if (isShare) return [replaceFix(`Write \`${share}\``, at, share)]
  return [replaceFix('Leave the unit out', { chunk, start: at.start + number.length, end: unitEnd }, '')]
}

/** A temperature and a difference of temperatures are the pair that is mixed up most. */
function why(problem: Problem): string {
  const pair = [problem.dimension, problem.found.dimension]
  const isPair = pair.includes('temperature') && pair.includes('temperature-difference')
  return isPair
    ? ' A temperature is in °C, a difference of two temperatures in K: read as the other it would be far off.'
    : ' The line is left out of every prediction.'
}

function isClockForRatio({ dimension, found }: Problem): boolean {
  return dimension === 'ratio' && found.dimension === 'frequency'
}

/** Those of each statement of a chunk that has any. */
const clocksForRatios = onceFor((chunk: Chunk): readonly (readonly Problem[])[] =>
  matchesOfChunk(chunk)
    .map(({ match }) => match.problems.filter(one => one.problem === 'unit-mismatch').filter(isClockForRatio))
    .filter(problems => problems.length > 0),
)

/** The ratio that makes a clock, where the part's reference gives a whole step of it. */
function asRatio({ scope, document }: FileView, { unitStart, found }: Problem, at: Place): readonly Fix[] {
  const own = document.definitions.find(({ match: { statement }, chunk }) => {
    return chunk === at.chunk && statement.start <= at.start && statement.end >= at.end
  })
  const parts = scope.all('part')
  const named = own?.kind === 'profile' ? resolveProfile(scope, own).part : own?.kind === 'part' ? own : undefined
  const part = named ?? (parts.length === 1 ? parts[0] : undefined)
  const reference = part && entry(part.match, 'reference')
  const referenceGhz = reference && quantity(reference)?.value
  if (referenceGhz === undefined) return []
  const clockGhz = toBase(Number(at.chunk.text.slice(at.start, unitStart)), found)
  const ratio = clockGhz / referenceGhz
  const written = Number(ratio.toFixed(3))
  if (Math.abs(written - ratio) > 1e-6) return []
  const text = ratioText(written)
  return [replaceFix(`Write \`${text}\``, at, text)]
}

function foundOf(problem: Problem, at: Place, fixes: readonly Fix[]): Found {
  return {
    at,
    message: `${what(problem, at.chunk.text.slice(at.start, at.end))}${why(problem)}${fixes.length > 0 ? ` ${fixes[0]?.title}.` : ' Write the value that was meant.'}`,
    ...(fixes.length > 0 ? { fixes } : {}),
  }
}

/** Two values that stand in each other's place: one finding for both. */
function swapped(chunk: Chunk, [first, second, ...more]: readonly Problem[]): Found | undefined {
  if (first === undefined || second === undefined || more.length > 0) return undefined
  if (first.dimension !== second.found.dimension || second.dimension !== first.found.dimension) return undefined
  const text = (start: number, end: number): string => chunk.text.slice(start, end)
  const between = text(first.end, second.start)
  const written = `${text(second.start, second.end)}${between}${text(first.start, first.end)}`
  const at = { chunk, start: first.start, end: second.end }
  return {
    at,
    message: `The two values are swapped: ${dimensionName[second.found.dimension]} comes first, then ${dimensionName[first.found.dimension]}. The line is left out of every prediction. Write \`${written}\`.`,
    fixes: [replaceFix(`Write \`${written}\``, at, written)],
  }
}

const clocksAlong = alongEdits<ReturnType<typeof clocksForRatios>>()

export const unitMismatch: Check = {
  code: 'unit-mismatch',
  severity: 'error',
  title: 'A unit of another kind',
  page: {
    what: 'A number whose unit measures something other than the key: `45 K` where `45 °C` is meant, a power where a current belongs, a unit behind a count.',
    why: 'Units are checked as dimensions, because a value in the wrong column looks right for years.',
    remedy: 'Write the unit that fits. A temperature is in °C, a difference of two temperatures in K.',
    example: 'limits {\n  die 95 K\n}',
  },
  *inChunk(chunk) {
    for (const { match } of matchesOfChunk(chunk)) {
      const problems = match.problems.filter(one => one.problem === 'unit-mismatch')
      const both = swapped(chunk, problems)
      if (both !== undefined) {
        yield both
        continue
      }
      yield* joinedRanges(
        problems
          .filter(problem => !isClockForRatio(problem))
          .map(problem => {
            const at = { chunk, start: problem.start, end: problem.end }
            return foundOf(problem, at, fixFor(match, problem, at))
          }),
      )
    }
  },
  // A clock where a ratio is wanted takes the reference of the profile's part to be understood.
  *inFile({ view }) {
    const clocks = clocksAlong(view.document, [], clocksForRatios)
    for (const [index, { chunk }] of view.document.source.chunks.entries()) {
      for (const problems of clocks[index] ?? []) {
        yield* joinedRanges(
          problems.map(problem => {
            const at = { chunk, start: problem.start, end: problem.end }
            return foundOf(problem, at, asRatio(view, problem, at))
          }),
        )
      }
    }
  },
}
