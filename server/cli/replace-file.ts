import { open, readFile, realpath, rename, stat, unlink } from 'node:fs/promises'
import { dirname, join } from 'node:path'

/**
 * Gives a file a new text, whole or not at all: the text is written to a file beside it, which then takes its place.
 * A link stays a link; the mode stays as it was.
 * @param expected what the file held when the new text was made; whatever was saved meanwhile is not overwritten.
 * Errors: rejects with the file system's error, or where the file changed meanwhile; the file is then as it was.
 */
export async function replaceFile(path: string, expected: Uint8Array, text: string): Promise<void> {
  const target = await realpath(path)
  const { mode } = await stat(target)
  const beside = join(dirname(target), `.detent-${process.pid}-${Date.now()}.tmp`)
  const file = await open(beside, 'wx', mode & 0o777)
  try {
    try {
      await file.writeFile(text)
      // The mode given to `open` is cut by the process's mask.
      await file.chmod(mode & 0o7777)
      await file.sync()
    } finally {
      await file.close()
    }
    if (Buffer.compare(await readFile(target), expected) !== 0) throw new Error('it was changed meanwhile')
    await rename(beside, target)
  } catch (error) {
    await unlink(beside).catch(() => undefined)
    throw error
  }
}
