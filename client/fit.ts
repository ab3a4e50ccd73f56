/** A part's constants fitted to its runs: shown first, written into the files if the person wants them. */

import { ProgressLocation, type QuickPickItem, Uri, window, workspace } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { keepEdit, type MadeEdit } from './edits.ts'
import { withoutLinks } from './messages.ts'
import { ask, type Paper, type Papers } from './papers.ts'

interface KnownPart {
  readonly uri: string
  readonly part: string
  readonly runs: number
}

interface Fit extends Paper {
  readonly told: string
  readonly edit?: MadeEdit
}

interface PartItem extends QuickPickItem {
  readonly known: KnownPart
}

/** The part on whose name the cursor is, the only one that has runs, or the one that is chosen. */
async function chosenPart(client: BaseLanguageClient): Promise<KnownPart | undefined> {
  const all = await client.sendRequest<readonly KnownPart[]>('detent/parts', {})
  const editor = window.activeTextEditor
  const range = editor?.document.getWordRangeAtPosition(editor.selection.active, /[a-z][a-z0-9-]*/)
  const word = range && editor?.document.getText(range)
  const fittable = all.filter(({ runs }) => runs > 0)
  const atCursor = fittable.filter(({ part }) => part === word)
  if (atCursor.length === 1) return atCursor[0]
  if (fittable.length === 0) {
    void window.showInformationMessage('No part has a run with a log or measured figures.')
    return undefined
  }
  if (fittable.length === 1) return fittable[0]
  const items = fittable.map((known): PartItem => {
    const file = workspace.asRelativePath(Uri.parse(known.uri))
    return { label: known.part, description: `${known.runs} run${known.runs === 1 ? '' : 's'}`, detail: file, known }
  })
  return (await window.showQuickPick(items, { placeHolder: 'Fit which part to its runs?' }))?.known
}

const write = 'Write into the File'

/**
 * Shows the fit of a part beside the text.
 * @param file the address of the part's file; without it and the name, the part is looked for at the cursor
 */
export async function fitPart(client: BaseLanguageClient, papers: Papers, file: unknown, part: unknown): Promise<void> {
  const given = typeof file === 'string' && typeof part === 'string' ? { uri: file, part } : await chosenPart(client)
  if (given === undefined) return
  const { uri, part: name } = given
  const progress = { location: ProgressLocation.Window, title: `Fitting ${name} to its runs` }
  const fit = await window.withProgress(progress, () => ask<Fit>(client, 'detent/fit', { uri, part: name }))
  if (fit === undefined) return
  // The texts that the fit is of are noted before the person has time to change them.
  const kept = fit.edit && (await keepEdit(client, fit.edit))
  await papers.show(`Fit ${name}`, fit)
  if (kept === undefined) return
  void window.showInformationMessage(withoutLinks(`${name}: ${fit.told}.`), write).then(async answer => {
    if (answer === write && (await kept.apply())) {
      void window.setStatusBarMessage(`The constants of ${name} are written, but not saved yet.`, 10_000)
    }
  })
}
