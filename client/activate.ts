/**
 * What the extension does in every host, with Node or without.
 *
 * Deliberately absent: key bindings, telemetry, views of its own in the side bar, and anything that writes a setting.
 */

import { commands, type ExtensionContext, Range, Uri, window, workspace } from 'vscode'
import { restoreBeside, showBeside } from './beside.ts'
import { compareProfiles } from './compare.ts'
import { addNextTrial, showEvidence } from './evidence.ts'
import { showExpectations } from './expectations.ts'
import { fitPart } from './fit.ts'
import { takeIndents } from './indent.ts'
import { explainCheck, pagesScheme, readPages, servePages, showFirstSteps } from './pages.ts'
import { createPapers, papersScheme } from './papers.ts'
import { benchReport } from './report.ts'
import { showResolved } from './resolved.ts'
import { followTrust, lookUpRevisions } from './revisions.ts'
import { addRun } from './runs.ts'
import { createServer, type MakeClient, type Server } from './server.ts'
import { saveSheet, showSheet } from './sheet.ts'
import { compareSince, lookUpSince } from './since.ts'
import { showSmallChanges } from './small-changes.ts'
import { createStatus } from './status.ts'
import { createTests } from './tests.ts'
import { createWhatIf } from './what-if.ts'
import { showWorkings } from './workings.ts'

/** Opens the example as a new file, so that it can be changed freely. */
async function openExample(extension: Uri): Promise<void> {
  const bytes = await workspace.fs.readFile(Uri.joinPath(extension, 'grammar', 'examples', 'first.detent'))
  const content = new TextDecoder().decode(bytes)
  await window.showTextDocument(await workspace.openTextDocument({ language: 'detent', content }))
}

/** Opens a new file that begins as every file of the language does. */
async function newFile(): Promise<void> {
  const document = await workspace.openTextDocument({ language: 'detent', content: 'detent 1\n\n' })
  const end = document.lineAt(document.lineCount - 1).range.end
  await window.showTextDocument(document, { selection: new Range(end, end) })
}

let server: Server | undefined

/** @param makeClient how this host starts the language server and speaks with it */
export async function activateWith(context: ExtensionContext, makeClient: MakeClient): Promise<void> {
  const { extensionUri, subscriptions } = context
  takeIndents()
  // Menus of files that may belong to a bench are shown where there is one.
  void commands.executeCommand('setContext', 'detent.isActive', true)
  const status = createStatus()
  const pages = await readPages(Uri.joinPath(extensionUri, 'grammar', 'reference', 'checks.md'))
  const made = createServer(makeClient, pages, state => status.show(state))
  const papers = createPapers()
  const whatIf = createWhatIf(made.client, papers)
  server = made
  subscriptions.push(
    status,
    workspace.registerTextDocumentContentProvider(papersScheme, papers),
    workspace.registerTextDocumentContentProvider(pagesScheme, servePages(pages)),
    createTests(made.client),
    commands.registerCommand('detent.showResolvedProfile', (file?: unknown, profile?: unknown) =>
      showResolved(file, profile),
    ),
    commands.registerCommand('detent.showEntrySheet', (file?: unknown, profile?: unknown) =>
      showSheet(made.client, papers, file, profile),
    ),
    commands.registerCommand('detent.showWorkings', (file?: unknown, position?: unknown) =>
      showWorkings(made.client, papers, file, position),
    ),
    commands.registerCommand('detent.saveEntrySheet', (file?: unknown, profile?: unknown) =>
      saveSheet(made.client, file, profile),
    ),
    commands.registerCommand('detent.compareProfiles', (profiles?: unknown) =>
      compareProfiles(made.client, papers, profiles),
    ),
    commands.registerCommand('detent.addRun', (file?: unknown, log?: unknown, profile?: unknown, load?: unknown) =>
      addRun(made.client, { file, log, profile, load }),
    ),
    commands.registerCommand('detent.fitPart', (file?: unknown, part?: unknown) =>
      fitPart(made.client, papers, file, part),
    ),
    commands.registerCommand('detent.showEvidence', (file?: unknown, part?: unknown) =>
      showEvidence(made.client, papers, file, part),
    ),
    commands.registerCommand('detent.addNextTrial', (file?: unknown, profile?: unknown) =>
      addNextTrial(made.client, file, profile),
    ),
    whatIf,
    commands.registerCommand('detent.whatIf', (file?: unknown, profile?: unknown) => whatIf.open(file, profile)),
    commands.registerCommand('detent.closeWhatIf', () => whatIf.close()),
    commands.registerCommand('detent.showWhatIf', () => whatIf.showAll()),
    commands.registerCommand('detent.lookUpSince', (file?: unknown) => lookUpSince(made.client, file)),
    commands.registerCommand('detent.compareSince', (file?: unknown, profile?: unknown, revision?: unknown) =>
      compareSince(made.client, papers, file, profile, revision),
    ),
    commands.registerCommand('detent.showSmallChanges', (file?: unknown, profile?: unknown) =>
      showSmallChanges(made.client, papers, file, profile),
    ),
    commands.registerCommand('detent.benchReport', (profiles?: unknown, baseline?: unknown, target?: unknown) =>
      benchReport(made.client, papers, { profiles, baseline, target }),
    ),
    followTrust(made.client),
    commands.registerCommand('detent.lookUpRevisions', (file?: unknown) => lookUpRevisions(made.client, file)),
    commands.registerCommand('detent.showBeside', (file?: unknown, position?: unknown) =>
      showBeside(made.client, extensionUri, whatIf, file, position),
    ),
    restoreBeside(made.client, context, whatIf),
    commands.registerCommand('detent.restartServer', () => made.restart()),
    commands.registerCommand('detent.showOutput', () => made.client.outputChannel.show(true)),
    commands.registerCommand('detent.explainCheck', (code?: unknown) =>
      explainCheck(pages, typeof code === 'string' ? code : undefined),
    ),
    commands.registerCommand('detent.openExample', () => openExample(extensionUri)),
    commands.registerCommand('detent.newFile', () => newFile()),
    commands.registerCommand('detent.showExpectations', (file?: unknown, profile?: unknown) =>
      showExpectations(made.client, file, profile),
    ),
    commands.registerCommand('detent.showFirstSteps', () => showFirstSteps(extensionUri)),
  )
  await made.start()
}

/** Called by the editor when it closes or the extension is turned off. */
export async function deactivate(): Promise<void> {
  await server?.stop()
  server = undefined
}
