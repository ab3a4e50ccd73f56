/** A part's constants fitted to its runs: shown first, written into the files if the person wants them. */

import { ProgressLocation, window } from 'vscode'
import { type BaseLanguageClient, WorkDoneProgress } from 'vscode-languageclient'
import { keepEdit, type MadeEdit } from './edits.ts'
import { withoutLinks } from './messages.ts'
import { ask, type Paper, type Papers } from './papers.ts'
import { chosenPart, type Wanted } from './parts.ts'

interface Fit extends Paper {
  readonly told: string
  readonly edit?: MadeEdit
}

const wanted: Wanted = {
  isMeant: ({ runs }) => runs > 0,
  none: 'No part has a run with a log or measured figures.',
  which: 'Fit which part to its runs?',
  describe: ({ runs }) => `${runs} run${runs === 1 ? '' : 's'}`,
}

const write = 'Write into the File'

/** Tells the reports of one fit from those of another. */
let asked = 0

/**
 * Shows the fit of a part beside the text.
 * @param file the address of the part's file; without it and the name, the part is looked for at the cursor
 */
export async function fitPart(client: BaseLanguageClient, papers: Papers, file: unknown, part: unknown): Promise<void> {
  const given =
    typeof file === 'string' && typeof part === 'string' ? { uri: file, part } : await chosenPart(client, wanted)
  if (given === undefined) return
  const { uri, part: name } = given
  const progress = {
    location: ProgressLocation.Notification,
    title: `Fitting ${name} to its runs`,
    cancellable: true,
  }
  const fit = await window.withProgress(progress, async (shown, token) => {
    const workDoneToken = `fit-${++asked}`
    const listening = client.onProgress(WorkDoneProgress.type, workDoneToken, ({ message }) => {
      if (message !== undefined) shown.report({ message })
    })
    try {
      return await ask<Fit>(client, 'detent/fit', { uri, part: name, workDoneToken }, token)
    } finally {
      listening.dispose()
    }
  })
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
