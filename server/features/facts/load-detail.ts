/** The rest of a load's hover: electrical figures and margin, how long a load lasts that has no rest, what `±` makes of it. */

import { isWork } from '../../model/index.ts'
import type { Settled } from '../../model/types.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import {
  clockText,
  currentText,
  differenceText,
  noFigure,
  powerText,
  rangeText,
  temperatureText,
  voltageText,
} from '../../wording/figures.ts'
import { limiterText } from '../../wording/limiters.ts'
import { busyText, cornerText } from '../../wording/places.ts'
import { durationText } from '../../wording/times.ts'
import { decidedBy, intervalSource, intervalsOf } from '../intervals.ts'
import { list, paragraphs, shortened, table } from '../markdown.ts'
import { activeCores, outerCorners } from '../profiles.ts'
import { type Told, told } from './told.ts'
import { dieLine, meansLine, powerLine } from './worked.ts'

const mostRows = 8
/** Rows that are worked out term by term. */
const mostWorked = 3
/** How long a load that finds no rest below the limit is followed. */
const followedS = 15 * 60

/** The load in the warmest corner of each profile, at its lowest and highest core count. */
function warmest(evaluation: Evaluation, name: string): readonly Prediction[] {
  const corner = outerCorners(evaluation).at(-1)
  const all = evaluation.predictions.filter(
    one => one.load.name === name && one.corner.airC === corner?.airC && one.corner.humidityPct === corner?.humidityPct,
  )
  const ends = [all[0], all.at(-1)].filter(one => one !== undefined)
  return ends[0] === ends[1] ? ends.slice(0, 1) : ends
}

function nameOf(evaluation: Evaluation, { load, settled }: Prediction): string {
  const count = activeCores(load)
  const profile = evaluation.profile.definition.name
  return count === 0 ? profile : `${profile} (${busyText(count, settled.groups)})`
}

const restless: readonly Settled['state'][] = ['runaway', 'over-limit', 'throttled']

/** How long the load lasts from an idle bench, where it settles at or above the limit or nowhere. */
function lastingText(evaluation: Evaluation, prediction: Prediction): string | undefined {
  const { bench } = evaluation.input
  const { load, corner, settled } = prediction
  if (bench === undefined || !isWork(load.load) || !restless.includes(settled.state)) return undefined
  const where = `${nameOf(evaluation, prediction)} at ${cornerText(corner)}, ${limiterText(settled)}`
  const run = evaluation.overTime.run(bench, load.load, corner, followedS)
  if (run === 'pending') return `${where}: how long it lasts is being worked out; look again in a moment.`
  if (run === undefined) return undefined
  const drop = run.firstDropS === null ? [] : [`gives ratio back after ${durationText(run.firstDropS)}`]
  const limit = run.dieLimitS === null ? [] : [`reaches the die limit after ${durationText(run.dieLimitS)}`]
  const end = run.tripped ? [`trips after ${durationText(run.endS)}`] : [`still runs after ${durationText(run.endS)}`]
  return `${where}: from an idle bench it ${[...drop, ...limit, ...end].join(', ')}.`
}

/** The 95 % intervals of clock, die temperature and margin, where constants carry `±`. */
function intervalText(evaluation: Evaluation, prediction: Prediction): string | undefined {
  const found = intervalsOf(evaluation, prediction)
  if (found === undefined) return undefined
  const { clock_mhz, die_c, margin_w } = found.interval
  const figures = [
    `clock ${rangeText(clock_mhz, clockText)}`,
    `die ${rangeText(die_c, temperatureText)}`,
    `margin ${rangeText(margin_w, powerText)}`,
  ]
  return `${nameOf(evaluation, prediction)}, 95 % interval from ${intervalSource(evaluation, prediction.load.name)}: ${figures.join(', ')} (${decidedBy(found)}).`
}

/** How power and die temperature come about, as one would work them out by hand. */
function workedText(evaluation: Evaluation, prediction: Prediction): string | undefined {
  const { bench } = evaluation.input
  if (bench === undefined) return undefined
  const lines = [powerLine(bench, prediction), dieLine(bench, prediction), meansLine(prediction)]
  const text = lines.filter(line => line !== undefined).join('; ')
  return text === '' ? undefined : `${nameOf(evaluation, prediction)}: ${text}.`
}

function row(evaluation: Evaluation, prediction: Prediction): readonly string[] {
  const { settled } = prediction
  const { voltageV, currentA, powerW, plateC, wetC, marginW } = settled
  const electric =
    voltageV === null ? powerText(powerW) : `${voltageText(voltageV)}, ${currentText(currentA)}, ${powerText(powerW)}`
  const plate =
    plateC === null ? noFigure : `${temperatureText(plateC)}, ${differenceText(plateC - wetC)} over dew or frost`
  return [nameOf(evaluation, prediction), electric, plate, marginW === null ? noFigure : powerText(marginW)]
}

interface Detailed {
  readonly evaluation: Evaluation
  readonly prediction: Prediction
}

function allDetailed(evaluations: readonly Evaluation[], name: string): readonly Detailed[] {
  return evaluations.flatMap(evaluation => warmest(evaluation, name).map(prediction => ({ evaluation, prediction })))
}

/** The predictions whose uncertainty a load's hover shows. */
export function detailedPredictions(evaluations: readonly Evaluation[], name: string): readonly Detailed[] {
  return allDetailed(evaluations, name).slice(0, mostRows)
}

/** What the table of clocks leaves out, in the warmest corner of each profile. */
export function loadDetail(evaluations: readonly Evaluation[], name: string): Told | undefined {
  const all = allDetailed(evaluations, name)
  if (all.length === 0) return undefined
  const { rows, more } = shortened(
    all.map(({ evaluation, prediction }) => row(evaluation, prediction)),
    mostRows,
  )
  const some = all.slice(0, mostRows)
  const said = <T>(text: (evaluation: Evaluation, prediction: Prediction) => T | undefined, most = mostRows): T[] =>
    some.slice(0, most).flatMap(({ evaluation, prediction }) => text(evaluation, prediction) ?? [])
  const lines = [...said(workedText, mostWorked), ...said(intervalText)]
  const unworked = all.length - mostWorked
  return told({
    // After the tables: what the answer lines leave room for.
    tables: [list(said(lastingText))],
    rest: [
      paragraphs(table(['Warmest corner', 'Electrical', 'Plate', 'Margin'], rows), more),
      lines.length === 0 ? undefined : list(lines),
      unworked > 0
        ? `Worked out for the first ${mostWorked}; ${unworked} more ${unworked === 1 ? 'follows' : 'follow'} in the same way.`
        : undefined,
    ],
  })
}
