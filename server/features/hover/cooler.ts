import { radiatorLaw, radiatorResistance } from '../../model/index.ts'
import type { ChilledCooler, Cooler } from '../../model/types.ts'
import { coolerConstants } from '../../semantic/constants.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { difference, percent, plain, power, significant, temperature, thermalResistance } from '../figures.ts'
import { highest } from '../profiles.ts'
import { capacityText } from './capacity.ts'
import { code, list, paragraphs, shortened, table } from './markdown.ts'
import { moduleSummary } from './module.ts'
import { whereText } from './predicted.ts'

/** Hover of a cooler: what its figures come to, and what the profiles ask of it. */

const mostRows = 6
/** A round heat at which resistances are easily compared. */
const heatW = 200

type Radiating = Extract<Cooler, { radiator: unknown }>

function radiatorText(cooler: Radiating): string {
  const law = radiatorLaw(cooler.radiator)
  const rows = cooler.radiator.map(({ dutyPct }) => {
    const radiator = radiatorResistance(law, dutyPct)
    const whole = radiator + cooler.blockResistanceKPerW
    return [
      percent(dutyPct),
      thermalResistance(radiator),
      thermalResistance(whole),
      `${significant(whole * heatW, 3)} K`,
    ]
  })
  return paragraphs(
    table(['Fan', 'Radiator', 'With block', `Rise at ${heatW} W`], rows),
    law.exponent === 0
      ? 'The radiator counts as constant.'
      : `Between the rows a power law: radiator = ${thermalResistance(law.refResistanceKPerW)} · (${percent(law.refDutyPct)} / duty)^${significant(law.exponent, 3)}.`,
  )
}

function chilledText({ coolantC, capacityW, beyondKPerW, blockResistanceKPerW }: ChilledCooler): string {
  const plateC = coolantC + blockResistanceKPerW * capacityW
  return list([
    `plate at the full capacity of ${power(capacityW)}: coolant ${plain(coolantC)} °C + block ${thermalResistance(blockResistanceKPerW)} · heat = ${temperature(plateC)}`,
    `beyond it the coolant warms by ${significant(beyondKPerW * 100, 3)} K for each further 100 W`,
  ])
}

/** The most heat that each profile puts into the cooler, with the plate's temperature at it. */
function heatText(evaluations: readonly Evaluation[], cooler: Cooler): string | undefined {
  const all = evaluations.flatMap(evaluation => {
    const most = highest(evaluation.predictions, settled => settled.powerW)
    if (most === undefined) return []
    const { settled } = most.prediction
    const name = evaluation.profile.definition.name
    return [
      [`${name}: ${whereText(most.prediction)}`, power(most.value), temperature(settled.plateC), power(settled.driveW)],
    ]
  })
  if (all.length === 0) return undefined
  const plate = cooler.kind === 'thermoelectric'
  const { rows, more } = shortened(all, mostRows)
  const head = ['Most heat', 'Heat', 'Plate', ...(plate ? ['Drive power'] : [])]
  return paragraphs(
    table(
      head,
      rows.map(row => row.slice(0, head.length)),
    ),
    more,
    cooler.ratingW === undefined ? undefined : `Rated for ${plain(cooler.ratingW)} W.`,
  )
}

/** How the plate's temperature follows from the heat, in words. */
function formulaText({ kind }: Cooler): string {
  switch (kind) {
    case 'chilled':
      return 'plate = coolant + block · heat'
    case 'thermoelectric':
      return 'Each module takes α · i · cold - i² · R / 2 - K · (hot - cold), in kelvin; the hot side is air + (radiator + block) · (heat + electrical input).'
    default:
      return 'plate = air + (radiator + block) · heat, the radiator at the duty that the fan table gives for the coolant.'
  }
}

function drivenText({ modules, driveCurrentA }: Extract<Cooler, { kind: 'thermoelectric' }>): string {
  return `${plain(modules)} modules side by side, each with up to ${plain(driveCurrentA)} A.`
}

export function coolerFigures(definition: Definition, evaluations: readonly Evaluation[]): string | undefined {
  const { value: cooler } = coolerConstants(definition)
  if (cooler === undefined) return undefined
  return paragraphs(
    cooler.kind === 'thermoelectric' ? drivenText(cooler) : undefined,
    cooler.kind === 'chilled' ? chilledText(cooler) : radiatorText(cooler),
    cooler.kind === 'thermoelectric' ? moduleSummary(definition, cooler) : undefined,
    formulaText(cooler),
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
      `${name}: the plate rests at ${temperature(settled.plateC)}, ${difference(kelvin)} ${side} its dew or frost point: ${whereText(nearest.prediction)}`,
    ]
  })
  const { rows, more } = shortened(lines, mostRows)
  return lines.length === 0 ? undefined : paragraphs(title, list(rows), more)
}

/** How fast a heat capacity warms. */
function warmingText(jPerK: number): string {
  return `Each 100 W that do not leave it warm it by ${significant(6000 / jPerK, 3)} K a minute. Only figures over time use it.`
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
    case 'modules':
    case 'drive-current':
      return cooler.kind === 'thermoelectric' ? drivenText(cooler) : undefined
    case 'block-resistance':
      return `Each 100 W makes ${significant(cooler.blockResistanceKPerW * 100, 3)} K over it.`
    case 'radiator':
    case '':
      return cooler.kind === 'chilled' ? undefined : radiatorText(cooler)
    case 'coolant':
    case 'capacity':
    case 'beyond':
      return cooler.kind === 'chilled' ? chilledText(cooler) : undefined
    case 'rating':
      return heatText(evaluations, cooler)
    case 'drive-when-off':
      return nearestText(evaluations, 'With the machine off:', ({ load }) => load.name === 'off')
    case 'insulated':
      return nearestText(evaluations, 'Where the plate is nearest to water or ice:', () => true)
    case 'plate-heat':
      return warmingText(cooler.plateHeatJPerK)
    case 'coolant-heat':
      return cooler.kind === 'chilled' ? undefined : warmingText(cooler.coolantHeatJPerK)
    default:
      return undefined
  }
}
