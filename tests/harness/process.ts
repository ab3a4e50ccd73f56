/** Runs the command as a person runs it: as a process of its own in a folder. */
import { spawnSync } from 'node:child_process'
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { root } from './sources.ts'

export interface CommandResult {
  readonly code: number | null
  readonly stdout: string
  readonly stderr: string
}

/** The command's source, which this Node runs as it is, so that no test depends on an earlier build. */
export const commandSource = join(root, 'server', 'cli', 'main.ts')

/** Runs `detent` with these arguments in a folder and waits for its end (at most 30 s). */
export function runDetent(folder: string, args: readonly string[], input = ''): CommandResult {
  const result = spawnSync(process.execPath, [commandSource, ...args], {
    cwd: folder,
    input,
    encoding: 'utf8',
    // A page with its charts is longer than the usual bound.
    maxBuffer: 64 * 1024 * 1024,
    timeout: 100_000,
    env: { ...process.env, NO_COLOR: '1' },
  })
  return { code: result.status, stdout: result.stdout, stderr: result.stderr }
}

/** A folder that is removed at the end of the block that declares it with `using`. */
export interface TemporaryFolder extends Disposable {
  readonly path: string
}

/** Makes a folder with these files (path to text). */
export function temporaryFolder(files: Readonly<Record<string, string>>): TemporaryFolder {
  const path = mkdtempSync(join(tmpdir(), 'detent-test-'))
  for (const [name, text] of Object.entries(files)) {
    mkdirSync(dirname(join(path, name)), { recursive: true })
    writeFileSync(join(path, name), text)
  }
  return { path, [Symbol.dispose]: () => rmSync(path, { recursive: true, force: true }) }
}
