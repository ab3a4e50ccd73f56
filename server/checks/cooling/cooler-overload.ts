import type { SettledState } from '../../model/index.ts'
import { badAmong, type EnvelopePoint, envelopeOf, onceAmong } from '../../semantic/envelope.ts'
import { differenceText, powerText, statedText, temperatureText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { deciderWords } from '../support/deciders.ts'
import { sustainedFix } from '../support/physics-limits.ts'
import { groupByRow, originOf } from '../support/physics-rows.ts'
import { stepWayOut } from '../support/what-if.ts'
import type { Check } from '../types.ts'

/**
 * By how many kelvin the plate is warmer than the hot side of driven modules; undefined where it is colder, and where it
 * is held that warm on purpose (model section 9).
 */
export function plateOverHot({ plateC, driveA, notes }: EnvelopePoint['settled']): number | undefined {
  if (plateC === null || notes.hotC === null || driveA === null || !(driveA > 0)) return undefined
  const { plate } = notes
  if (plate !== null && plate.targetC !== null && !plate.isTargetMissed) return undefined
  return plateC >= notes.hotC + 1e-6 ? plateC - notes.hotC : undefined
}

const warmAmong = onceAmong((_, points) => badAmong(points, ({ settled }) => plateOverHot(settled)))

export const coolerOverload: Check = {
  code: 'cooler-overload',
  severity: 'error',
  title: 'More heat than the cooler carries',
  page: {
    what: 'The heat put into the cooler against its `rating`, at every number of active cores and in every corner; and, for a driven thermoelectric plate, whether the plate is still colder than the hot side of its modules. A plate that `drive dew + M` or `drive hold T` holds at its target is not overloaded, however warm.',
    why: 'Above its rating the cooler’s maker promises nothing. A plate warmer than its own hot side no longer pumps: it is a bad conductor that heats the loop with its own current.',
    remedy:
      'Less heat: a `sustained-power` at the rating, a lower step. Or more modules, or a plain loop for this load.',
    example:
      'cooler te-plate kind thermoelectric {\n  rating 120 W                          # and the profile puts 139 W into it\n}',
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    const ratingW = bench?.cooler.ratingW
    if (ratingW !== undefined) {
      const over = ({ settled }: EnvelopePoint): number | undefined => {
        const excess = (settled.powerW ?? 0) - ratingW
        return excess > 1e-6 * ratingW ? excess : undefined
      }
      const everywhere = envelopeOf(evaluation).filter(point => over(point) !== undefined)
      // One limit answers for all rows, so it is looked for once.
      const answer =
        everywhere.length === 0
          ? { words: '', fixes: [] }
          : sustainedFix(evaluation, everywhere, ratingW, settled => (settled.powerW ?? 0) - ratingW)
      for (const { worst, at } of groupByRow(evaluation, badAmong(envelopeOf(evaluation), over))) {
        yield {
          at,
          ...originOf(evaluation, worst),
          message: `Cooler overloaded by ${powerText(over(worst) ?? 0)}: ${pointWords(worst)} puts ${powerText(worst.settled.powerW ?? 0)} into a cooler rated for ${statedText(ratingW, 'W')}.${answer.words === '' ? ' Lower this step, or take a bigger cooler.' : answer.words}`,
          fixes: answer.fixes,
        }
      }
    }
    for (const group of groupByRow(evaluation, warmAmong(evaluation))) {
      const { worst, at } = group
      // One finding in one place: where the rating speaks already, it says the same with watts.
      if (ratingW !== undefined && (worst.settled.powerW ?? 0) > ratingW * (1 + 1e-6)) continue
      const isFine = (settled: SettledState): boolean =>
        settled.state !== 'runaway' && plateOverHot(settled) === undefined
      const decided = bench === undefined ? '' : deciderWords(bench, worst, isFine, 'pump')
      const out = stepWayOut(evaluation, group, isFine)
      yield {
        at,
        ...originOf(evaluation, worst),
        message: `Modules no longer pump: the plate is ${differenceText(plateOverHot(worst.settled) ?? 0)} above its own hot side. ${pointWords(worst)} puts ${powerText(worst.settled.powerW ?? 0)} into it, and it stands at ${temperatureText(worst.settled.plateC ?? 0)}; the modules only heat the loop.${decided}${out.words === '' ? ' Take more modules, or a plain loop for this load.' : out.words}`,
        fixes: out.fixes,
      }
    }
  },
}
