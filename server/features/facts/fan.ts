/** Hover of `fan`: what the coolant does under each load. */

import type { Match } from '../../../grammar/values.ts'
import type { Settled } from '../../model/types.ts'
import { quantity } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { percentText, plain, temperatureText } from '../../wording/figures.ts'
import { cornerText, loadText, whereText } from '../../wording/places.ts'
import { shortened, table } from '../markdown.ts'
import { everyLoadAtMost, highest, outerCorners, predictionsOf } from '../profiles.ts'
import { nothingPredicted } from './predicted.ts'
import { type Told, told } from './told.ts'

const mostRows = 8

/** Coolant temperature and duty of each load in the room's outer corners. */
export function fanHover(evaluation: Evaluation, row: Match | undefined): Told {
  const reason = nothingPredicted(evaluation)
  if (reason !== undefined) return told({ lines: [reason] })
  const corners = outerCorners(evaluation)
  const cell = (settled: Settled | undefined): string =>
    settled === undefined || settled.coolantC === null
      ? temperatureText(null)
      : `${temperatureText(settled.coolantC)}${settled.fanPct === null ? '' : `, ${percentText(settled.fanPct)}`}`
  const rows = everyLoadAtMost(evaluation).map(load => {
    const found = predictionsOf(evaluation, load)
    return [
      loadText(load),
      ...corners.map(corner =>
        cell(
          found.find(one => one.corner.airC === corner.airC && one.corner.humidityPct === corner.humidityPct)?.settled,
        ),
      ),
    ]
  })
  const coolant = row === undefined ? undefined : quantity(row, 'coolant')
  const duty = row === undefined ? undefined : quantity(row, 'duty')
  const title =
    coolant === undefined || duty === undefined
      ? undefined
      : `**${percentText(duty.value)} at ${plain(coolant.value)} °C coolant**; straight lines between the rows, flat outside.`
  const { rows: shown, more } = shortened(rows, mostRows)
  const warmest = highest(evaluation.predictions, settled => settled.coolantC)
  const most = warmest && `Warmest coolant: **${cell(warmest.prediction.settled)}**, ${whereText(warmest.prediction)}.`
  return told({
    lines: [title, most],
    tables: [table(['Coolant and duty', ...corners.map(cornerText)], shown), more],
  })
}
