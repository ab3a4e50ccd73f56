import { execFile } from 'node:child_process'
import { existsSync } from 'node:fs'
import { realpath } from 'node:fs/promises'
import { basename, dirname, join, relative, sep } from 'node:path'
import type { FileSystem } from './files.ts'
import { pathOfUri, uriOfPath } from './node-files.ts'

/**
 * Older texts of files, out of git. Only what reads git's own store is called (`rev-parse`, `cat-file`, `ls-tree`), by the
 * program's name and a list of arguments, without a shell; nothing that a repository can configure is run by these.
 */

/** Git, a repository or a revision that is not there. The message is one line for a person. */
export class GitTrouble extends Error {}

interface Answer {
  readonly code: number
  readonly out: Buffer
  readonly err: string
}

const mostBytes = 64 * 1024 * 1024

function git(folder: string, args: readonly string[]): Promise<Answer> {
  const env = {
    ...process.env,
    // Read only: no locks, no questions, nothing fetched because it is missing.
    GIT_OPTIONAL_LOCKS: '0',
    GIT_TERMINAL_PROMPT: '0',
    GIT_NO_LAZY_FETCH: '1',
    LC_ALL: 'C',
  }
  return new Promise((resolve, reject) => {
    execFile(
      'git',
      args,
      { cwd: folder, env, encoding: 'buffer', maxBuffer: mostBytes, windowsHide: true, shell: false },
      (error, out, err) => {
        const code = error === null ? 0 : error.code
        if (typeof code === 'number') resolve({ code, out, err: err.toString('utf8') })
        else if (code === 'ENOENT') reject(new GitTrouble('git is not there: an older revision needs it on the PATH.'))
        else reject(new GitTrouble(`git did not answer: ${error?.message.split('\n')[0]}`))
      },
    )
  })
}

/** Files as they were at one revision. */
export interface Revision {
  /** The whole name of the commit. */
  readonly commit: string
  readonly files: FileSystem
  /** Addresses of the profile files below a folder of the repository, given by its path or address, sorted. */
  profilesBelow(folder: string): Promise<readonly string[]>
}

/** The nearest folder above a path that is there now: a file may have gone since. */
function folderOf(path: string): string {
  let folder = dirname(path)
  while (!existsSync(folder) && dirname(folder) !== folder) folder = dirname(folder)
  return folder
}

/** A path with all links above the file itself followed, as git names it from the repository's top. */
async function realPath(path: string): Promise<string> {
  const folder = folderOf(path)
  const real = await realpath(folder)
  return join(real, relative(folder, dirname(path)), basename(path))
}

function firstLine(text: string): string {
  return (text.split('\n')[0] ?? '').replace(/^fatal: /, '')
}

/**
 * The files of a repository at a revision.
 * @param folder a folder of the repository
 * @param revision whatever git takes for a commit: a name, a tag, `HEAD~3`
 * Errors: rejects with `GitTrouble` where git, the repository or the revision is not there.
 */
export async function revisionOf(folder: string, revision: string): Promise<Revision> {
  const top = await git(folder, ['rev-parse', '--show-toplevel'])
  if (top.code !== 0) {
    const why = /not a git repository/.test(top.err)
      ? `The folder ${basename(folder)} is in no git repository`
      : firstLine(top.err)
    throw new GitTrouble(`${why}.`)
  }
  const root = await realpath(top.out.toString('utf8').replace(/\r?\n$/, ''))
  const named = await git(folder, ['rev-parse', '--verify', '--quiet', '--end-of-options', `${revision}^{commit}`])
  const commit = named.out.toString('utf8').trim()
  if (named.code !== 0 || !/^[0-9a-f]{40,64}$/.test(commit)) {
    throw new GitTrouble(`There is no revision ${revision} in this git repository.`)
  }
  const inside = async (path: string): Promise<string | undefined> => {
    const name = relative(root, await realPath(path))
      .split(sep)
      .join('/')
    return name === '..' || name.startsWith('../') || name === '' ? undefined : name
  }
  return {
    commit,
    files: {
      read: async uri => {
        const path = pathOfUri(uri)
        const name = path === undefined ? undefined : await inside(path)
        if (name === undefined) return undefined
        const { code, out } = await git(root, ['cat-file', 'blob', `${commit}:${name}`])
        return code === 0 ? out : undefined
      },
    },
    profilesBelow: async below => {
      const name = relative(root, await realpath(pathOfUri(below) ?? below))
        .split(sep)
        .join('/')
      if (name === '..' || name.startsWith('../')) return []
      const { code, out } = await git(root, [
        'ls-tree',
        '-r',
        '-z',
        '--name-only',
        commit,
        ...(name === '' ? [] : ['--', name]),
      ])
      if (code !== 0) return []
      const names = out.toString('utf8').split('\0')
      return names
        .filter(one => one.endsWith('.detent'))
        .map(one => uriOfPath(join(root, one)))
        .sort()
    },
  }
}

/** The files around one of this machine, by its address, at a revision. Errors: as `revisionOf`. */
export async function revisionAround(uri: string, revision: string): Promise<Revision> {
  const path = pathOfUri(uri)
  if (path === undefined) throw new GitTrouble('Older revisions are there for files of this machine only.')
  return revisionOf(dirname(path), revision)
}
