import { onceAmong, worstPoint } from '../../semantic/envelope.ts'
import { limitRows, limitText } from '../../semantic/limiters.ts'
import { currentText, powerText, ratioText, statedText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { keyPlace, originOf } from '../support/physics-rows.ts'
import { settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

const overAmong = onceAmong((_, points) => points.filter(({ settled }) => settled.notes.currentOver))

export const currentOver: Check = {
  code: 'current-over',
  severity: 'error',
  title: 'No ratio keeps within the limit on current or burst power',
  page: {
    what: 'At every number of active cores and in every corner: whether the part, even at its lowest ratio, draws more than `current` or `burst-power` allows; on a part with several supply rails, from each of them.',
    why: 'These two hold at every instant. With no ratio left to give back the limit cannot hold: the converters carry the excess, or switch off.',
    remedy:
      'Less voltage at low ratios. Raise the limit only if the makers of board and part allow as much; there is no quick fix for that.',
    example:
      'profile quiet {\n  steps { 1 to 8 cores 40x }\n  limits { current 15 A }               # the lowest ratio draws 18 A\n}',
    hasGroupExample: true,
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    if (bench === undefined) return
    const points = overAmong(evaluation) ?? []
    for (const row of ['current', 'burst-power'].flatMap(word => limitRows(bench, word))) {
      const { word, rail, value: limit } = row
      const found = worstPoint(points, ({ settled }) => {
        const excess = (row.figureOf(settled) ?? 0) - limit
        return excess > 1e-6 * limit ? excess : undefined
      })
      if (found === undefined) continue
      const { point, value: excess } = found
      const [unit, write] = word === 'current' ? ['A', currentText] : ['W', powerText]
      const sourced = evaluation.profile.inner('limits', word, rail)
      const { groups, ratioLow } = point.settled
      const isAlone = groups === undefined || groups.filter(({ cores }) => cores > 0).length === 1
      const lowest = isAlone ? `${ratioText(ratioLow ?? bench.part.ratioLow)}, its lowest ratio` : 'their lowest ratios'
      const where = rail === undefined ? '' : ` from rail ${rail}`
      yield {
        at: sourced === undefined ? keyPlace(evaluation, 'limits') : settingPlace(evaluation.profile, sourced),
        ...originOf(evaluation, point),
        message: `\`${limitText(row)}\` exceeded by ${write(excess)}: ${pointWords(point)} draws ${write(limit + excess)}${where} at ${lowest}; the limit is ${statedText(limit, unit)}. Nothing is left to give back, so the converters carry it or switch off. Lower the voltage at low ratios; raise the limit to ${statedText(Math.ceil(limit + excess), unit)} only where the makers of board and part allow it.`,
      }
    }
  },
}
