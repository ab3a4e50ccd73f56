/**
 * Writes files: whole or not at all, in UTF-8, and over nothing but the text that was read. The text goes to a file beside
 * the old one, which then takes its place, so that a full disk or an end half way leaves the old one as it was.
 */

import { createHash, randomBytes } from 'node:crypto'
import { type Stats, unlinkSync } from 'node:fs'
import { type FileHandle, link, lstat, open, readdir, readFile, realpath, rename, stat, unlink } from 'node:fs/promises'
import { basename, dirname, join } from 'node:path'

/** A file that is not written. The message goes on a sentence: `it was changed meanwhile`. */
class NotWritten extends Error {}

/** What stands at the path so far, as whoever writes knows it. */
export type Before =
  /** The file as it was read: whatever was saved since is not lost. A byte order mark stays. */
  | { readonly text: string }
  | { readonly bytes: Uint8Array }
  /** Nothing: a file that is there stays. */
  | { readonly isNew: true }
  /** A page that is made afresh each time: whatever is there, but for these, which it was made from. */
  | { readonly inputs: readonly string[] }

const byteOrderMark = '\ufeff'

/** The text of bytes with its byte order mark. Errors: `NotWritten` where they are not UTF-8. */
function textOf(bytes: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes)
  } catch {
    throw new NotWritten('it is not valid UTF-8')
  }
}

/** The text as it is written: with the byte order mark that the file had. */
async function checked(target: string, text: string, before: Before): Promise<string> {
  if ('inputs' in before) return text
  if ('isNew' in before) {
    const old = await lstat(target).catch(() => undefined)
    if (old !== undefined) throw new NotWritten('a file of that name is there already')
    return text
  }
  const now = await readFile(target)
  if ('bytes' in before) {
    textOf(now)
    if (Buffer.compare(now, before.bytes) !== 0) throw new NotWritten('it was changed meanwhile')
    return text
  }
  const found = textOf(now)
  const isMarked = found.startsWith(byteOrderMark)
  if ((isMarked ? found.slice(1) : found) !== before.text) throw new NotWritten('it was changed meanwhile')
  return isMarked && !text.startsWith(byteOrderMark) ? byteOrderMark + text : text
}

/** Where a path leads, through links, and what is there; undefined where there is nothing yet. */
async function targetOf(path: string): Promise<{ readonly target: string; readonly old: Stats | undefined }> {
  const found = await lstat(path).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return undefined
    throw error
  })
  if (found === undefined) return { target: join(await realpath(dirname(path)), basename(path)), old: undefined }
  const target = await realpath(path)
  return { target, old: await stat(target) }
}

function refuseOld(old: Stats): void {
  if (old.isDirectory()) throw new NotWritten('it is a folder')
  if (!old.isFile()) throw new NotWritten('it is not a regular file')
  // To put another file into its place needs no right to write to it; whoever took that right away meant something.
  if ((old.mode & 0o222) === 0) throw new NotWritten('it is read-only')
  if (old.nlink > 1)
    throw new NotWritten('it has several names (hard links), and only this one would have the new text')
}

async function refuseInputs(target: string, old: Stats | undefined, inputs: readonly string[]): Promise<void> {
  const isSource = /\.detent$/i.test(target)
  for (const input of inputs) {
    const found = await stat(input).catch(() => undefined)
    const isSame = old !== undefined && found?.ino === old.ino && found.dev === old.dev
    if (isSame || (await realpath(input).catch(() => input)) === target)
      throw new NotWritten('it is one of the files that this is made from')
  }
  if (isSource) throw new NotWritten('a file of that name is a profile; give the page another ending')
}

/** Temporary files that are being written: they go with this process, however it ends. */
const pending = new Set<string>()
const signals = ['SIGINT', 'SIGTERM', 'SIGHUP', 'SIGQUIT', 'SIGBREAK'] as const

function removePending(): void {
  for (const path of pending) {
    try {
      unlinkSync(path)
    } catch {
      // It was never made, or is gone.
    }
  }
  pending.clear()
}

/** Ends this process by the signal as if nobody had listened, once nothing is left behind. */
function onSignal(signal: NodeJS.Signals): void {
  removePending()
  unwatch()
  process.kill(process.pid, signal)
}

function watch(): void {
  process.on('exit', removePending)
  for (const signal of signals) process.on(signal, onSignal)
}

function unwatch(): void {
  process.off('exit', removePending)
  for (const signal of signals) process.off(signal, onSignal)
}

/** The process's number is in the name, so that what a killed one left is known for that. */
const temporary = /^\.detent-(\d+)-[0-9a-f]{16}\.tmp$/

function isAlive(process_: number): boolean {
  try {
    process.kill(process_, 0)
    return true
  } catch (error) {
    return (error as NodeJS.ErrnoException).code !== 'ESRCH'
  }
}

/** Removes what a writer that was killed outright has left in a folder an hour ago or more. */
async function removeLeft(folder: string): Promise<void> {
  for (const name of await readdir(folder).catch(() => [])) {
    const process_ = Number(temporary.exec(name)?.[1])
    if (!process_ || isAlive(process_)) continue
    const path = join(folder, name)
    const found = await lstat(path).catch(() => undefined)
    if (found?.isFile() && Date.now() - found.mtimeMs > 3_600_000) await unlink(path).catch(() => undefined)
  }
}

async function keepOwner(file: FileHandle, old: Stats): Promise<void> {
  const own = await file.stat()
  if (own.uid === old.uid && own.gid === old.gid) return
  await file.chown(old.uid, old.gid).catch(() => {
    throw new NotWritten('it belongs to somebody else, and would not any more')
  })
}

/** The folder is written as well, so that the new name outlives a power cut; not every system lets it. */
async function syncFolder(folder: string): Promise<void> {
  try {
    const file = await open(folder, 'r')
    await file.sync().finally(() => file.close())
  } catch {
    // The file's own text is safe.
  }
}

/**
 * Writes a file, whole or not at all. Links stay, and so do mode and owner.
 * @param path relative to the working folder, or absolute
 * Errors: rejects with `NotWritten`, or with the file system's error; whatever was there is then as it was.
 */
export async function writeWhole(path: string, text: string, before: Before): Promise<void> {
  const { target, old } = await targetOf(path)
  if (old !== undefined) refuseOld(old)
  if ('inputs' in before) await refuseInputs(target, old, before.inputs)
  const content = await checked(target, text, before)
  // A half of a pair of code units has no UTF-8.
  if (/\p{Surrogate}/u.test(content)) throw new NotWritten('the new text is not valid Unicode')
  const folder = dirname(target)
  await removeLeft(folder)
  const beside = join(folder, `.detent-${process.pid}-${randomBytes(8).toString('hex')}.tmp`)
  if (pending.size === 0) watch()
  pending.add(beside)
  try {
    const file = await open(beside, 'wx', old === undefined ? 0o666 : old.mode & 0o777)
    try {
      await file.writeFile(content)
      if (old !== undefined) {
        await keepOwner(file, old)
        // The mode given to `open` is cut by the process's mask, and a new owner takes bits of it away.
        await file.chmod(old.mode & 0o7777)
      }
      await file.sync()
    } finally {
      await file.close()
    }
    await alone(target, async () => {
      // As late as can be: whoever saved meanwhile keeps what was saved.
      await checked(target, text, before)
      if (old === undefined) await placeNew(beside, target)
      else await rename(beside, target)
    })
    await syncFolder(folder)
  } finally {
    await unlink(beside).catch(() => undefined)
    pending.delete(beside)
    if (pending.size === 0) unwatch()
  }
}

/** To look whether a file is as it was and to put another into its place takes milliseconds: longer is left by a dead one. */
const longestHeldMs = 60_000
const longestWaitMs = 2_000

/** Does something while no other writer of ours looks at or replaces the same file. */
async function alone(target: string, act: () => Promise<void>): Promise<void> {
  const name = createHash('sha256').update(basename(target)).digest('hex').slice(0, 16)
  const lock = join(dirname(target), `.detent-${name}.lock`)
  const until = Date.now() + longestWaitMs
  for (;;) {
    const file = await open(lock, 'wx').catch((error: NodeJS.ErrnoException) => {
      if (error.code === 'EEXIST') return undefined
      throw error
    })
    if (file !== undefined) {
      pending.add(lock)
      await file.close()
      break
    }
    const held = await lstat(lock).catch(() => undefined)
    if (held !== undefined && Date.now() - held.mtimeMs > longestHeldMs) await unlink(lock).catch(() => undefined)
    else if (Date.now() > until) throw new NotWritten('another program is writing it')
    else await new Promise(resolve => setTimeout(resolve, 5))
  }
  try {
    await act()
  } finally {
    await unlink(lock).catch(() => undefined)
    pending.delete(lock)
  }
}

/** Gives a file a name that nothing has; what came there meanwhile stays. Some disks have no links. */
async function placeNew(beside: string, target: string): Promise<void> {
  try {
    await link(beside, target)
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException
    if (code === 'EEXIST') throw new NotWritten('it was written by somebody else meanwhile')
    await rename(beside, target)
  }
}
