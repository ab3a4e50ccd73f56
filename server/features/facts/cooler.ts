/** Hover of a cooler: what its figures come to, and what the profiles ask of it. */

import type { CoolerWord } from '../../../grammar/vocabulary/cooler.ts'
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
import { type Told, together, told } from './told.ts'

const mostRows = 6

/** The most heat that each profile puts into the cooler, with the plate's temperature at it. */
function heatTold(evaluations: readonly Evaluation[], cooler: Cooler): Told {
  const all = evaluations.flatMap(evaluation => {
    const most = highest(evaluation.predictions, settled => settled.powerW)
    return most === undefined ? [] : [{ ...most, name: evaluation.profile.definition.name }]
  })
  const [first] = all
  if (first === undefined) return told({})
  const top = all.reduce((best, one) => (one.value > best.value ? one : best), first)
  const { rows, more } = shortened(
    all.map(({ name, value, prediction }) => [
      `${name}: ${whereText(prediction)}`,
      powerText(value),
      temperatureText(prediction.settled.plateC),
      powerText(prediction.settled.driveW),
    ]),
    mostRows,
  )
  const head = ['Most heat', 'Heat', 'Plate', ...(kindOf(cooler).isDriven ? ['Drive power'] : [])]
  const rated = cooler.ratingW === undefined ? '' : ` of the rated ${plain(cooler.ratingW)} W`
  const plate = temperatureText(top.prediction.settled.plateC)
  return told({
    lines: [
      `Most heat: **${powerText(top.value)}**${rated}, plate ${plate}: profile ${code(top.name)}, ${whereText(top.prediction)}.`,
    ],
    tables: [
      table(
        head,
        rows.map(row => row.slice(0, head.length)),
      ),
      more,
    ],
  })
}

export function coolerFigures(definition: Definition, evaluations: readonly Evaluation[]): Told | undefined {
  const { value: cooler } = coolerConstants(definition)
  if (cooler === undefined) return undefined
  const heat = heatTold(evaluations, cooler)
  const figures = coolerHover(cooler).figures(cooler, definition)
  const warnings = coolerHover(cooler).warnings?.(cooler, definition) ?? []
  // What its constants come to is the answer only while no profile asks anything of it.
  const isAsked = heat.lines.length > 0
  return together(
    heat,
    told({ lines: warnings }),
    told(isAsked ? { rest: figures } : { tables: figures }),
    told({ rest: [kindOf(cooler).formula, capacityText(evaluations)] }),
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
  word: CoolerWord,
  evaluations: readonly Evaluation[],
): Told | undefined {
  const { value: cooler } = coolerConstants(definition)
  if (cooler === undefined) return undefined
  const line = (text: string | undefined): Told | undefined =>
    text === undefined ? undefined : told({ lines: [text] })
  switch (word) {
    case 'block-resistance':
      return line(`Each 100 W makes ${significant(cooler.blockResistanceKPerW * 100, 3)} K over it.`)
    case 'rating':
      return heatTold(evaluations, cooler)
    case 'drive-when-off':
      return line(nearestText(evaluations, 'With the machine off:', ({ load }) => load.name === 'off'))
    case 'insulated':
      return line(nearestText(evaluations, 'Where the plate is nearest to water or ice:', () => true))
    case 'plate-heat':
      return line(warmingText(cooler.plateHeatJPerK))
    default: {
      const text = coolerHover(cooler).key(cooler, word)
      return text === undefined ? undefined : told({ tables: [text] })
    }
  }
}
