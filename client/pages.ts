import { readFileSync } from 'node:fs'
import { commands, Uri, window } from 'vscode'

/** The reference pages of the checks, which come with the extension. */

interface Page {
  readonly code: string
  readonly title: string
  /** Counted from 1, as the editor's links count. */
  readonly line: number
}

/** The pages in the order of the reference: one for each heading of the second level that is a check's code. */
function readPages(reference: Uri): readonly Page[] {
  const lines = readText(reference).split('\n')
  return lines.flatMap((line, index) => {
    const code = /^## `?([a-z][a-z-]*)`?$/.exec(line)?.[1]
    if (code === undefined) return []
    const title = lines.slice(index + 1).find(one => one.trim() !== '') ?? ''
    return [{ code, title: title.replace(/[*_`]/g, ''), line: index + 1 }]
  })
}

function readText(reference: Uri): string {
  try {
    return readFileSync(reference.fsPath, 'utf8')
  } catch {
    return ''
  }
}

/**
 * Reads addresses from the server. A link to a check's page gets the line at which the page begins: the editor goes to
 * lines, not to headings.
 */
export function pageLinks(reference: Uri): (value: string) => Uri {
  const start = `${reference.toString()}#`
  let lines: ReadonlyMap<string, number> | undefined
  return value => {
    const uri = Uri.parse(value)
    if (!value.startsWith(start)) return uri
    lines ??= new Map(readPages(reference).map(({ code, line }) => [code, line]))
    const line = lines.get(value.slice(start.length))
    return line === undefined ? uri : uri.with({ fragment: `L${line}` })
  }
}

/** Shows the page of a check, asking for the check where none is named. */
export async function explainCheck(reference: Uri, code?: string): Promise<void> {
  const pages = readPages(reference)
  const chosen =
    code ??
    (
      await window.showQuickPick(
        pages.map(page => ({ label: page.code, detail: page.title })),
        { placeHolder: 'Which check?', matchOnDetail: true },
      )
    )?.label
  if (chosen === undefined) return
  await commands.executeCommand('markdown.showPreview', reference.with({ fragment: chosen }))
}
