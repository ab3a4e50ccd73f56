import type { Match } from '../../../grammar/values.ts'
import { dieCeilingC, isWork, levelsIn } from '../../model/index.ts'
import type { Bench } from '../../model/types.ts'
import { groupViews } from '../../semantic/group-view.ts'
import type { Prediction } from '../../semantic/predict.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import { type BandsRow, bandsRows, sameRatio } from '../../semantic/profile-values.ts'
import { statedText, temperatureText } from '../../wording/figures.ts'
import { ofGroupText } from '../../wording/places.ts'
import { choice, removeFix } from '../support/edits.ts'
import { busyIn, sameC } from '../support/ladder-facts.ts'
import { hasOwnPredictions, isOwn, settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

/** Whether the die reached the row's threshold on its way to where a load with its counts settled. */
function isReached(bench: Bench, row: BandsRow, { load, corner, settled }: Prediction): boolean {
  if (!isWork(load.load)) return false
  const { dieC, limiter } = settled
  // Runaway passes every threshold.
  if (dieC === null || dieC >= row.aboveC - sameC) return true
  if (settled.notes.alternatesAtC !== null && settled.notes.alternatesAtC >= row.aboveC) return true
  // A band that holds within its return has been entered, although the die is cooler than its threshold now.
  if (limiter !== 'band') return false
  const lows = settled.groups?.filter(({ cores }) => cores > 0) ?? [settled]
  const level = levelsIn(bench, load.load, corner).find(({ ratios }) =>
    lows.every(({ ratioLow }, index) => Math.abs((ratioLow ?? 0) - (ratios[index] ?? 0)) <= sameRatio),
  )
  return level !== undefined && level.enteredC >= row.aboveC
}

/** Every row once, with the groups of cores that take it; of a part whose cores are all alike that is `undefined`. */
function rowsOf(profile: ResolvedProfile): readonly { row: BandsRow; groups: (string | undefined)[] }[] {
  const found = new Map<Match, { row: BandsRow; groups: (string | undefined)[] }>()
  for (const view of groupViews(profile)) {
    for (const row of bandsRows(view)) {
      const known = found.get(row.sourced.match)
      if (known === undefined) found.set(row.sourced.match, { row, groups: [view.group] })
      else known.groups.push(view.group)
    }
  }
  return [...found.values()]
}

export const bandUnreachable: Check = {
  code: 'band-unreachable',
  severity: 'off',
  title: 'A band that no load reaches',
  page: {
    what: 'A row of `bands` whose threshold none of the loads reaches in any corner of the room, or one at or above the die limit, where the ladder has already left the bands. Off unless switched on: a safety net is meant not to be reached.',
    why: 'If the row was meant to act, it does not.',
    remedy: 'Lower the threshold, or leave the row as the safety net it is.',
    example: 'bands {\n  1 to 8 cores   above 95 °C  -4x\n}',
  },
  *inProfile({ profile, input, predictions }) {
    const { bench } = input
    if (bench === undefined || !hasOwnPredictions(profile)) return
    const ceilingC = dieCeilingC(bench.part, bench.profile)
    for (const { row, groups } of rowsOf(profile)) {
      const judged = predictions.filter(prediction =>
        groups.some(group => {
          const cores = busyIn(prediction, group)
          return cores > 0 && cores >= row.from && cores <= row.to
        }),
      )
      const group = groups.length === 1 ? groups[0] : undefined
      const isOutside = row.aboveC >= ceilingC
      if (!isOutside && (judged.length === 0 || judged.some(prediction => isReached(bench, row, prediction)))) continue
      const hottest = Math.max(...judged.map(({ settled }) => settled.dieC ?? Number.NEGATIVE_INFINITY))
      yield {
        at: settingPlace(profile, row.sourced),
        ...(group !== undefined && { group }),
        message: isOutside
          ? `Band never acts: the die limit gives ratio back at ${statedText(ceilingC, '°C')}, below this row's ${statedText(row.aboveC, '°C')}. Lower its threshold below the limit, or remove the row.`
          : `Band not reached: no load with these core counts${ofGroupText(group)} gets to ${statedText(row.aboveC, '°C')}; the hottest settles at ${temperatureText(hottest)}. If the band is meant to act, lower its threshold.`,
        ...(isOwn(profile, row.sourced)
          ? { fixes: [choice(removeFix('Remove this row', row.sourced.definition.chunk, row.sourced.match.statement))] }
          : {}),
      }
    }
  },
}
