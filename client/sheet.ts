/** The entry sheet of a profile: what to enter into the firmware. */

import { env, window } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import {
  type AskedProfile,
  ask,
  chosenPage,
  givenProfile,
  knownProfiles,
  type Paper,
  type Papers,
  type ProfileItem,
  profileItems,
  savePage,
} from './papers.ts'
import { chosenCommit } from './since.ts'

/** Which values are wanted: all, or those that differ from another profile; undefined where the person turns back. */
async function chosenStart(
  client: BaseLanguageClient,
  own: AskedProfile,
): Promise<{ readonly from?: AskedProfile } | undefined> {
  const known = await knownProfiles(client)
  const everything: ProfileItem = { label: 'Every value' }
  const older: ProfileItem = { label: 'What has changed since a git revision …' }
  const others = profileItems(known, own).map(item => ({ ...item, label: `What differs from ${item.label}` }))
  const picked = await window.showQuickPick([everything, ...(known.revisions ? [older] : []), ...others], {
    placeHolder: `Which values of ${own.profile}?`,
    matchOnDescription: true,
  })
  if (picked === undefined) return undefined
  if (picked === older) {
    const revision = await chosenCommit(client, own.uri, `What has changed of ${own.profile} since`)
    return revision === undefined ? undefined : { from: { ...own, revision } }
  }
  return picked.asked === undefined ? {} : { from: picked.asked }
}

function titleOf(own: AskedProfile, from: AskedProfile | undefined): string {
  if (from === undefined) return `Entry sheet ${own.profile}`
  return `Entry sheet ${own.profile} from ${from.profile}${from.revision === undefined ? '' : ` at ${from.revision}`}`
}

/** The sheet that the person chooses; a caller that names the profile gets every value. */
async function chosenSheet(
  client: BaseLanguageClient,
  file: unknown,
  profile: unknown,
): Promise<{ readonly title: string; readonly paper: Paper } | undefined> {
  const own = await givenProfile(file, profile)
  if (own === undefined) return undefined
  const start = typeof profile === 'string' ? {} : await chosenStart(client, own)
  if (start === undefined) return undefined
  const paper = await ask<Paper>(client, 'detent/sheet', { profile: own, ...start })
  return paper && { title: titleOf(own, start.from), paper }
}

/**
 * Shows an entry sheet beside the text.
 * @param file the address of the profile's file; without one, the profile is looked for where the cursor is
 */
export async function showSheet(
  client: BaseLanguageClient,
  papers: Papers,
  file: unknown,
  profile: unknown,
): Promise<void> {
  const made = await chosenSheet(client, file, profile)
  if (made !== undefined) await papers.show(made.title, made.paper)
}

/** Saves an entry sheet as a page to print, and opens it where the system opens such pages. */
export async function saveSheet(client: BaseLanguageClient, file: unknown, profile: unknown): Promise<void> {
  const made = await chosenSheet(client, file, profile)
  if (made?.paper.html === undefined) return
  const target = await chosenPage(made.title, 'Save the entry sheet to print')
  if (target === undefined) return
  await savePage(target, made.paper.html)
  await env.openExternal(target)
}
