/** A run written from its log. */

import { type Position, Range, TextEditorRevealType, Uri, window, workspace } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { keepEdit, type MadeEdit } from './edits.ts'
import { inform, warn } from './messages.ts'
import { ask } from './papers.ts'

interface Choices {
  readonly profiles: readonly string[]
  readonly loads: readonly string[]
}

interface ToldRun {
  readonly edit: MadeEdit
  readonly range: { readonly start: Position; readonly end: Position }
  readonly told: string
  readonly doubtful: boolean
}

async function chosenLog(file: Uri): Promise<string | undefined> {
  const picked = await window.showOpenDialog({
    title: 'The log of the run',
    openLabel: 'Take this log',
    filters: { Logs: ['csv', 'tsv', 'txt', 'log', 'dat'], 'All files': ['*'] },
    ...(file.scheme === 'untitled' ? {} : { defaultUri: Uri.joinPath(file, '..') }),
  })
  return picked?.[0]?.toString()
}

/** What the caller names of a run; what it does not is asked for. */
export interface GivenRun {
  readonly file?: unknown
  readonly log?: unknown
  readonly profile?: unknown
  readonly load?: unknown
}

/** The one there is, or the one that is chosen. */
async function chosen(given: unknown, known: readonly string[], title: string): Promise<string | undefined> {
  if (typeof given === 'string') return given
  return known.length === 1 ? known[0] : window.showQuickPick(known, { placeHolder: title })
}

const isOurs = ({ path }: Uri): boolean => path.endsWith('.detent')

/** The file that the caller names, the one in which the person works, or one of the folder. */
async function chosenFile(given: unknown): Promise<Uri | undefined> {
  if (typeof given === 'string') return Uri.parse(given, true)
  if (given instanceof Uri) return given
  const document = window.activeTextEditor?.document
  if (document?.languageId === 'detent') return document.uri
  const found = await workspace.findFiles('**/*.detent', '**/node_modules/**')
  const items = found.map(uri => ({ label: workspace.asRelativePath(uri), uri }))
  if (items.length === 1) return items[0]?.uri
  if (items.length > 1) return (await window.showQuickPick(items, { placeHolder: 'Into which file?' }))?.uri
  void window.showInformationMessage('Open the file that the run belongs in first.')
  return undefined
}

/** Adds a run to a file from its log, and shows it. Nothing is saved. */
export async function addRun(client: BaseLanguageClient, given: GivenRun): Promise<void> {
  // From the menu of a log in the explorer, the log is what is given first.
  const isLog = given.file instanceof Uri && !isOurs(given.file)
  const file = await chosenFile(isLog ? undefined : given.file)
  if (file === undefined) return
  const editor = window.activeTextEditor
  const position = editor?.document.uri.toString() === file.toString() ? editor.selection.active : undefined
  const uri = file.toString()
  // The document is open from here on, so that the edit is for a version of it.
  const document = await workspace.openTextDocument(file)
  const known = await ask<Choices>(client, 'detent/runChoices', {
    uri,
    ...(position === undefined ? {} : { position }),
  })
  if (known === undefined) return
  if (known.profiles.length === 0 && given.profile === undefined) {
    void window.showWarningMessage('This file has no profile to run: write one, or a use line for a file that has one.')
    return
  }
  const log = isLog ? given.file : given.log
  const address = typeof log === 'string' ? log : log instanceof Uri ? log.toString() : await chosenLog(file)
  if (address === undefined) return
  const profile = await chosen(given.profile, known.profiles, 'Which profile was run?')
  const load = profile && (await chosen(given.load, known.loads, `Which load was ${profile} run under?`))
  if (profile === undefined || load === undefined) return
  const made = await ask<ToldRun>(client, 'detent/runFromLog', { uri, log: address, profile, load })
  if (made === undefined || !(await (await keepEdit(client, made.edit)).apply())) return
  const { start, end } = made.range
  const selection = new Range(start.line, start.character, end.line, end.character)
  const shown = await window.showTextDocument(document, { selection })
  shown.revealRange(selection, TextEditorRevealType.InCenterIfOutsideViewport)
  if (made.doubtful) warn(made.told)
  else inform(made.told)
}
