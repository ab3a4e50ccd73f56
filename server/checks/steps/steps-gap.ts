import { coveredCounts, missingCounts, partCores, type StepsRow, stepsRows } from '../../semantic/profile-values.ts'
import { activeCoresText, coresText } from '../../wording/counts.ts'
import { statedText } from '../../wording/figures.ts'
import { choice, replaceFix } from '../support/edits.ts'
import { holderText } from '../support/group-words.ts'
import { isOwn, isOwnMistake, settingPlace } from '../support/place.ts'
import type { Check, Fix, Place } from '../types.ts'

interface Gap {
  readonly from: number
  readonly to: number
}

function widen(row: StepsRow, from: number, to: number): Fix {
  const { chunk } = row.sourced.definition
  const at: Place = { chunk, start: row.countsSpan.start, end: row.countsSpan.end }
  const text = coresText(from, to)
  return replaceFix(`Let ${statedText(row.ratio, 'x')} hold for ${text}`, at, text)
}

/** The rows that border on a gap, the one with the lower ratio first: it is the cautious way to fill it. */
function fixesFor(rows: readonly StepsRow[], gap: Gap): readonly Fix[] {
  const before = rows.find(row => row.to === gap.from - 1)
  const after = rows.find(row => row.from === gap.to + 1)
  const ways = [
    ...(before === undefined ? [] : [{ ratio: before.ratio, fix: widen(before, before.from, gap.to) }]),
    ...(after === undefined ? [] : [{ ratio: after.ratio, fix: widen(after, gap.from, after.to) }]),
  ].sort((a, b) => a.ratio - b.ratio)
  return ways.map(({ fix }, index) => (index === 0 ? fix : choice(fix)))
}

export const stepsGap: Check = {
  code: 'steps-gap',
  severity: 'error',
  title: 'Core counts without a ratio',
  page: {
    what: 'Every number of active cores from one to all that the part has needs a row in `steps`. Nothing is said while a row of the table does not read.',
    why: 'Firmware fills a gap with a value of its own, and the evening is spent on a table that was never the one you meant. Nothing can be predicted for the counts in the gap.',
    remedy:
      'Add a row, or widen one beside the gap. The quick fix offers both neighbours, the one with the lower ratio first.',
    example: 'steps {\n  1 to 2 cores   57x\n  5 to 8 cores   49x\n}',
    hasGroupExample: true,
  },
  *inGroup(profile) {
    const cores = partCores(profile)
    const table = profile.key('steps')
    const covered = table && coveredCounts(table)
    if (cores === undefined || covered === undefined || covered.length === 0) return
    if (!isOwnMistake(profile, 'steps', 'part')) return
    const rows = stepsRows(profile)
    for (const gap of missingCounts(covered, cores)) {
      const beside = rows.find(row => row.to === gap.from - 1) ?? rows.find(row => row.from === gap.to + 1)
      const fixes = isOwn(profile, table) ? fixesFor(rows, gap) : []
      yield {
        at: settingPlace(profile, beside?.sourced ?? table),
        message: `No ratio for ${activeCoresText(gap.from, gap.to)} of ${holderText(profile)}'s ${cores}. The firmware would put a value of its own there, and nothing can be predicted for it: add a row, or widen one beside the gap.`,
        ...(fixes.length > 0 ? { fixes } : {}),
      }
    }
  },
}
