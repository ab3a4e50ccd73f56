/** Whether the editor has taken up a new folder: what is written into it before that, its watcher misses. */
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs'

/** Linux says of each process which folders it watches. */
const canTell = existsSync('/proc/self/fdinfo')

/** Where the system does not tell, a folder is taken up within so long. */
const takenUpMs = 1000

const pause = (ms: number): Promise<void> => new Promise(resolve => setTimeout(resolve, ms))

/** Errors: rejects where the editor does not take the folder up within 20 s. */
export async function waitUntilWatched(folder: string): Promise<void> {
  if (!canTell) return pause(takenUpMs)
  const mark = `ino:${statSync(folder).ino.toString(16)} `
  for (const end = Date.now() + 20_000; !isWatched(mark); await pause(20))
    if (Date.now() > end) throw new Error(`The editor does not watch ${folder}`)
}

function isWatched(mark: string): boolean {
  return readdirSync('/proc').some(name => /^\d+$/.test(name) && watches(`/proc/${name}`, mark))
}

function watches(folder: string, mark: string): boolean {
  try {
    if (!readFileSync(`${folder}/cmdline`, 'utf8').includes('--type=fileWatcher')) return false
    return readdirSync(`${folder}/fdinfo`).some(name => readFileSync(`${folder}/fdinfo/${name}`, 'utf8').includes(mark))
  } catch {
    // A process that has just ended, or somebody else's.
    return false
  }
}
