/**
 * What `detent` starts with as it is shipped: runs the command from what V8 compiled of it in earlier starts. Node's own
 * cache of compiled code keeps none of the functions that are compiled when they are first called, which are most.
 *
 * It is kept in the cache folder of the person: a folder that all may write to would let another person put code there.
 * `NODE_DISABLE_COMPILE_CACHE=1` turns it off. A Node before 22.2, which has no check sum, starts without.
 */

import { mkdirSync, readdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { homedir } from 'node:os'
import { dirname, isAbsolute, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { Script } from 'node:vm'
import zlib from 'node:zlib'

/** One start does not call all that the next one does: what was compiled is kept again in the first ones. */
const mostKept = 3
/** A server is kept before it ends: V8 lets go of what it has not called for long. */
const serverIsWarmMs = 5_000
/** What an older version kept, or did not come to the end of, is let go after this time. */
const letGoMs = 60 * 24 * 3_600_000
/** Three numbers stand before what V8 compiled: the check sums of source and code, and how often it was kept. */
const headBytes = 12

interface Bundle {
  readonly script: Script
  /** Where its compiled code is kept. */
  readonly file: string
  readonly sourceSum: number
  /** How often it was kept before. */
  readonly kept: number
}

const ownPath = fileURLToPath(import.meta.url)
const nodeRequire = createRequire(ownPath)
const folder = compiledFolder()
const bundles: Bundle[] = []
const loaded = new Map<string, { exports: unknown }>()

/** The person's own folder for what can be made again, below which this is kept; undefined where nothing can be. */
function compiledFolder(): string | undefined {
  const { env, platform } = process
  // Node 22.0 and 22.1 have none.
  const canSum = (zlib.crc32 as unknown) !== undefined
  if (env.NODE_DISABLE_COMPILE_CACHE === '1' || !canSum) return undefined
  const caches =
    platform === 'win32'
      ? env.LOCALAPPDATA
      : platform === 'darwin'
        ? join(homedir(), 'Library', 'Caches')
        : env.XDG_CACHE_HOME || join(homedir(), '.cache')
  // One that is relative would lie below whatever folder is worked in; the XDG base directory specification ignores it.
  return caches !== undefined && isAbsolute(caches) ? join(caches, 'detent') : undefined
}

function readBytes(file: string): Buffer | undefined {
  try {
    return readFileSync(file)
  } catch {
    return undefined
  }
}

/** Compiles a bundle that lies beside this one, from what is kept of it where that belongs to this very text. */
function compile(path: string): Script {
  const source = readFileSync(path)
  const text = `(function (exports, require, module, __filename, __dirname) {${source.toString()}\n})`
  if (folder === undefined) return new Script(text, { filename: path })
  // Each sub-command calls other functions, and code of one Node, or of other flags, is of no use to another.
  const key = JSON.stringify([path, process.argv[2], process.execPath, process.version, process.execArgv])
  const file = join(folder, `${zlib.crc32(key).toString(16)}.compiled`)
  const sourceSum = zlib.crc32(source)
  const bytes = readBytes(file)
  const isWhole =
    bytes !== undefined &&
    bytes.length > headBytes &&
    bytes.readUInt32LE(0) === sourceSum &&
    bytes.readUInt32LE(4) === zlib.crc32(bytes.subarray(headBytes))
  const script = new Script(text, { filename: path, ...(isWhole && { cachedData: bytes.subarray(headBytes) }) })
  const isTaken = isWhole && script.cachedDataRejected === false
  bundles.push({ script, file, sourceSum, kept: isTaken ? bytes.readUInt32LE(8) : 0 })
  return script
}

/** @returns what the bundle exports, or what Node has by that name */
function load(name: string): unknown {
  if (!name.startsWith('./')) return nodeRequire(name)
  const before = loaded.get(name)
  if (before !== undefined) return before.exports
  const path = join(dirname(ownPath), name)
  const module = { exports: {} }
  loaded.set(name, module)
  compile(path).runInThisContext()(module.exports, load, module, path, dirname(path))
  return module.exports
}

function letGoOfOld(of: string): void {
  for (const name of readdirSync(of)) {
    const file = join(of, name)
    if (/\.compiled(\.\d+)?$/.test(name) && Date.now() - statSync(file).mtimeMs > letGoMs) rmSync(file, { force: true })
  }
}

/** Keeps what is compiled by now. A folder that cannot be written is left alone without a word. */
function keep(): void {
  try {
    for (const { script, file, sourceSum, kept } of bundles.splice(0)) {
      if (kept >= mostKept) continue
      const code = script.createCachedData()
      const head = Buffer.alloc(headBytes)
      for (const [index, number] of [sourceSum, zlib.crc32(code), kept + 1].entries())
        head.writeUInt32LE(number, 4 * index)
      mkdirSync(dirname(file), { recursive: true, mode: 0o700 })
      // Whole or not at all: others may start meanwhile.
      const part = `${file}.${process.pid}`
      writeFileSync(part, Buffer.concat([head, code]), { mode: 0o600 })
      renameSync(part, file)
      if (kept === 0) letGoOfOld(dirname(file))
    }
  } catch {
    // The next start compiles again.
  }
}

// An unusable command line calls next to nothing.
process.once('exit', code => code !== 2 && keep())
setTimeout(keep, serverIsWarmMs).unref()
load('./command.cjs')
