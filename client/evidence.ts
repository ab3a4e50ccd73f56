/** What trials show of a part's voltages, and what to try next. */

import { type QuickPickItem, QuickPickItemKind, Range, TextEditorRevealType, Uri, window, workspace } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { keepEdit, type MadeEdit } from './edits.ts'
import { ask, givenProfile, type Paper, type Papers } from './papers.ts'
import { chosenPart, type Wanted } from './parts.ts'

interface Trial {
  readonly title: string
  readonly detail: string
  readonly careful: boolean
  readonly edit: MadeEdit
  readonly range: { readonly start: Place; readonly end: Place }
}

interface Place {
  readonly line: number
  readonly character: number
}

interface TrialItem extends QuickPickItem {
  readonly trial?: Trial
}

const wanted: Wanted = {
  isMeant: () => true,
  none: 'There is no part in these files.',
  which: 'Show which part’s voltages?',
  describe: ({ runs }) => `${runs} run${runs === 1 ? '' : 's'} with measured figures`,
}

/**
 * Shows the ledger of a part, and what to try next, beside the text.
 * @param file the address of the part's file; without it and the name, the part is looked for at the cursor
 */
export async function showEvidence(
  client: BaseLanguageClient,
  papers: Papers,
  file: unknown,
  part: unknown,
): Promise<void> {
  const given =
    typeof file === 'string' && typeof part === 'string' ? { uri: file, part } : await chosenPart(client, wanted)
  if (given === undefined) return
  const paper = await ask<Paper>(client, 'detent/evidence', { uri: given.uri, part: given.part })
  if (paper !== undefined) await papers.show(`Voltages ${given.part}`, paper)
}

/** Puts a proposed trial into the profile's file as a run to fill in, and shows it. Nothing is saved. */
export async function addNextTrial(client: BaseLanguageClient, file: unknown, profile: unknown): Promise<void> {
  const own = await givenProfile(file, profile)
  if (own === undefined) return
  // The document is open from here on, so that the edits are for a version of it.
  const document = await workspace.openTextDocument(Uri.parse(own.uri, true))
  const found = await ask<{ readonly known: string; readonly trials: readonly Trial[] }>(
    client,
    'detent/nextTrials',
    own,
  )
  if (found === undefined) return
  const itemsOf = (careful: boolean, title: string): readonly TrialItem[] => {
    const items = found.trials
      .filter(trial => trial.careful === careful)
      .map((trial): TrialItem => ({ label: trial.title, detail: trial.detail, trial }))
    return items.length === 0 ? [] : [{ label: title, kind: QuickPickItemKind.Separator }, ...items]
  }
  const picked = await window.showQuickPick(
    [...itemsOf(false, 'more than 30 % likely to stop'), ...itemsOf(true, 'at most 30 % likely to stop')],
    { title: `Next trial for ${own.profile}`, placeHolder: found.known, matchOnDetail: true },
  )
  if (picked?.trial === undefined || !(await (await keepEdit(client, picked.trial.edit)).apply())) return
  const { start, end } = picked.trial.range
  const selection = new Range(start.line, start.character, end.line, end.character)
  const shown = await window.showTextDocument(document, { selection })
  shown.revealRange(selection, TextEditorRevealType.InCenterIfOutsideViewport)
}
