import { sameRatio, stepsRows } from '../../semantic/profile-values.ts'
import { activeCoresText } from '../../wording/counts.ts'
import { statedText } from '../../wording/figures.ts'
import { replaceFix } from '../support/edits.ts'
import { isOwnMistake, settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

export const stepsRising: Check = {
  code: 'steps-rising',
  severity: 'warning',
  title: 'A higher ratio for more active cores',
  page: {
    what: 'A row of `steps` whose ratio is higher than that of a row for fewer active cores.',
    why: 'More cores draw more and get hotter, so a table that rises is nearly always a slip. It runs the part hardest just where most cores work.',
    remedy:
      'Swap the two ratios if they are mixed up, or lower the later one. The quick fix lowers it to the earlier row; it never raises a ratio.',
    example: 'steps {\n  1 to 4 cores   49x\n  5 to 8 cores   57x\n}',
  },
  *inGroup(profile) {
    if (!isOwnMistake(profile, 'steps')) return
    const rows = stepsRows(profile).toSorted((a, b) => a.from - b.from)
    let lowest = rows[0]
    for (const row of rows.slice(1)) {
      if (lowest === undefined) return
      // Rows that share a count contradict each other, which is another finding.
      const rises = row.from > lowest.to && row.ratio > lowest.ratio + sameRatio
      if (rises) {
        const { chunk } = row.sourced.definition
        const text = statedText(lowest.ratio, 'x')
        yield {
          at: settingPlace(profile, row.sourced),
          message: `Ratio rises with cores: ${statedText(row.ratio, 'x')} for ${activeCoresText(row.from, row.to)}, ${text} for ${activeCoresText(lowest.from, lowest.to)}. More cores get hotter, so a rising table is nearly always a slip: lower this one, or swap the two.`,
          ...(row.sourced.definition === profile.definition
            ? { fixes: [replaceFix(`Lower it to ${text}`, { chunk, ...row.ratioSpan }, text)] }
            : {}),
        }
      } else if (row.ratio < lowest.ratio) lowest = row
    }
  },
}
