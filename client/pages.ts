/** Pages that come with the extension: those of the checks, and the newcomer's. */

import { commands, Uri, window, workspace } from 'vscode'

interface Page {
  readonly code: string
  readonly title: string
  /** Counted from 1, as the editor's links count. */
  readonly line: number
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
  const lines = text.split('\n')
  const list = lines.flatMap((line, index) => {
    const code = /^## `?([a-z][a-z-]*)`?$/.exec(line)?.[1]
    if (code === undefined) return []
    const title = lines.slice(index + 1).find(one => one.trim() !== '') ?? ''
    return [{ code, title: title.replace(/[*_`]/g, ''), line: index + 1 }]
  })
  return { reference, list }
}

/**
 * Reads addresses from the server. A link to a check's page gets the line at which the page begins: the editor goes to
 * lines, not to headings.
 */
export function pageLinks({ reference, list }: Pages): (value: string) => Uri {
  const start = `${reference.toString()}#`
  const lines = new Map(list.map(({ code, line }) => [code, line]))
  return value => {
    const uri = Uri.parse(value)
    const line = value.startsWith(start) ? lines.get(value.slice(start.length)) : undefined
    return line === undefined ? uri : uri.with({ fragment: `L${line}` })
  }
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
