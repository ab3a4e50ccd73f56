import { dieCeilingC, isWork, levelsIn } from '../../model/index.ts'
import type { Bench } from '../../model/types.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { type BandsRow, bandsRows, sameRatio } from '../../semantic/profile-values.ts'
import { statedText, temperatureText } from '../../wording/figures.ts'
import { choice, removeFix } from '../support/edits.ts'
import { sameC } from '../support/ladder-facts.ts'
import { hasOwnPredictions, isOwn, settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

/** Whether the die reached the row's threshold on its way to where the load settled. */
function isReached(bench: Bench, row: BandsRow, { load, corner, settled }: Prediction): boolean {
  if (!isWork(load.load) || load.load.cores < row.from || load.load.cores > row.to) return false
  const { dieC, ratioLow, limiter } = settled
  // Runaway passes every threshold.
  if (dieC === null || dieC >= row.aboveC - sameC) return true
  if (settled.notes.alternatesAtC !== null && settled.notes.alternatesAtC >= row.aboveC) return true
  // A band that holds within its return has been entered, although the die is cooler than its threshold now.
  if (limiter !== 'band' || ratioLow === null) return false
  const level = levelsIn(bench, load.load, corner).find(({ ratio }) => Math.abs(ratio - ratioLow) <= sameRatio)
  return level !== undefined && level.enteredC >= row.aboveC
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
    for (const row of bandsRows(profile)) {
      const judged = predictions.filter(
        ({ load }) => isWork(load.load) && load.load.cores >= row.from && load.load.cores <= row.to,
      )
      const isOutside = row.aboveC >= ceilingC
      if (!isOutside && (judged.length === 0 || judged.some(prediction => isReached(bench, row, prediction)))) continue
      const hottest = Math.max(...judged.map(({ settled }) => settled.dieC ?? Number.NEGATIVE_INFINITY))
      yield {
        at: settingPlace(profile, row.sourced),
        message: isOutside
          ? `Band never acts: the die limit gives ratio back at ${statedText(ceilingC, '°C')}, below this row's ${statedText(row.aboveC, '°C')}. Lower its threshold below the limit, or remove the row.`
          : `Band not reached: no load with these core counts gets to ${statedText(row.aboveC, '°C')}; the hottest settles at ${temperatureText(hottest)}. If the band is meant to act, lower its threshold.`,
        ...(isOwn(profile, row.sourced)
          ? { fixes: [choice(removeFix('Remove this row', row.sourced.definition.chunk, row.sourced.match.statement))] }
          : {}),
      }
    }
  },
}
