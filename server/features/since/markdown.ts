/** What changed since a revision as Markdown, to be pasted into a review. */

import { cellText, escaped, list, narrowTables, paragraphs, prose } from '../markdown.ts'
import type { ChangedProfile, Since } from './types.ts'
import {
  caution,
  expectationLines,
  findingLines,
  glanceOf,
  notesOf,
  predictedHead,
  predictedRow,
  settingHead,
  settingRows,
  titleOf,
} from './words.ts'

function tableOf(head: readonly string[], rows: readonly (readonly string[])[]): string | undefined {
  if (rows.length === 0) return undefined
  return narrowTables(
    head,
    rows.map(row => row.map(cellText)),
  )
}

function profileMarkdown(profile: ChangedProfile): string {
  const lines = [...expectationLines(profile), ...findingLines(profile)]
  return paragraphs(
    `## ${escaped(profile.profile)}`,
    `${escaped(profile.file)}: ${prose(glanceOf(profile))}`,
    tableOf(settingHead, settingRows(profile)),
    tableOf(predictedHead, profile.predicted.map(predictedRow)),
    lines.length === 0 ? undefined : list(lines.map(prose)),
  )
}

/**
 * @param since what the older side is called
 * @param asIf what overlays both sides
 */
export function sinceMarkdown(found: Since, since: string, asIf: readonly string[] = []): string {
  return `${paragraphs(
    `# ${escaped(`Since ${since}: ${titleOf(found)}`)}`,
    `**Caution:** ${caution}`,
    ...[...asIf, ...notesOf(found)].map(prose),
    ...found.profiles.map(profileMarkdown),
  )}\n`
}
