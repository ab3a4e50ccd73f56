import { type BandsRow, bandsRows, coveredCounts, missingCounts, partCores } from '../../semantic/profile-values.ts'
import { activeCoresText, coresText } from '../../wording/counts.ts'
import { holderText } from '../support/group-words.ts'
import { isOwn, isOwnMistake, settingPlace } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

/** All rows that end where the gap begins (or begin where it ends) are widened over it together. */
function fixesFor(rows: readonly BandsRow[], gap: { readonly from: number; readonly to: number }): readonly Fix[] {
  const widened = (beside: readonly BandsRow[], which: 'before' | 'after'): Fix[] => {
    if (beside.length === 0) return []
    const edits = beside.map(row => {
      const text = which === 'before' ? coresText(row.from, gap.to) : coresText(gap.from, row.to)
      return { chunk: row.sourced.definition.chunk, ...row.countsSpan, text }
    })
    const neighbour = which === 'before' ? coresText(gap.from - 1) : coresText(gap.to + 1)
    return [{ title: `Let the bands for ${neighbour} hold for ${activeCoresText(gap.from, gap.to)} too`, edits }]
  }
  return [
    ...widened(
      rows.filter(row => row.to === gap.from - 1),
      'before',
    ),
    ...widened(
      rows.filter(row => row.from === gap.to + 1),
      'after',
    ),
  ]
}

export const bandsMissingCores: Check = {
  code: 'bands-missing-cores',
  severity: 'information',
  title: 'Core counts without a band',
  page: {
    what: 'A `bands` table that has no row for some number of active cores. A profile without any band has no such finding.',
    why: 'With that many cores nothing is given back before the die limit, although the table looks as if warming were covered.',
    remedy:
      'Add rows for the missing counts, or widen the ones beside them. If the gap is meant, accept it with `allow`.',
    example: 'bands {\n  1 to 2 cores   above 60 °C  -1x\n}',
    hasGroupExample: true,
  },
  *inGroup(profile) {
    const cores = partCores(profile)
    const table = profile.key('bands')
    const covered = table && coveredCounts(table)
    if (cores === undefined || covered === undefined || covered.length === 0) return
    if (!isOwnMistake(profile, 'bands', 'part')) return
    const rows = bandsRows(profile)
    for (const gap of missingCounts(covered, cores)) {
      const fixes = isOwn(profile, table) ? fixesFor(rows, gap) : []
      yield {
        at: settingPlace(profile, table),
        message: `No band covers ${activeCoresText(gap.from, gap.to)} of ${holderText(profile)}'s ${cores}. With that many nothing is given back before the die limit: add a row, or widen a neighbouring one.`,
        ...(fixes.length > 0 ? { fixes } : {}),
      }
    }
  },
}
