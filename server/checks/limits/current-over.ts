import { type EnvelopePoint, envelopeOf, worstPoint } from '../../semantic/envelope.ts'
import { currentText, powerText, ratioText, statedText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { keyPlace, originOf } from '../support/physics-rows.ts'
import { settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

export const currentOver: Check = {
  code: 'current-over',
  severity: 'error',
  title: 'No ratio keeps within the limit on current or burst power',
  page: {
    what: 'At every number of active cores and in every corner: whether the part, even at its lowest ratio, draws more than `current` or `burst-power` allows.',
    why: 'These two hold at every instant. With no ratio left to give back the limit cannot hold: the converters carry the excess, or switch off.',
    remedy:
      'Less voltage at low ratios. Raise the limit only if the makers of board and part allow as much; there is no quick fix for that.',
    example:
      'profile quiet {\n  steps { 1 to 8 cores 40x }\n  limits { current 15 A }               # the lowest ratio draws 18 A\n}',
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    if (bench === undefined) return
    const { currentA, burstPowerW } = bench.profile.limits
    const points = envelopeOf(evaluation).filter(({ settled }) => settled.notes.currentOver)
    const judge = function* (
      word: 'current' | 'burst-power',
      limit: number | undefined,
      drawn: (point: EnvelopePoint) => number | null,
      write: (value: number) => string,
    ): Iterable<ReturnType<typeof foundAt>> {
      if (limit === undefined) return
      const found = worstPoint(points, point => {
        const excess = (drawn(point) ?? 0) - limit
        return excess > 1e-6 * limit ? excess : undefined
      })
      if (found !== undefined) yield foundAt(word, limit, found.point, found.value, write)
    }
    const foundAt = (
      word: 'current' | 'burst-power',
      limit: number,
      point: EnvelopePoint,
      excess: number,
      write: (value: number) => string,
    ) => {
      const unit = word === 'current' ? 'A' : 'W'
      const sourced = evaluation.profile.inner('limits', word)
      const lowest = ratioText(point.settled.ratioLow ?? bench.part.ratioLow)
      return {
        at: sourced === undefined ? keyPlace(evaluation, 'limits') : settingPlace(evaluation.profile, sourced),
        ...originOf(evaluation, point),
        message: `\`${word}\` exceeded by ${write(excess)}: ${pointWords(point)} draws ${write(limit + excess)} at ${lowest}, its lowest ratio; the limit is ${statedText(limit, unit)}. Nothing is left to give back, so the converters carry it or switch off. Lower the voltage at low ratios; raise the limit to ${statedText(Math.ceil(limit + excess), unit)} only where the makers of board and part allow it.`,
      }
    }
    yield* judge('current', currentA, ({ settled }) => settled.currentA, currentText)
    yield* judge('burst-power', burstPowerW, ({ settled }) => settled.powerW, powerText)
  },
}
