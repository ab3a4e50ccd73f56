import type { Settled } from '../../model/types.ts'
import { groupViews } from '../../semantic/group-view.ts'
import type { Prediction } from '../../semantic/predict.ts'
import type { BandsRow } from '../../semantic/profile-values.ts'
import { clockText, fixed, ratioText, temperatureText } from '../../wording/figures.ts'
import { ofGroupText } from '../../wording/places.ts'
import { busyIn, caseText, moreCases, rowOf } from '../support/ladder-facts.ts'
import { hasOwnPredictions, settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

interface Alternating {
  readonly row: BandsRow
  /** Whose clock it is; undefined where all cores are alike. */
  readonly group: string | undefined
  /** The case with the lowest mean clock. */
  readonly worst: Prediction
  readonly cases: number
}

/** The ratios and the mean clock of a group; those of the part where all cores are alike. */
function clockOf(settled: Settled, group: string | undefined): Pick<Settled, 'ratioHigh' | 'ratioLow' | 'clockMhz'> {
  return settled.groups?.find(own => own.group === group) ?? settled
}

export const bandAlternating: Check = {
  code: 'band-alternating',
  severity: 'information',
  title: 'A clock that goes back and forth at a band',
  page: {
    what: 'A load under which the faster ratio warms the die past the threshold of a band and the slower one cools it again below its return, so that the clock alternates (model section 7). Reported once for each load and band, of a part with groups for each group of cores that a band at that temperature lowers, with the lowest mean clock of its core counts and room corners.',
    why: 'It does no harm, but a glance at the clock shows one of two values, and the load gets neither: it gets the mean.',
    remedy:
      'Judge the profile by the mean that the message gives. If you want one steady value, lower the step to the slower ratio or move the threshold. There is no quick fix, because nothing is wrong.',
    example: 'steps { 1 to 8 cores 50x }\nbands { 1 to 8 cores above 55 °C -4x }',
  },
  *inProfile({ profile, predictions }) {
    if (!hasOwnPredictions(profile)) return
    const found = new Map<string, Alternating>()
    const views = groupViews(profile)
    for (const prediction of predictions) {
      const { settled, load } = prediction
      const at = settled.notes.alternatesAtC
      if (settled.state !== 'alternating' || settled.limiter !== 'band' || at === null) continue
      for (const view of views) {
        const { group } = view
        const row = rowOf(view, busyIn(prediction, group), at)
        const { ratioLow, ratioHigh, clockMhz } = clockOf(settled, group)
        if (row === undefined || ratioLow === ratioHigh) continue
        const key = `${load.name} ${group ?? ''} ${row.sourced.match.statement.start}`
        const before = found.get(key)
        const isWorse = before === undefined || (clockMhz ?? 0) < (clockOf(before.worst.settled, group).clockMhz ?? 0)
        found.set(key, { row, group, worst: isWorse ? prediction : before.worst, cases: (before?.cases ?? 0) + 1 })
      }
    }
    for (const { row, group, worst, cases } of found.values()) {
      const { settled, load } = worst
      const { shareHigh, dieC } = settled
      const { ratioHigh, ratioLow, clockMhz } = clockOf(settled, group)
      if (ratioHigh === null || ratioLow === null || clockMhz === null || shareHigh === null || dieC === null) continue
      yield {
        at: settingPlace(profile, row.sourced),
        ...(group !== undefined && { group }),
        message: `Clock${ofGroupText(group)} alternates between ${ratioText(ratioHigh)} and ${ratioText(ratioLow)}: ${caseText(worst)}, die at ${temperatureText(dieC)}${moreCases(cases)}. The work gets the mean, ${clockText(clockMhz)}, with ${fixed(shareHigh * 100, 0)} % of the time at the faster ratio. Judge the profile by that; for one steady value lower the step or move the threshold.`,
        load: load.name,
      }
    }
  },
}
