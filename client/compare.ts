/** Profiles side by side. */

import { window } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import {
  type AskedProfile,
  ask,
  givenProfile,
  knownProfiles,
  type Paper,
  type Papers,
  type ProfileItem,
  profileItems,
} from './papers.ts'
import { chosenCommit } from './since.ts'

/** What the profile is compared with; undefined where the person turns back. */
async function chosenOthers(
  client: BaseLanguageClient,
  own: AskedProfile,
): Promise<readonly AskedProfile[] | undefined> {
  const known = await knownProfiles(client)
  const older: ProfileItem = { label: `${own.profile} as it was at a git revision …` }
  const picked = await window.showQuickPick([...(known.revisions ? [older] : []), ...profileItems(known, own)], {
    canPickMany: true,
    placeHolder: `Compare ${own.profile} with`,
    matchOnDescription: true,
  })
  if (picked === undefined || picked.length === 0) return undefined
  const others = picked.flatMap(({ asked }) => asked ?? [])
  if (!picked.includes(older)) return others
  const revision = await chosenCommit(client, own.uri, `${own.profile} as it was`)
  return revision === undefined ? undefined : [{ ...own, revision }, ...others]
}

/** What a command may be given instead of being chosen. */
function askedProfiles(given: unknown): readonly AskedProfile[] | undefined {
  return Array.isArray(given) && given.length > 1 ? (given as readonly AskedProfile[]) : undefined
}

/**
 * Shows profiles side by side; the first is what the others are compared with.
 * @param given the profiles; without them, the one at the cursor is the first and the others are chosen
 */
export async function compareProfiles(client: BaseLanguageClient, papers: Papers, given: unknown): Promise<void> {
  let profiles = askedProfiles(given)
  if (profiles === undefined) {
    const own = await givenProfile(undefined, undefined)
    const others = own && (await chosenOthers(client, own))
    if (own === undefined || others === undefined) return
    profiles = [own, ...others]
  }
  const paper = await ask<Paper>(client, 'detent/compare', { profiles })
  if (paper === undefined) return
  await papers.show(`Compare ${profiles.map(({ profile }) => profile).join(', ')}`, paper)
}
