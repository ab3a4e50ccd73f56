import { isWork } from '../../model/index.ts'
import { type EnvelopePoint, envelopeOf, worstPoint } from '../../semantic/envelope.ts'
import { powerText, ratioText, statedText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { setSustained } from '../support/physics-limits.ts'
import { keyPlace, originOf } from '../support/physics-rows.ts'
import { settingPlace } from '../support/place.ts'
import { settleAgain, withLimits } from '../support/what-if.ts'
import type { Check } from '../types.ts'

export const sustainedOver: Check = {
  code: 'sustained-over',
  severity: 'error',
  title: 'No ratio keeps within the sustained power',
  page: {
    what: 'At every number of active cores and in every corner: whether any ratio down to the lowest keeps the mean power at or below `sustained-power`, with the die below its limit.',
    why: 'The machine then stays at its lowest ratio, and so does the prediction: slow, and over the limit all the same.',
    remedy: 'A `sustained-power` above what the part takes at its lowest ratio, or less voltage there.',
    example:
      'profile quiet {\n  steps { 1 to 8 cores 45x }\n  limits { sustained-power 20 W }       # the lowest ratio takes 29 W\n}',
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    const limitW = bench?.profile.limits.sustainedPowerW
    if (bench === undefined || limitW === undefined) return
    const lowestRatio = bench.part.ratioLow
    // A load that runs away has its own finding; what it takes at its lowest ratio decides here.
    const least = (point: EnvelopePoint): number | undefined => {
      if (!point.settled.notes.sustainedOver || !isWork(point.load)) return undefined
      const { cores } = point.load
      const steps = [{ fromCores: cores, toCores: cores, ratio: lowestRatio }, ...bench.profile.steps]
      const crawling = { ...bench, profile: { ...bench.profile, steps, vectorDrop: 0, bands: [] } }
      return settleAgain(crawling, point)?.powerW ?? Number.POSITIVE_INFINITY
    }
    const found = worstPoint(envelopeOf(evaluation), least)
    if (found === undefined) return
    const { point, value, bad } = found
    const sourced = evaluation.profile.inner('limits', 'sustained-power')
    const exists = Number.isFinite(value)
    const neededW = Math.ceil(value + 1)
    const other = exists ? withLimits(bench, { sustainedPowerW: neededW }) : undefined
    const helps = other !== undefined && bad.every(one => settleAgain(other, one)?.notes.sustainedOver === false)
    const fix = helps ? setSustained(evaluation, neededW) : undefined
    const figures = exists
      ? `takes ${powerText(value)} at ${ratioText(lowestRatio)}, its lowest ratio, ${powerText(value - limitW)} above \`sustained-power ${statedText(limitW, 'W')}\``
      : `has no steady state below the die limit at any ratio, whatever \`sustained-power ${statedText(limitW, 'W')}\` says`
    const way = helps
      ? ` \`sustained-power ${statedText(neededW, 'W')}\` could be kept.`
      : ' Lower the voltage at low ratios.'
    yield {
      at: sourced === undefined ? keyPlace(evaluation, 'limits') : settingPlace(evaluation.profile, sourced),
      ...originOf(evaluation, point),
      message: `No ratio keeps the sustained power: ${pointWords(point)} ${figures}. The part stays at its lowest ratio.${way}`,
      fixes: fix === undefined ? [] : [fix],
    }
  },
}
