/** What small changes would do to a profile, as a page beside the text. */

import { whereText } from '../../wording/places.ts'
import { cellText, escaped, narrowTables, paragraphs, prose } from '../markdown.ts'
import type { PerLoad } from './per.ts'
import { heads, nextText, nowText, rows, type Shares, stillText, what } from './words.ts'

function loadMarkdown({ prediction, effects }: PerLoad): string {
  const found = rows(effects)
  const still = stillText(effects)
  return paragraphs(
    `## ${escaped(whereText(prediction))}`,
    `Now: ${prose(nowText(prediction))}.`,
    found.length === 0
      ? undefined
      : narrowTables(
          heads,
          found.map(row => row.map(cell => cellText(cell.trim()))),
        ),
    still && prose(still),
  )
}

/** @param profile its name */
export function perMarkdown(profile: string, loads: readonly PerLoad[], shares: Shares): string {
  return `${paragraphs(
    `# ${escaped(`Small changes of ${profile}`)}`,
    `**${prose(nextText(shares))}**`,
    ...loads.map(loadMarkdown),
    prose(what),
  )}\n`
}
