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
  type Sides,
  settingHead,
  settingRows,
  sinceSides,
  titleOf,
  whatIfSides,
} from './words.ts'

function tableOf(head: readonly string[], rows: readonly (readonly string[])[]): string | undefined {
  if (rows.length === 0) return undefined
  return narrowTables(
    head,
    rows.map(row => row.map(cellText)),
  )
}

function profileMarkdown(profile: ChangedProfile, sides: Sides): string {
  const lines = [...expectationLines(profile, sides), ...findingLines(profile)]
  return paragraphs(
    `## ${escaped(profile.profile)}`,
    `${escaped(profile.file)}: ${prose(glanceOf(profile))}`,
    tableOf(settingHead(sides), settingRows(profile)),
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
    ...found.profiles.map(one => profileMarkdown(one, sinceSides)),
  )}\n`
}

/**
 * What statements that are written nowhere would change, as a page beside the text.
 * @param asIf lines that name them
 * @param more what else there is to say
 */
export function whatIfMarkdown(found: Since, asIf: readonly string[], more = ''): string {
  return `${paragraphs(
    `# ${escaped(`What if: ${titleOf(found)}`)}`,
    ...[...asIf, ...notesOf(found)].map(prose),
    `**Caution:** ${caution}`,
    ...found.profiles.map(one => profileMarkdown(one, whatIfSides)),
    more,
  )}\n`
}
