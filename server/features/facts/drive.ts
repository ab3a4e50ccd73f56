/** Hover of `drive`: its target in each corner, and what the plate does under each load. */

import { wetPointC } from '../../model/index.ts'
import type { Bench, Drive, Settled } from '../../model/types.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { driveRule, driveTargetC, shareOf } from '../../semantic/drives.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { currentText, differenceText, noFigure, powerText, temperatureText } from '../../wording/figures.ts'
import { cornerText, loadText, whereText } from '../../wording/places.ts'
import { code, paragraphs, shortened, table } from '../markdown.ts'
import { everyLoadAtMost, highest, outerCorners, predictionsOf, settledAt } from '../profiles.ts'
import { nothingPredicted } from './predicted.ts'
import { type Told, told } from './told.ts'

const mostRows = 8

/** The corner in which the plate comes nearest to its wet point, or goes furthest below it. */
function wettest(predictions: readonly Prediction[]): Prediction | undefined {
  const spare = ({ plateC, wetC }: Settled): number => (plateC === null ? Number.POSITIVE_INFINITY : plateC - wetC)
  return predictions.reduce<Prediction | undefined>(
    (best, one) => (best === undefined || spare(one.settled) < spare(best.settled) ? one : best),
    undefined,
  )
}

function drivenText({ driveA, driveW }: Settled): string {
  return driveA === null ? '' : `, driven with ${currentText(driveA)} and ${powerText(driveW)}`
}

/** Wet point, target and what idle takes, corner by corner. */
function cornersTable(evaluation: Evaluation, { profile }: Bench): string {
  const rows = evaluation.input.corners.map(corner => {
    const idle = settledAt(evaluation, { name: 'idle', cores: 0 }, corner)
    const driven = idle?.driveA == null ? noFigure : `${currentText(idle.driveA)}, ${powerText(idle.driveW)}`
    return [
      cornerText(corner),
      temperatureText(wetPointC(corner.airC, corner.humidityPct)),
      temperatureText(driveTargetC(profile.drive, corner)),
      driven,
    ]
  })
  return table(['Corner', 'Dew or frost point', 'Target', 'At idle'], rows)
}

/** What each load takes in the warmest corner, beside the current that would make the plate coldest. */
function currentsTable(evaluation: Evaluation): string {
  const corner = outerCorners(evaluation).at(-1)
  if (corner === undefined) return ''
  const rows = everyLoadAtMost(evaluation).flatMap(load => {
    const settled = settledAt(evaluation, load, corner)
    if (settled?.driveA == null) return []
    const { coldestA, coldestPlateC } = settled.notes
    return [
      [
        `${loadText(load)}, at ${cornerText(corner)}`,
        currentText(settled.driveA),
        powerText(settled.driveW),
        `${currentText(coldestA)}: ${temperatureText(coldestPlateC)}`,
      ],
    ]
  })
  const { rows: shown, more } = shortened(rows, mostRows)
  return shown.length === 0 ? '' : paragraphs(table(['Load', 'Current', 'Electrical input', 'Coldest at'], shown), more)
}

/** The plate against the wet point for each load, in the corner where they come closest. */
function nearestTable(evaluation: Evaluation): string {
  const rows = everyLoadAtMost(evaluation).flatMap(load => {
    const one = wettest(predictionsOf(evaluation, load))
    if (one === undefined) return []
    const { settled, corner } = one
    const { plateC, wetC } = settled
    return [
      [
        `${loadText(load)}, at ${cornerText(corner)}`,
        `${temperatureText(plateC)}${drivenText(settled)}`,
        temperatureText(wetC),
        plateC === null ? differenceText(null) : differenceText(plateC - wetC),
      ],
    ]
  })
  const { rows: shown, more } = shortened(rows, mostRows)
  return paragraphs(table(['Load, nearest corner', 'Plate', 'Dew or frost point', 'Above it'], shown), more)
}

/** What pulses cost against smooth current of the same mean, in the corner and under the load where they cost most. */
function pulsesText(evaluation: Evaluation, drive: Drive): string | undefined {
  if (shareOf(drive) === 1) return undefined
  const lossK = ({ plateC, notes }: Settled): number | null =>
    plateC === null || notes.plate === null ? null : plateC - notes.plate.smoothPlateC
  const most = highest(evaluation.predictions, lossK)
  if (most === undefined) return undefined
  const { settled } = most.prediction
  return `Pulses cool less than smooth current of the same mean: here the plate is up to ${differenceText(most.value)} warmer than with ${currentText(settled.driveA)} of smooth current (${whereText(most.prediction)}).`
}

/** Where the supply does not get as far as its voltage asks. */
function boundText(evaluation: Evaluation): string | undefined {
  const bound = evaluation.predictions.find(({ settled }) => {
    const by = settled.notes.plate?.boundBy
    return by === 'drive-current' || by === 'supply-limit'
  })
  const by = bound?.settled.notes.plate?.boundBy
  return bound && `${code(by ?? '')} stops the current before that: ${whereText(bound)}.`
}

/** Where the plate comes nearest to water or ice, of all loads and corners. */
function nearestLine(evaluation: Evaluation): string | undefined {
  const nearest = wettest(evaluation.predictions)
  if (nearest === undefined || nearest.settled.plateC === null) return undefined
  const { plateC, wetC } = nearest.settled
  const side = plateC < wetC ? 'below' : 'above'
  return `The plate comes to **${differenceText(Math.abs(plateC - wetC))} ${side}** its dew or frost point: ${whereText(nearest)}.`
}

export function driveHover(evaluation: Evaluation): Told {
  const { bench } = evaluation.input
  if (bench === undefined) return told({ lines: [nothingPredicted(evaluation)] })
  const { cooler, profile } = bench
  const plate = drivenPlate(cooler)
  if (plate === undefined) return told({ lines: [nearestLine(evaluation)], tables: [nearestTable(evaluation)] })
  return told({
    lines: [
      driveRule(profile.drive, plate.driveCurrentA),
      nearestLine(evaluation),
      boundText(evaluation),
      pulsesText(evaluation, profile.drive),
    ],
    tables: [nearestTable(evaluation)],
    rest: [
      cornersTable(evaluation, bench),
      currentsTable(evaluation),
      'Electrical input: α · i · (hot - cold) + i² · R for each module; coldest is the best that any current up to the drive current does.',
    ],
  })
}
