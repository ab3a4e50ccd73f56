import type { Match } from '../../../grammar/values.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type Expectation, expectationsOf } from '../../semantic/expectations.ts'
import { inUnit, percent } from '../figures.ts'
import { code, paragraphs } from './markdown.ts'
import { nothingPredicted, settledCell, whereText } from './predicted.ts'

/** Hover of an expectation: the predicted figure against the expected one, in the corner that decides. */

export function verdict(expectation: Expectation): string {
  if (expectation.holds === null) return 'undecided'
  return expectation.holds ? 'holds' : 'does not hold'
}

export function expectHover(evaluation: Evaluation, match: Match): string | undefined {
  const found = expectationsOf(evaluation).find(one => one.sourced.match === match)
  if (found === undefined) return nothingPredicted(evaluation)
  const { predicted, unit, worst, undecided, probability } = found
  const figure = predicted === null ? undefined : `Predicted: **${inUnit(predicted, unit)}**`
  const where = worst === undefined ? '' : `${figure === undefined ? 'Decided by' : ', decided by'} ${whereText(worst)}`
  const steady = worst === undefined ? undefined : `There it settles at ${settledCell(worst.settled)}.`
  return paragraphs(
    `${code(found.text)}: **${verdict(found)}**${undecided === undefined ? '' : `, because ${undecided}`}`,
    figure === undefined && where === '' ? undefined : `${figure ?? ''}${where}.`,
    steady,
    probability === undefined
      ? undefined
      : `With the stated uncertainties it holds with a probability of ${percent(probability * 100)}.`,
  )
}
