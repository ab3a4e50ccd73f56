/** What has changed since a commit: looked up where a person asks, chosen from a list. */

import { ProgressLocation, type QuickPickItem, Uri, window } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { warn } from './messages.ts'
import { ask, type Paper, type Papers } from './papers.ts'

interface Commit {
  readonly name: string
  readonly subject: string
  /** Seconds since 1970. */
  readonly time_s: number
  /** Branches and tags that name it. */
  readonly refs: string
}

interface CommitItem extends QuickPickItem {
  readonly commit?: string
}

/** Asks for what was there at the last commit; the lines above the profiles say what has changed. */
export async function lookUpSince(client: BaseLanguageClient, file: unknown): Promise<void> {
  const uri = typeof file === 'string' ? file : window.activeTextEditor?.document.uri.toString()
  if (uri !== undefined) await ask(client, 'detent/lookUpSince', { uri })
}

const older: CommitItem = { label: 'Older commits …' }

/** A commit of the repository that a file is in, chosen from a list; undefined where the person turns back. */
export async function chosenCommit(
  client: BaseLanguageClient,
  uri: string,
  title: string,
): Promise<string | undefined> {
  for (let known: readonly CommitItem[] = []; ; ) {
    const found = await ask<{ readonly commits: readonly Commit[]; readonly isMore: boolean }>(
      client,
      'detent/commits',
      { uri, skip: known.length },
    )
    if (found === undefined) return undefined
    known = [
      ...known,
      ...found.commits.map(
        ({ name, subject, time_s, refs }): CommitItem => ({
          label: subject === '' ? name.slice(0, 8) : subject,
          description: [name.slice(0, 8), new Date(time_s * 1000).toLocaleDateString(), refs]
            .filter(one => one !== '')
            .join(' · '),
          commit: name,
        }),
      ),
    ]
    if (known.length === 0) {
      warn('There is no commit yet.')
      return undefined
    }
    const picked = await window.showQuickPick([...known, ...(found.isMore ? [older] : [])], {
      title,
      placeHolder: 'Which commit?',
      matchOnDescription: true,
    })
    if (picked !== older) return picked?.commit
  }
}

/**
 * Shows what has changed beside the text.
 * @param file the address of a file; with `profile`, that profile since the last commit; without both, the whole bench
 * since a commit that is chosen
 * @param revision in the place of a choice
 */
export async function compareSince(
  client: BaseLanguageClient,
  papers: Papers,
  file: unknown,
  profile: unknown,
  revision: unknown,
): Promise<void> {
  const editor = window.activeTextEditor
  const active = editor?.document.languageId === 'detent' ? editor.document.uri : undefined
  const uri = typeof file === 'string' ? file : file instanceof Uri ? file.toString() : active?.toString()
  if (uri === undefined) {
    warn('Place the cursor in a Detent file.')
    return
  }
  const one = typeof profile === 'string' ? profile : undefined
  const given = typeof revision === 'string' ? revision : undefined
  const chosen =
    given ?? (one === undefined ? await chosenCommit(client, uri, 'Compare the bench with what it was') : undefined)
  if (chosen === undefined && one === undefined) return
  const asked = {
    uri,
    ...(one === undefined ? {} : { profile: one }),
    ...(chosen === undefined ? {} : { revision: chosen }),
  }
  const progress = { location: ProgressLocation.Notification, title: 'Comparing with a commit', cancellable: true }
  const paper = await window.withProgress(progress, (_, token) => ask<Paper>(client, 'detent/since', asked, token))
  if (paper === undefined) return
  await papers.show(
    `Since ${chosen === undefined ? 'last commit' : chosen.slice(0, 8)}${one === undefined ? '' : ` ${one}`}`,
    paper,
  )
  // What was shown above the profiles may be older than the commit of now.
  if (one !== undefined && chosen === undefined) await lookUpSince(client, uri)
}
