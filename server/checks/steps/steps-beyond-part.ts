import { type GroupView, groupView, isForEvery } from '../../semantic/group-view.ts'
import { partNames } from '../../semantic/part-names.ts'
import { bandsRows, type CountsRow, partCores, stepsRows } from '../../semantic/profile-values.ts'
import { coresText } from '../../wording/counts.ts'
import { removeFix, replaceFix } from '../support/edits.ts'
import { holderText } from '../support/group-words.ts'
import { isOwn, isOwnMistake, settingPlace } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

function fixFor(row: CountsRow, cores: number): Fix {
  const { definition, match } = row.sourced
  const { chunk } = definition
  if (row.from > cores) return removeFix('Remove this row', chunk, match.statement)
  const text = coresText(row.from, cores)
  return replaceFix(`Let this row hold for ${text}`, { chunk, ...row.countsSpan }, text)
}

/** How many cores a table has to serve: one that stands for every group serves the largest of those that take it. */
function coresServed(profile: GroupView, word: string): number | undefined {
  const table = profile.key(word)
  if (!isForEvery(profile, table)) return partCores(profile)
  const takers = partNames(profile.part).groups.filter(name => profile.key(word, name)?.match === table?.match)
  const counts = takers.flatMap(name => partCores(groupView(profile, name)) ?? [])
  return counts.length === 0 ? undefined : Math.max(...counts)
}

export const stepsBeyondPart: Check = {
  code: 'steps-beyond-part',
  severity: 'warning',
  title: 'Rows for cores that the part does not have',
  page: {
    what: 'A row of `steps` or `bands` for more active cores than the part has.',
    why: 'Most often the table was copied from another part, and then so were its ratios.',
    remedy:
      'Check that the profile names the right part, then let the row end at its last core, as the quick fix does.',
    example: 'part small { cores 8 }\n\nprofile daily {\n  part small\n  steps { 1 to 12 cores 50x }\n}',
  },
  *inGroup(profile) {
    const tables = [
      { word: 'steps', rows: stepsRows(profile) },
      { word: 'bands', rows: bandsRows(profile) },
    ]
    for (const { word, rows } of tables) {
      if (!isOwnMistake(profile, word, 'part')) continue
      const cores = coresServed(profile, word)
      if (cores === undefined) continue
      for (const row of rows) {
        if (row.to <= cores) continue
        yield {
          at: settingPlace(profile, row.sourced),
          message: `Too few cores: this row of \`${word}\` goes up to ${row.to}, ${holderText(profile)} has ${cores}. A table made for another part has its ratios too: check that, then let the row end at the last core.`,
          ...(isOwn(profile, row.sourced) ? { fixes: [fixFor(row, cores)] } : {}),
        }
      }
    }
  },
}
