import { isWork } from '../../model/index.ts'
import type { Prediction } from '../../semantic/predict.ts'
import type { BandsRow } from '../../semantic/profile-values.ts'
import { clockText, fixed, ratioText, temperatureText } from '../../wording/figures.ts'
import { caseText, moreCases, rowOf } from '../support/ladder-facts.ts'
import { hasOwnPredictions, settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

interface Group {
  readonly row: BandsRow
  /** The case with the lowest mean clock. */
  readonly worst: Prediction
  readonly cases: number
}

export const bandAlternating: Check = {
  code: 'band-alternating',
  severity: 'information',
  title: 'A clock that goes back and forth at a band',
  page: {
    what: 'A load under which the faster ratio warms the die past the threshold of a band and the slower one cools it again below its return, so that the clock alternates (model section 7). Reported once for each load and band, with the lowest mean clock of its core counts and room corners.',
    why: 'It does no harm, but a glance at the clock shows one of two values, and the load gets neither: it gets the mean.',
    remedy:
      'Judge the profile by the mean that the message gives. If you want one steady value, lower the step to the slower ratio or move the threshold. There is no quick fix, because nothing is wrong.',
    example: 'steps { 1 to 8 cores 50x }\nbands { 1 to 8 cores above 55 °C -4x }',
  },
  *inProfile({ profile, predictions }) {
    if (!hasOwnPredictions(profile)) return
    const groups = new Map<string, Group>()
    for (const prediction of predictions) {
      const { settled, load } = prediction
      const at = settled.notes.alternatesAtC
      if (settled.state !== 'alternating' || settled.limiter !== 'band' || at === null) continue
      const row = isWork(load.load) ? rowOf(profile, load.load.cores, at) : undefined
      if (row === undefined) continue
      const key = `${load.name} ${row.sourced.match.statement.start}`
      const before = groups.get(key)
      const isWorse = before === undefined || (settled.clockMhz ?? 0) < (before.worst.settled.clockMhz ?? 0)
      groups.set(key, { row, worst: isWorse ? prediction : before.worst, cases: (before?.cases ?? 0) + 1 })
    }
    for (const { row, worst, cases } of groups.values()) {
      const { settled, load } = worst
      const { ratioHigh, ratioLow, clockMhz, shareHigh, dieC } = settled
      if (ratioHigh === null || ratioLow === null || clockMhz === null || shareHigh === null || dieC === null) continue
      yield {
        at: settingPlace(profile, row.sourced),
        message: `Clock alternates between ${ratioText(ratioHigh)} and ${ratioText(ratioLow)}: ${caseText(worst)}, die at ${temperatureText(dieC)}${moreCases(cases)}. The work gets the mean, ${clockText(clockMhz)}, with ${fixed(shareHigh * 100, 0)} % of the time at the faster ratio. Judge the profile by that; for one steady value lower the step or move the threshold.`,
        load: load.name,
      }
    }
  },
}
