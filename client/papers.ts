/** Papers that the server writes as Markdown, shown in the editor's own preview. */

import {
  type CancellationToken,
  commands,
  EventEmitter,
  type QuickPickItem,
  type TextDocumentContentProvider,
  Uri,
  window,
  workspace,
} from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { warn } from './messages.ts'
import { chosenProfile } from './resolved.ts'

/** A profile by its file and name, and the git revision where it is an older one. */
export interface AskedProfile {
  readonly uri: string
  readonly profile: string
  readonly revision?: string
}

export interface Paper {
  readonly markdown: string
  readonly html?: string
}

export interface KnownProfiles {
  readonly profiles: readonly AskedProfile[]
  readonly revisions: boolean
}

const scheme = 'detent-paper'

export interface Papers extends TextDocumentContentProvider {
  /** Shows a paper under this title; one of the same title takes its place. */
  show(title: string, paper: Paper): Promise<void>
  /** Gives one that is shown another text, and stays behind what a person looks at. */
  update(title: string, paper: Paper): void
}

export function createPapers(): Papers {
  /** As many as the person has asked for titles; small texts. */
  const texts = new Map<string, string>()
  const changed = new EventEmitter<Uri>()
  const update = (title: string, { markdown }: Paper): Uri => {
    const uri = Uri.from({ scheme, path: `/${title}.md` })
    texts.set(uri.path, markdown)
    changed.fire(uri)
    return uri
  }
  return {
    onDidChange: changed.event,
    provideTextDocumentContent: uri => texts.get(uri.path) ?? '',
    update,
    show: async (title, paper) => {
      const uri = update(title, paper)
      await commands.executeCommand('markdown.showPreviewToSide', uri)
    },
  }
}

export const papersScheme = scheme

/** The answer to a request; what stands in its way is shown. */
export async function ask<R extends object>(
  client: BaseLanguageClient,
  method: string,
  params: unknown,
  token?: CancellationToken,
): Promise<R | undefined> {
  const answered = (): Promise<R | { readonly trouble: string }> =>
    token === undefined ? client.sendRequest(method, params) : client.sendRequest(method, params, token)
  const answer = await answered().catch((error: unknown) => {
    // What the person took back is no failure.
    if (token?.isCancellationRequested) return undefined
    throw error
  })
  if (answer === undefined || !('trouble' in answer)) return answer
  warn(answer.trouble)
  return undefined
}

export function knownProfiles(client: BaseLanguageClient): Promise<KnownProfiles> {
  return client.sendRequest<KnownProfiles>('detent/profiles', {})
}

/** The profile that a command was given, or the one that the person points at. */
export async function givenProfile(file: unknown, profile: unknown): Promise<AskedProfile | undefined> {
  if (typeof file === 'string' && typeof profile === 'string') return { uri: file, profile }
  // From a menu of the file.
  if (file instanceof Uri) await window.showTextDocument(file)
  const chosen = await chosenProfile()
  return chosen && { uri: chosen.file, profile: chosen.profile }
}

export interface ProfileItem extends QuickPickItem {
  readonly asked?: AskedProfile
}

/** All profiles but one, to be chosen from. */
export function profileItems({ profiles }: KnownProfiles, own: AskedProfile): readonly ProfileItem[] {
  return profiles
    .filter(
      ({ uri, profile }) => profile !== own.profile || Uri.parse(uri).toString() !== Uri.parse(own.uri).toString(),
    )
    .map(asked => ({ label: asked.profile, description: workspace.asRelativePath(Uri.parse(asked.uri)), asked }))
}

/** Where a page is saved, under a name made of its title; undefined where the person turns back. */
export function chosenPage(title: string, asked: string): Thenable<Uri | undefined> {
  const folder = workspace.workspaceFolders?.[0]?.uri
  const name = `${title.replaceAll(/[^\w.-]+/g, '-').toLowerCase()}.html`
  return window.showSaveDialog({
    title: asked,
    filters: { 'Printable page': ['html'] },
    ...(folder === undefined ? {} : { defaultUri: Uri.joinPath(folder, name) }),
  })
}

export async function savePage(target: Uri, html: string): Promise<void> {
  await workspace.fs.writeFile(target, new TextEncoder().encode(html))
}
