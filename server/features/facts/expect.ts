/** Hover of an expectation: the predicted figure against the expected one, in the corner that decides. */

import { fromBase } from '../../../grammar/units/units.ts'
import type { Match } from '../../../grammar/values.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type Expectation, figureOf, type Judge } from '../../semantic/expectations.ts'
import { groupIndex, settledOfGroup } from '../../semantic/group-settled.ts'
import { clockOf } from '../../semantic/over-time.ts'
import { probabilityOf } from '../../semantic/probability.ts'
import { uncertaintyOf } from '../../semantic/uncertainty.ts'
import { settledCell } from '../../wording/cells.ts'
import { percentText, predictedIn, rangeText } from '../../wording/figures.ts'
import { cornerText, whereText } from '../../wording/places.ts'
import { durationText } from '../../wording/times.ts'
import { decidedBy, intervalSource } from '../intervals.ts'
import { code, list } from '../markdown.ts'
import { nothingPredicted } from './predicted.ts'
import { type Told, together, told } from './told.ts'
import { workedLines } from './worked.ts'

/** Events of a run that are shown. */
const mostEvents = 6

function verdict(expectation: Expectation): string {
  if (expectation.holds === null) return 'undecided'
  return expectation.holds ? 'holds' : 'does not hold'
}

/** How far the figure is from what is asked, on which side. */
function spareText({ predicted, target, compare, unit, exact }: Expectation): string {
  if (predicted === null) return ''
  if (exact) return ', with nothing left over: the error of a sensor decides'
  const asked = fromBase(target.value, target.unit)
  const spare = compare === '>=' ? predicted - asked : asked - predicted
  const size = predictedIn(Math.abs(spare), unit === '°C' ? 'K' : unit)
  return spare >= 0 ? `, ${size} to spare` : `, ${size} short`
}

/** What a run over time says: how long it lasts, and what happens on the way. */
function runTold({ forS, lastsS, transient, pending, group }: Expectation): Told {
  if (pending) return told({ lines: ['The run over time is being made; look again in a moment.'] })
  if (forS === undefined) return told({})
  if (transient === undefined) return told({})
  const { events, tripped, endS } = transient
  const { lowestSecondS } = clockOf(transient, group) ?? transient
  const lasts = lastsS === undefined ? 'It lasts to the end' : `It lasts ${durationText(lastsS)}`
  const trip = tripped ? `; the machine stops after ${durationText(endS)}` : ''
  const first = events.slice(0, mostEvents).map(({ timeS, what }) => `${durationText(timeS)} ${what}`)
  return told({
    lines: [
      `${lasts} of ${durationText(forS)}, started on an idle bench; the slowest second ends after ${durationText(lowestSecondS)}${trip}.`,
    ],
    rest: [list(first)],
  })
}

/** What `±` on the constants makes of it: how probable it is, and the interval of its figure. */
function uncertaintyText(evaluation: Evaluation, found: Expectation): string | undefined {
  const { worst, figure, group, compare, target, unit } = found
  const probability = probabilityOf(evaluation, found)
  const carried = worst === undefined ? undefined : uncertaintyOf(evaluation.input, worst)
  if (probability === undefined || carried === undefined) return undefined
  const { low, high } = carried.interval(one => figureOf(figure, one, group), compare === '>=' ? 'below' : 'above')
  const range = rangeText([low, high], value => predictedIn(fromBase(value, target.unit), unit))
  const source = intervalSource(evaluation, worst?.load.name)
  return `With ${source} it holds with a probability of ${percentText(probability * 100)}; 95 % interval ${range} (${decidedBy(carried)}).`
}

export function expectHover(evaluation: Evaluation, match: Match, judge: Judge): Told {
  const found = judge(evaluation).find(one => one.sourced.match === match)
  if (found === undefined) return told({ lines: [nothingPredicted(evaluation)] })
  const { predicted, unit, worst, undecided, pending } = found
  const figure = predicted === null ? undefined : `Predicted: **${predictedIn(predicted, unit)}**${spareText(found)}`
  const { courseWorst } = found
  const during = courseWorst && `: ${cornerText(courseWorst.corner)}, after ${durationText(courseWorst.timeS)}`
  const at = figure === undefined ? 'Decided by' : ', decided by'
  const ofCourse = during === undefined ? '' : `${at} course ${code(found.course ?? '')}${during}`
  const where =
    worst === undefined ? ofCourse : `${figure === undefined ? 'Decided by' : ', decided by'} ${whereText(worst)}`
  const index = groupIndex(evaluation, found.group)
  const seen = worst && (index === undefined ? worst.settled : settledOfGroup(worst.settled, index))
  const steady = seen === undefined ? undefined : `There it settles at ${settledCell(seen)}.`
  const { bench } = evaluation.input
  const lines = worst === undefined || bench === undefined ? [] : workedLines(bench, worst, found.figure, found.group)
  const why = undecided === undefined || pending ? '' : `, because ${undecided}`
  return together(
    told({
      lines: [
        `${code(found.text)}: **${verdict(found)}**${why}`,
        figure === undefined && where === '' ? undefined : `${figure ?? ''}${where}.`,
      ],
    }),
    runTold(found),
    told({
      lines: [uncertaintyText(evaluation, found), forTime(found) ? undefined : steady],
      rest: [forTime(found) ? steady : undefined, list(lines)],
    }),
  )
}

/** Whether the expectation is one over time, for which the steady figures are but the background. */
function forTime({ forS }: Expectation): boolean {
  return forS !== undefined
}
