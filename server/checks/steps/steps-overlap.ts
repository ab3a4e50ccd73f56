import { type StepsRow, stepsRows } from '../../semantic/profile-values.ts'
import { activeCoresText, coresText } from '../../wording/counts.ts'
import { statedText } from '../../wording/figures.ts'
import { removeFix, replaceFix } from '../support/edits.ts'
import { headPlace, isOwnMistake, settingPlace } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

/** Takes the counts that earlier rows cover away from the later row; what it says then is what already counts. */
function fixesFor(row: StepsRow, earlier: readonly StepsRow[]): readonly Fix[] {
  const { chunk } = row.sourced.definition
  const free: number[] = []
  for (let count = row.from; count <= row.to; count++) {
    if (!earlier.some(other => count >= other.from && count <= other.to)) free.push(count)
  }
  const from = free[0]
  const to = free.at(-1)
  if (from === undefined || to === undefined) return [removeFix('Remove this row', chunk, row.sourced.match.statement)]
  // Counts on both sides of an earlier row would need two rows.
  if (to - from + 1 !== free.length) return []
  const text = coresText(from, to)
  return [replaceFix(`Let this row hold for ${text}`, { chunk, ...row.countsSpan }, text)]
}

export const stepsOverlap: Check = {
  code: 'steps-overlap',
  severity: 'error',
  title: 'Core counts with two ratios',
  page: {
    what: 'A row of `steps` for a number of active cores that a row above it already covers.',
    why: 'The row above counts here; your firmware may take the other. A board that takes the faster one runs the part harder than was predicted.',
    remedy: 'Let each count stand in one row. The quick fix leaves the counts to the row above.',
    example: 'steps {\n  1 to 4 cores   57x\n  4 to 8 cores   49x\n}',
  },
  *inGroup(profile) {
    if (!isOwnMistake(profile, 'steps')) return
    const rows = stepsRows(profile)
    for (const [index, row] of rows.entries()) {
      const earlier = rows.slice(0, index)
      const first = earlier.find(other => other.from <= row.to && row.from <= other.to)
      if (first === undefined) continue
      const shared = activeCoresText(Math.max(first.from, row.from), Math.min(first.to, row.to))
      const fixes = fixesFor(row, earlier)
      yield {
        at: settingPlace(profile, row.sourced),
        message: `Two ratios for ${shared}: ${statedText(first.ratio, 'x')} in a row above, ${statedText(row.ratio, 'x')} in this one. The row above counts here, your firmware may take the other: let each count stand in one row.`,
        related: [{ at: headPlace(first.sourced.definition, first.sourced.match), message: 'The row above' }],
        ...(fixes.length > 0 ? { fixes } : {}),
      }
    }
  },
}
