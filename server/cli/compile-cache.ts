/**
 * Where this Node can, what it has compiled of the command is kept for the next start, in the cache folder of the person:
 * a folder that all may write to would let another person put code there. `NODE_DISABLE_COMPILE_CACHE=1` turns it off.
 *
 * Imported first by the command, so that what it imports behind is compiled once.
 */

import module from 'node:module'
import { homedir } from 'node:os'
import { join } from 'node:path'

/** The person's own folder for what can be made again; undefined where the system names none. */
function cacheFolder(): string | undefined {
  const { env, platform } = process
  if (platform === 'win32') return env.LOCALAPPDATA
  if (platform === 'darwin') return join(homedir(), 'Library', 'Caches')
  return env.XDG_CACHE_HOME || join(homedir(), '.cache')
}

const folder = cacheFolder()
// Sources are not kept: whoever works on them starts other code each time.
const isShipped = import.meta.url.endsWith('.cjs')
// Before Node 22.1 there is no such cache; a folder that cannot be written is left alone without a word.
if (isShipped && folder !== undefined) module.enableCompileCache?.(join(folder, 'detent'))
