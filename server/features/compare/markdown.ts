/** A comparison as Markdown. */

import { cellText, escaped, list, narrowTables, paragraphs, prose } from '../markdown.ts'
import type { Comparison } from './types.ts'
import {
  caution,
  expectedHead,
  expectedRow,
  noScores,
  predictedHead,
  predictedRow,
  sameText,
  scoreGroups,
  scoreHead,
  scoreRow,
  scoreSentences,
  settingRow,
  shownSettings,
  titleOf,
  undecidedSentences,
  worstText,
} from './words.ts'

/** A person's text in cells. */
function cells(row: readonly string[]): readonly string[] {
  return row.map(cellText)
}

export function compareMarkdown(comparison: Comparison, show: 'all' | 'different' = 'different'): string {
  const { profiles, worst, expectations, notes } = comparison
  const settings = shownSettings(comparison, show)
  const scores = scoreGroups(comparison).map(({ title, rows }) =>
    paragraphs(
      `### ${escaped(title)}`,
      narrowTables(
        scoreHead,
        rows.map(row => cells(scoreRow(row))),
      ),
      list(scoreSentences(rows).map(prose)),
    ),
  )
  return `${paragraphs(
    `# ${escaped(titleOf(comparison))}`,
    `**Caution:** ${caution}`,
    notes.length === 0 ? undefined : list(notes.map(prose)),
    '## Predicted',
    worst.length === 0 ? 'Nothing is predicted.' : worstText(comparison),
    worst.length === 0
      ? undefined
      : narrowTables(
          predictedHead,
          worst.map(row => cells(predictedRow(row))),
        ),
    ...(expectations.length === 0
      ? []
      : [
          '## Expected',
          narrowTables(
            expectedHead(comparison),
            expectations.map(row => cells(expectedRow(row))),
          ),
          list(undecidedSentences(comparison).map(prose)),
        ]),
    '## Measured',
    ...(scores.length === 0 ? [noScores] : scores),
    '## Settings',
    settings.length === 0
      ? undefined
      : narrowTables(
          ['Setting', ...profiles.map(escaped)],
          settings.map(row => cells(settingRow(row))),
        ),
    show === 'all' ? undefined : sameText(comparison),
  )}\n`
}
