/** The whole of a hover, with how its figures come about, as a page beside the text. */

import { type TextEditor, window } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { warn } from './messages.ts'
import { ask, type Paper, type Papers } from './papers.ts'

/** What a hover may lead to, beside charts. */
export const workingsCommand = 'detent.showWorkings'

interface Place {
  readonly line: number
  readonly character: number
}

function isPlace(value: unknown): value is Place {
  const { line, character } = (value ?? {}) as Partial<Record<keyof Place, unknown>>
  return Number.isSafeInteger(line) && Number.isSafeInteger(character)
}

function cursorOf(editor: TextEditor | undefined): { readonly uri: string; readonly position: Place } | undefined {
  if (editor?.document.languageId !== 'detent') return undefined
  const { line, character } = editor.selection.active
  return { uri: editor.document.uri.toString(), position: { line, character } }
}

/**
 * @param file the address of the file that a hover is of; without one, the place of the cursor
 * @param position a line and a character, both counted from 0
 */
export async function showWorkings(
  client: BaseLanguageClient,
  papers: Papers,
  file: unknown,
  position: unknown,
): Promise<void> {
  const place =
    typeof file === 'string' && isPlace(position) ? { uri: file, position } : cursorOf(window.activeTextEditor)
  if (place === undefined) {
    warn('Place the cursor on a word of a Detent file.')
    return
  }
  const paper = await ask<Paper>(client, 'detent/workings', {
    textDocument: { uri: place.uri },
    position: place.position,
  })
  if (paper !== undefined) await papers.show('Workings', paper)
}
