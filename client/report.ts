/** The report of a bench: shown as a paper, and saved as a page with charts. */

import { env, ProgressLocation, type QuickPickItem, Uri, window, workspace } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { ask, chosenPage, knownProfiles, type Paper, type Papers, savePage } from './papers.ts'

/** What a caller names instead of being asked. */
export interface GivenReport {
  /** Names of profiles; none for all. */
  readonly profiles?: unknown
  readonly baseline?: unknown
  /** The address of the page. */
  readonly target?: unknown
}

interface ChosenReport {
  readonly profiles: readonly string[]
  readonly baseline?: string
}

/** The profiles of the report and what they are compared with; undefined where the person turns back. */
async function chosenReport(client: BaseLanguageClient): Promise<ChosenReport | undefined> {
  const { profiles: known } = await knownProfiles(client)
  const items = known.map(({ uri, profile }): QuickPickItem => {
    return { label: profile, description: workspace.asRelativePath(Uri.parse(uri)), picked: true }
  })
  if (items.length < 2) return { profiles: [] }
  const picked = await window.showQuickPick(items, { canPickMany: true, placeHolder: 'Report on which profiles?' })
  if (picked === undefined || picked.length === 0) return undefined
  const profiles = picked.map(({ label }) => label)
  const all = { profiles: profiles.length === items.length ? [] : profiles }
  if (picked.length < 2) return all
  const none: QuickPickItem = { label: 'No comparison' }
  const beside = await window.showQuickPick([none, ...picked.map(({ label }) => ({ label }))], {
    placeHolder: 'Which profile is the baseline?',
  })
  if (beside === undefined) return undefined
  return beside === none ? all : { ...all, baseline: beside.label }
}

/** Shows the report of the bench beside the text, and saves it where the person says. */
export async function benchReport(
  client: BaseLanguageClient,
  papers: Papers,
  { profiles, baseline, target }: GivenReport,
): Promise<void> {
  const chosen = Array.isArray(profiles) ? { profiles, baseline } : await chosenReport(client)
  if (chosen === undefined) return
  const progress = { location: ProgressLocation.Notification, title: 'Writing the bench report', cancellable: true }
  const made = await window.withProgress(progress, (_, token) => ask<Paper>(client, 'detent/report', chosen, token))
  if (made?.html === undefined) return
  await papers.show('Bench report', made)
  const page =
    typeof target === 'string' ? Uri.parse(target, true) : await chosenPage('report', 'Save the bench report')
  if (page === undefined) return
  await savePage(page, made.html)
  if (target === undefined) await env.openExternal(page)
}
