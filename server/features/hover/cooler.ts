import type { Cooler } from '../../model/types.ts'
import { coolerConstants } from '../../semantic/constants.ts'
import { kindOf } from '../../semantic/coolers/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { differenceText, plain, powerText, significant, temperatureText } from '../../wording/figures.ts'
import { whereText } from '../../wording/places.ts'
import { code, list, paragraphs, shortened, table } from '../markdown.ts'
import { highest } from '../profiles.ts'
import { capacityText } from './capacity.ts'
import { coolerHover, warmingText } from './coolers/index.ts'

/** Hover of a cooler: what its figures come to, and what the profiles ask of it. */

const mostRows = 6

/** The most heat that each profile puts into the cooler, with the plate's temperature at it. */
function heatText(evaluations: readonly Evaluation[], cooler: Cooler): string | undefined {
  const all = evaluations.flatMap(evaluation => {
    const most = highest(evaluation.predictions, settled => settled.powerW)
    if (most === undefined) return []
    const { settled } = most.prediction
    const name = evaluation.profile.definition.name
    return [
      [
        `${name}: ${whereText(most.prediction)}`,
        powerText(most.value),
        temperatureText(settled.plateC),
        powerText(settled.driveW),
      ],
    ]
  })
  if (all.length === 0) return undefined
  const { rows, more } = shortened(all, mostRows)
  const head = ['Most heat', 'Heat', 'Plate', ...(kindOf(cooler).isDriven ? ['Drive power'] : [])]
  return paragraphs(
    table(
      head,
      rows.map(row => row.slice(0, head.length)),
    ),
    more,
    cooler.ratingW === undefined ? undefined : `Rated for ${plain(cooler.ratingW)} W.`,
  )
}

export function coolerFigures(definition: Definition, evaluations: readonly Evaluation[]): string | undefined {
  const { value: cooler } = coolerConstants(definition)
  if (cooler === undefined) return undefined
  return paragraphs(
    ...coolerHover(cooler).figures(cooler, definition),
    kindOf(cooler).formula,
    capacityText(evaluations),
    heatText(evaluations, cooler),
  )
}

export function coolerFacts(definition: Definition): string | undefined {
  return definition.coolerKind === undefined ? undefined : `kind ${code(definition.coolerKind)}`
}

/** How near the plate comes to its wet point, profile by profile, with what and where it is nearest. */
function nearestText(
  evaluations: readonly Evaluation[],
  title: string,
  accepts: (prediction: Prediction) => boolean,
): string | undefined {
  const lines = evaluations.flatMap(evaluation => {
    const nearest = highest(evaluation.predictions.filter(accepts), ({ plateC, wetC }) =>
      plateC === null ? null : wetC - plateC,
    )
    if (nearest === undefined) return []
    const { settled } = nearest.prediction
    const [kelvin, side] = nearest.value > 0 ? [nearest.value, 'below'] : [-nearest.value, 'above']
    const name = code(evaluation.profile.definition.name)
    return [
      `${name}: the plate rests at ${temperatureText(settled.plateC)}, ${differenceText(kelvin)} ${side} its dew or frost point: ${whereText(nearest.prediction)}`,
    ]
  })
  const { rows, more } = shortened(lines, mostRows)
  return lines.length === 0 ? undefined : paragraphs(title, list(rows), more)
}

/** What one key of a cooler comes to; nothing for keys that say it themselves. */
export function coolerKeyFigure(
  definition: Definition,
  word: string,
  evaluations: readonly Evaluation[],
): string | undefined {
  const { value: cooler } = coolerConstants(definition)
  if (cooler === undefined) return undefined
  switch (word) {
    case 'block-resistance':
      return `Each 100 W makes ${significant(cooler.blockResistanceKPerW * 100, 3)} K over it.`
    case 'rating':
      return heatText(evaluations, cooler)
    case 'drive-when-off':
      return nearestText(evaluations, 'With the machine off:', ({ load }) => load.name === 'off')
    case 'insulated':
      return nearestText(evaluations, 'Where the plate is nearest to water or ice:', () => true)
    case 'plate-heat':
      return warmingText(cooler.plateHeatJPerK)
    default:
      return coolerHover(cooler).key(cooler, word)
  }
}
