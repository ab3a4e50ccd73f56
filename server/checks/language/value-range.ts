import type { Chunk } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { entries, entry, quantity } from '../../semantic/definitions.ts'
import { isDoubted } from '../../semantic/doubted.ts'
import { correlationIn } from '../../semantic/gather.ts'
import { boundsText } from '../../wording/bounds.ts'
import { plain, statedText } from '../../wording/figures.ts'
import { replaceFix } from '../support/edits.ts'
import { helps } from '../support/line-fixes.ts'
import { headPlace } from '../support/place.ts'
import { joinedRanges } from '../support/ranges.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check, Fix, Found, Place } from '../types.ts'

const zeroK = 273.15

/** A module cannot hold its cold side below absolute zero, and its constants could not be drawn from such figures. */
function* tooLarge(chunk: Chunk, module: Match): Iterable<Found> {
  // A slip of the unit or of a digit has its finding.
  if (module.children.some(figure => isDoubted(chunk, figure))) return
  const at = entry(module, 'at')
  const difference = entry(module, 'difference')
  const hotC = at && quantity(at)?.value
  const differenceK = difference && quantity(difference)
  if (hotC === undefined || differenceK === undefined || differenceK.value < hotC + zeroK) return
  yield {
    at: { chunk, start: differenceK.start, end: differenceK.end },
    message: `A difference of ${statedText(differenceK.value, 'K')} below a hot side of ${statedText(hotC, '°C')} would lie below absolute zero. Nothing can be predicted with this plate; write the value of the datasheet.`,
  }
}

/** Whether errors can be correlated like this; three written digits of each are allowed for. */
function canBe(matrix: readonly (readonly number[])[]): boolean {
  const n = matrix.length
  const rest = matrix.map((row, i) => row.map((value, j) => (i === j ? 1 + 0.001 * n : value)))
  for (let k = 0; k < n; k++) {
    const pivot = rest[k]?.[k] as number
    if (!(pivot > 0)) return false
    for (let i = k + 1; i < n; i++) {
      const share = (rest[i]?.[k] as number) / pivot
      for (let j = k + 1; j < n; j++)
        (rest[i] as number[])[j] = (rest[i]?.[j] as number) - share * (rest[k]?.[j] as number)
    }
  }
  return true
}

/**
 * Correlations of one block that no errors can have, at the last line whose figure could put it right. A pair that
 * is not named counts as nothing.
 */
function* impossible(chunk: Chunk, block: Match, place: 'part' | 'cooler'): Iterable<Found> {
  const pairOf = (a: string, b: string): string => [a, b].sort().join('\n')
  const lines = entries(block, 'correlated').flatMap(line => {
    const found = correlationIn(line, place)
    // What is correlated with a cooler is not known from one block.
    return found === undefined || found.cooler !== undefined || found.first === found.second ? [] : [{ line, found }]
  })
  const names = [...new Set(lines.flatMap(({ found }) => [found.first, found.second]))]
  const pairs = new Map(lines.map(({ found }) => [pairOf(found.first, found.second), found.coefficient]))
  const holds = (pair?: string, value?: number): boolean => {
    const of = (a: string, b: string): number => (pairOf(a, b) === pair ? value : pairs.get(pairOf(a, b))) ?? 0
    return canBe(names.map(a => names.map(b => (a === b ? 1 : of(a, b)))))
  }
  const last = lines.at(-1)
  if (last === undefined || holds()) return
  const ways = lines.toReversed().flatMap(({ line, found }) => {
    const pair = pairOf(found.first, found.second)
    const values = Array.from({ length: 201 }, (_, at) => (at - 100) / 100).filter(value => holds(pair, value))
    return values.length === 0 ? [] : [{ line, values }]
  })
  const { line, values } = ways[0] ?? { line: last.line, values: [] }
  const between =
    values.length === 0 ? '' : `; beside the other lines this one lies between ${values[0]} and ${values.at(-1)}`
  yield {
    at: headPlace({ chunk }, line),
    message: `Correlations contradict each other: two constants closely correlated with a third are correlated with each other, and a pair without a line counts as 0${between}. Intervals would be wrong: write the figures of one fit, all of them.`,
  }
}

/** `0.45 %` where it cannot be: a share of one that was given the sign of a percentage. */
function asPercentage(unit: string, at: Place): readonly Fix[] {
  const number = unit === '%' ? /^0?\.\d+/.exec(at.chunk.text.slice(at.start, at.end))?.[0] : undefined
  if (number === undefined) return []
  const text = `${plain(Number(number) * 100)} %`
  return helps(at.chunk, { start: at.start, end: at.end, text }) ? [replaceFix(`Write \`${text}\``, at, text)] : []
}

function* outOfBounds(chunk: Chunk, match: Match): Iterable<Found> {
  for (const problem of match.problems) {
    if (problem.problem !== 'value-range') continue
    const at = { chunk, start: problem.start, end: problem.end }
    const fixes = asPercentage(problem.unit, at)
    yield {
      at,
      ...(fixes.length === 0 ? {} : { fixes }),
      message: `\`${chunk.text.slice(at.start, at.end)}\` is impossible: the value must be ${boundsText(problem.bounds, problem.unit)}. The line is left out of every prediction; write the value you mean.`,
    }
  }
}

export const valueRange: Check = {
  code: 'value-range',
  severity: 'error',
  title: 'A value that cannot be',
  page: {
    what: 'A number outside what its key can mean at all: a fan duty above 100 %, a negative resistance, a bench at 2000 °C, correlations that no errors can have, more than 1024 rows of one table. How far a part may be driven is another matter, and the checks of voltage and limits judge it.',
    why: 'It is a slip, and every figure computed from it would be nonsense.',
    remedy: 'Write the value you mean. Only you know it, so there is no quick fix.',
    example: 'fan {\n  30 °C  120 %\n}',
  },
  *inChunk(chunk) {
    for (const { match } of matchesOfChunk(chunk)) {
      if (match.word?.block === 'module') yield* tooLarge(chunk, match)
      if (match.word?.block === 'part' || match.word?.block === 'cooler')
        yield* impossible(chunk, match, match.word.block)
      for (const problem of match.problems) {
        if (problem.problem === 'too-many')
          yield {
            at: { chunk, start: problem.start, end: problem.end },
            message: `Not read from here on: one block may have at most ${problem.most} of these. More are a slip, and would only cost time; remove what is not needed.`,
          }
      }
      yield* joinedRanges(outOfBounds(chunk, match))
    }
  },
}
