/** What the client can do. */

import type { ClientCapabilities, InitializeParams } from 'vscode-languageserver'
import { MarkupKind } from 'vscode-languageserver'

/** What the client can do, read once from its capabilities. An old client can little; nothing is taken for granted. */
export interface Client {
  readonly capabilities: ClientCapabilities
  readonly pullsDiagnostics: boolean
  readonly refreshesDiagnostics: boolean
  readonly showsRelated: boolean
  readonly showsTags: boolean
  readonly showsCodePages: boolean
  readonly takesVersion: boolean
  readonly hoverKind: MarkupKind
  readonly completionKind: MarkupKind
  readonly takesSnippets: boolean
  readonly resolvesCompletion: boolean
  readonly takesCodeActions: boolean
  readonly resolvesCodeActions: boolean
  readonly takesDocumentChanges: boolean
  /** It shows the edits that ask for it before they count. */
  readonly confirmsEdits: boolean
  /** An edit may make a file. */
  readonly makesFiles: boolean
  readonly nestsSymbols: boolean
  readonly foldLimit: number
  readonly asksConfiguration: boolean
  readonly registersConfiguration: boolean
  readonly registersWatchers: boolean
  /** Watchers may be for a folder, rather than for all that the client has open. */
  readonly takesRelativePatterns: boolean
  readonly tellsFolders: boolean
  readonly takesDefinitionLinks: boolean
  readonly preparesRename: boolean
  readonly takesSemanticTokens: boolean
  /** It can be sent what changed of them since. */
  readonly takesTokenDeltas: boolean
  readonly takesInlayHints: boolean
  /** What stands behind a figure is asked for once a person rests on it. */
  readonly resolvesInlayHints: boolean
  readonly takesCodeLenses: boolean
  readonly refreshesInlayHints: boolean
  readonly refreshesCodeLenses: boolean
  readonly asksBeforeRenames: boolean
  readonly takesTextContent: boolean
  /** It shows how far work is that nobody asked for. */
  readonly showsProgress: boolean
  /** Our own client: it shows expectations as tests. */
  readonly showsExpectations: boolean
  /** Our own client: it opens a profile with all that it starts from. */
  readonly showsResolved: boolean
  /** Our own client: it shows what the server writes as papers. */
  readonly showsPapers: boolean
  /** Our own client: it opens what a hover rests on beside the text, so that the hover can be short. */
  readonly showsWorkings: boolean
  /** A client whose hovers show pictures that come with the text. */
  readonly showsPictures: boolean
  /** Our own client: it has a command that looks up the revisions of runs. */
  readonly looksUpRevisions: boolean
  /** Whether the person trusts the workspace. A client that does not say anything of trust has no such notion. */
  readonly isTrusted: boolean
  /** Our own client: it reads files of other schemes for the server. */
  readonly readsFiles: boolean
  /** Our own client: it opens no document that is only looked at, as the older side of a comparison is. */
  readonly leavesOutComparisons: boolean
  /** Our own client: it shows in its status item that something went wrong. */
  readonly showsTrouble: boolean
  /** Our own client: it shows in its status item that findings wait while a line is typed. */
  readonly showsWaiting: boolean
  /** Where the reference pages are, if the client knows better than the server. */
  readonly pages: string | undefined
  /** Settings sent at the start, for clients that cannot be asked. */
  readonly settings: unknown
}

/** Plain text where the client does not say that it shows Markdown. */
function markup(kinds: readonly MarkupKind[] | undefined): MarkupKind {
  return kinds?.includes(MarkupKind.Markdown) ? MarkupKind.Markdown : MarkupKind.PlainText
}

const isDelta = (full: boolean | { readonly delta?: boolean } | undefined): boolean =>
  typeof full === 'object' && full.delta === true

interface OwnOptions {
  readonly showsWorkings?: unknown
  readonly showsPictures?: unknown
  readonly looksUpRevisions?: unknown
  readonly isTrusted?: unknown
  readonly readsFiles?: unknown
  readonly leavesOutComparisons?: unknown
  readonly showsExpectations?: unknown
  readonly showsResolved?: unknown
  readonly showsPapers?: unknown
  readonly showsTrouble?: unknown
  readonly showsWaiting?: unknown
  readonly pages?: unknown
  readonly settings?: unknown
}

export function readClient(params: InitializeParams): Client {
  const capabilities = params.capabilities ?? {}
  const { textDocument, workspace } = capabilities
  const options = (params.initializationOptions ?? {}) as OwnOptions
  const diagnostic = textDocument?.diagnostic
  const shown = diagnostic ?? textDocument?.publishDiagnostics
  const resolves = (properties: readonly string[] | undefined, wanted: string): boolean =>
    properties?.includes(wanted) === true
  const action = textDocument?.codeAction
  return {
    capabilities,
    pullsDiagnostics: diagnostic !== undefined,
    refreshesDiagnostics: workspace?.diagnostics?.refreshSupport === true,
    showsRelated: shown?.relatedInformation === true,
    showsTags: shown?.tagSupport !== undefined,
    showsCodePages: shown?.codeDescriptionSupport === true,
    takesVersion: textDocument?.publishDiagnostics?.versionSupport === true,
    hoverKind: markup(textDocument?.hover?.contentFormat),
    completionKind: markup(textDocument?.completion?.completionItem?.documentationFormat),
    takesSnippets: textDocument?.completion?.completionItem?.snippetSupport === true,
    resolvesCompletion: resolves(textDocument?.completion?.completionItem?.resolveSupport?.properties, 'documentation'),
    takesCodeActions: action?.codeActionLiteralSupport !== undefined,
    resolvesCodeActions: action?.dataSupport === true && resolves(action.resolveSupport?.properties, 'edit'),
    confirmsEdits:
      workspace?.workspaceEdit?.documentChanges === true &&
      workspace.workspaceEdit.changeAnnotationSupport !== undefined,
    makesFiles:
      workspace?.workspaceEdit?.documentChanges === true &&
      workspace.workspaceEdit.resourceOperations?.includes('create') === true,
    takesDocumentChanges: workspace?.workspaceEdit?.documentChanges === true,
    nestsSymbols: textDocument?.documentSymbol?.hierarchicalDocumentSymbolSupport === true,
    foldLimit: textDocument?.foldingRange?.rangeLimit ?? Number.POSITIVE_INFINITY,
    asksConfiguration: workspace?.configuration === true,
    registersConfiguration: workspace?.didChangeConfiguration?.dynamicRegistration === true,
    registersWatchers: workspace?.didChangeWatchedFiles?.dynamicRegistration === true,
    takesRelativePatterns: workspace?.didChangeWatchedFiles?.relativePatternSupport === true,
    tellsFolders: workspace?.workspaceFolders === true,
    takesDefinitionLinks: textDocument?.definition?.linkSupport === true,
    preparesRename: textDocument?.rename?.prepareSupport === true,
    takesSemanticTokens: textDocument?.semanticTokens !== undefined,
    takesTokenDeltas: isDelta(textDocument?.semanticTokens?.requests?.full),
    takesInlayHints: textDocument?.inlayHint !== undefined,
    resolvesInlayHints: resolves(textDocument?.inlayHint?.resolveSupport?.properties, 'tooltip'),
    takesCodeLenses: textDocument?.codeLens !== undefined,
    refreshesInlayHints: workspace?.inlayHint?.refreshSupport === true,
    refreshesCodeLenses: workspace?.codeLens?.refreshSupport === true,
    asksBeforeRenames: workspace?.fileOperations?.willRename === true,
    takesTextContent: workspace?.textDocumentContent !== undefined,
    showsProgress: capabilities.window?.workDoneProgress === true,
    showsExpectations: options.showsExpectations === true,
    showsResolved: options.showsResolved === true,
    showsPapers: options.showsPapers === true,
    showsWorkings: options.showsWorkings === true,
    showsPictures: options.showsPictures === true,
    looksUpRevisions: options.looksUpRevisions === true,
    isTrusted: !('isTrusted' in options) || options.isTrusted === true,
    readsFiles: options.readsFiles === true,
    leavesOutComparisons: options.leavesOutComparisons === true,
    showsTrouble: options.showsTrouble === true,
    showsWaiting: options.showsWaiting === true,
    pages: typeof options.pages === 'string' ? options.pages : undefined,
    settings: options.settings,
  }
}
