/** Pages that come with the extension: those of the checks, and the newcomer's. */

import { commands, type TextDocumentContentProvider, Uri, window, workspace } from 'vscode'

interface Page {
  readonly code: string
  readonly title: string
  /** The page by itself, as Markdown. */
  readonly text: string
}

export interface Pages {
  readonly reference: Uri
  /** In the order of the reference. */
  readonly list: readonly Page[]
}

/** Reads the pages: one for each heading of the second level that is a check's code. None where there is no reference. */
export async function readPages(reference: Uri): Promise<Pages> {
  let text: string
  try {
    text = new TextDecoder().decode(await workspace.fs.readFile(reference))
  } catch {
    return { reference, list: [] }
  }
  const list = text.split(/^(?=## )/m).flatMap(section => {
    const [head = '', ...lines] = section.split('\n')
    const code = /^## `?([a-z][a-z-]*)`?$/.exec(head)?.[1]
    if (code === undefined) return []
    const title = lines.find(one => one.trim() !== '') ?? ''
    return [{ code, title: title.replace(/[*_`]/g, ''), text: section.slice(1) }]
  })
  return { reference, list }
}

/** Pages of checks, each a document of its own; the manifest says that the editor shows them rendered. */
export const pagesScheme = 'detent-page'

/**
 * Reads addresses from the server. A link to a check's page becomes one to the page by itself: in the whole reference the
 * editor would show the source at a line, since a link behind a finding's code can lead to a document, not to a command.
 */
export function pageLinks({ reference, list }: Pages): (value: string) => Uri {
  const start = `${reference.toString()}#`
  const codes = new Set(list.map(({ code }) => code))
  return value => {
    const code = value.startsWith(start) ? value.slice(start.length) : undefined
    if (code === undefined || !codes.has(code)) return Uri.parse(value)
    return Uri.from({ scheme: pagesScheme, path: `/${code}.md` })
  }
}

/** Gives the editor the text of a check's page. */
export function servePages({ list }: Pages): TextDocumentContentProvider {
  const texts = new Map(list.map(({ code, text }) => [`/${code}.md`, text]))
  return { provideTextDocumentContent: ({ path }) => texts.get(path) }
}

/** Shows the page of a check, asking for the check where none is named. */
export async function explainCheck({ reference, list }: Pages, code?: string): Promise<void> {
  const chosen =
    code ??
    (
      await window.showQuickPick(
        list.map(page => ({ label: page.code, detail: page.title })),
        { placeHolder: 'Which check?', matchOnDetail: true },
      )
    )?.label
  if (chosen === undefined) return
  await commands.executeCommand('markdown.showPreview', reference.with({ fragment: chosen }))
}

/** Shows the newcomer's page beside the text, where it can be read along. */
export async function showFirstSteps(extension: Uri): Promise<void> {
  const page = Uri.joinPath(extension, 'grammar', 'reference', 'first-steps.md')
  await commands.executeCommand('markdown.showPreviewToSide', page)
}
