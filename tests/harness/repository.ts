/** A git repository for a test: commits of whole files, by an invented person. */

import { spawnSync } from 'node:child_process'
import { mkdirSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'

const settings = ['-c', 'user.name=Bench', '-c', 'user.email=bench@example.invalid', '-c', 'commit.gpgsign=false']

function git(folder: string, args: readonly string[]): string {
  const { status, stdout, stderr } = spawnSync('git', [...settings, ...args], { cwd: folder, encoding: 'utf8' })
  if (status !== 0) throw new Error(`git ${args.join(' ')}: ${stderr}`)
  return stdout.trim()
}

export function startRepository(folder: string): void {
  git(folder, ['init', '--quiet', '--initial-branch=main'])
}

/** Writes files (path to text; null removes one) and commits them. Gives the commit's name. */
export function commitFiles(folder: string, files: Readonly<Record<string, string | null>>): string {
  for (const [name, text] of Object.entries(files)) {
    if (text === null) git(folder, ['rm', '--quiet', name])
    else {
      mkdirSync(dirname(join(folder, name)), { recursive: true })
      writeFileSync(join(folder, name), text)
    }
  }
  git(folder, ['add', '--all'])
  git(folder, ['commit', '--quiet', '--message', 'values'])
  return git(folder, ['rev-parse', 'HEAD'])
}
