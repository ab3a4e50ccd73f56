/**
 * Closes a list of completions once a whole word or unit of it is typed. The server closes it as well; but a list stays
 * open until the answer comes, and would take the arrow keys of whoever types faster than a busy server answers.
 */

import type { CompletionItem, TextDocument } from 'vscode'
import type { Middleware } from 'vscode-languageclient'

/** What was offered last, and where. */
interface Offered {
  readonly uri: string
  readonly line: number
  /** The line up to the cursor for which it was offered. */
  readonly before: string
  readonly items: readonly CompletionItem[]
}

/** Where the stretch begins that an item replaces. */
function startOf({ range }: CompletionItem): number | undefined {
  if (range === undefined) return undefined
  return 'inserting' in range ? range.inserting.start.character : range.start.character
}

/** Whether a text is an item itself, in one of its spellings; one that leaves out a sign is not whole yet. */
function isItem({ label, filterText }: CompletionItem, typed: string): boolean {
  const name = typeof label === 'string' ? label : label.label
  if (typed === name) return true
  return typed.length >= name.length && filterText?.split(' ').includes(typed) === true
}

/** Answers for the server where what is typed since its last answer is a whole item of that. */
export function closingWhole(): NonNullable<Middleware['provideCompletionItem']> {
  let last: Offered | undefined
  const isWhole = ({ uri }: TextDocument, line: number, before: string): boolean =>
    last !== undefined &&
    last.uri === uri.toString() &&
    last.line === line &&
    before.startsWith(last.before) &&
    last.items.some(item => isItem(item, before.slice(startOf(item) ?? before.length)))
  return async (document, position, context, token, next) => {
    const before = document.lineAt(position.line).text.slice(0, position.character)
    if (isWhole(document, position.line, before)) return []
    const found = await next(document, position, context, token)
    const items = Array.isArray(found) ? found : (found?.items ?? [])
    last = { uri: document.uri.toString(), line: position.line, before, items }
    return found
  }
}
