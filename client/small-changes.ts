/** What small changes of a profile would do, and which constants are worth measuring next. */

import { ProgressLocation, window } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { ask, givenProfile, type Paper, type Papers } from './papers.ts'

/**
 * Shows the table of a profile beside the text.
 * @param file the address of its file; without one, the profile is looked for where the cursor is
 */
export async function showSmallChanges(
  client: BaseLanguageClient,
  papers: Papers,
  file: unknown,
  profile: unknown,
): Promise<void> {
  const own = await givenProfile(file, profile)
  if (own === undefined) return
  const progress = { location: ProgressLocation.Window, title: `Working out small changes of ${own.profile}` }
  const paper = await window.withProgress(progress, () => ask<Paper>(client, 'detent/smallChanges', own))
  if (paper !== undefined) await papers.show(`Small changes ${own.profile}`, paper)
}
