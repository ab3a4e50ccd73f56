/** The one way in which sub-commands change a file of the bench: whole or not at all, over the text that was read. */
import { unlink } from 'node:fs/promises'
import { applyEdits, formattedText, type Service } from '../service.ts'
import { pathOfUri, reasonOf } from '../workspace/node-files.ts'
import { writeWhole } from '../workspace/writer.ts'
import { shownPath } from './files.ts'
import { type Io, UnusableCall } from './io.ts'

interface Edit {
  readonly start: number
  readonly end: number
  readonly text: string
}

/**
 * Makes edits of a loaded file and writes it.
 * @param isNew there is no such file yet, and the edits are of an empty text
 * @returns the file as outputs show it; undefined where it is not on this disk
 * Errors: `UnusableCall` where it cannot be written, or changed meanwhile.
 */
export async function writeEdits(
  service: Service,
  io: Io,
  uri: string,
  edits: readonly Edit[],
  isNew = false,
): Promise<string | undefined> {
  const path = pathOfUri(uri)
  if (path === undefined) return undefined
  const shown = shownPath(io, path)
  if (isNew) {
    await written(shown, () => writeWhole(path, formattedText(applyEdits('', edits)), { isNew: true }))
    return shown
  }
  const document = service.workspace.document(uri)
  if (document === undefined) return undefined
  const made = applyEdits(document.source.text, edits)
  // A file that was formatted stays so: longer values push their comments.
  const text = service.formatting(uri).length === 0 ? formattedText(made) : made
  if (document.invalidAt !== undefined) throw new UnusableCall(`${shown}: not written: it is not valid UTF-8`)
  await written(shown, () => writeWhole(path, text, { text: document.source.text }))
  return shown
}

/** Takes a file away that `writeEdits` has just made. */
export async function removeWritten(uri: string): Promise<void> {
  const path = pathOfUri(uri)
  if (path !== undefined) await unlink(path).catch(() => undefined)
}

async function written(shown: string, write: () => Promise<void>): Promise<void> {
  try {
    await write()
  } catch (error) {
    throw new UnusableCall(`${shown}: not written: ${reasonOf(error)}`)
  }
}
