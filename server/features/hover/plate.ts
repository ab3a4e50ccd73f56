import type { Match } from '../../../grammar/values.ts'
import type { Settled } from '../../model/types.ts'
import { quantity } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { current, difference, percent, plain, power, temperature } from '../figures.ts'
import { activeCores, outerCorners, predictionsOf } from '../profiles.ts'
import { paragraphs, shortened, table } from './markdown.ts'
import { cornerText, loadText, nothingPredicted } from './predicted.ts'

/** Hover of `drive` and `fan`: what the plate and the coolant do under each load. */

const mostRows = 8

/** Every load at its highest core count, the built-in ones among them. */
function everyLoad(evaluation: Evaluation): readonly { readonly name: string; readonly cores: number }[] {
  const most = new Map<string, number>()
  for (const one of evaluation.input.loads) most.set(one.name, Math.max(most.get(one.name) ?? 0, activeCores(one)))
  return [...most].map(([name, cores]) => ({ name, cores }))
}

/** The corner in which the plate comes nearest to its wet point, or goes furthest below it. */
function wettest(predictions: readonly Prediction[]): Prediction | undefined {
  const spare = ({ plateC, wetC }: Settled): number => (plateC === null ? Number.POSITIVE_INFINITY : plateC - wetC)
  return predictions.reduce<Prediction | undefined>(
    (best, one) => (best === undefined || spare(one.settled) < spare(best.settled) ? one : best),
    undefined,
  )
}

function driveText({ driveA, driveW }: Settled): string {
  return driveA === null ? '' : `, driven with ${current(driveA)} and ${power(driveW)}`
}

/** The plate against the wet point for each load, in the corner where they come closest. */
export function driveHover(evaluation: Evaluation): string | undefined {
  const reason = nothingPredicted(evaluation)
  if (reason !== undefined) return reason
  const rows = everyLoad(evaluation).flatMap(load => {
    const one = wettest(predictionsOf(evaluation, load.name, load.cores))
    if (one === undefined) return []
    const { settled, corner } = one
    const { plateC, wetC } = settled
    return [
      [
        `${loadText(load)}, at ${cornerText(corner)}`,
        `${temperature(plateC)}${driveText(settled)}`,
        temperature(wetC),
        plateC === null ? difference(null) : difference(plateC - wetC),
      ],
    ]
  })
  const { rows: shown, more } = shortened(rows, mostRows)
  return paragraphs(table(['Load, nearest corner', 'Plate', 'Dew or frost point', 'Above it'], shown), more)
}

/** Coolant temperature and duty of each load in the room's outer corners. */
export function fanHover(evaluation: Evaluation, row: Match | undefined): string | undefined {
  const reason = nothingPredicted(evaluation)
  if (reason !== undefined) return reason
  const corners = outerCorners(evaluation)
  const cell = (settled: Settled | undefined): string =>
    settled === undefined || settled.coolantC === null
      ? temperature(null)
      : `${temperature(settled.coolantC)}${settled.fanPct === null ? '' : `, ${percent(settled.fanPct)}`}`
  const rows = everyLoad(evaluation).map(load => {
    const found = predictionsOf(evaluation, load.name, load.cores)
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
      : `**${percent(duty.value)} at ${plain(coolant.value)} °C coolant**; straight lines between the rows, flat outside.`
  const { rows: shown, more } = shortened(rows, mostRows)
  return paragraphs(title, table(['Coolant and duty', ...corners.map(cornerText)], shown), more)
}
