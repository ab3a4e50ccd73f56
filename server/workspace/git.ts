/** Older texts of files, out of git. */

import { existsSync } from 'node:fs'
import { realpath } from 'node:fs/promises'
import { basename, dirname, join, relative, sep } from 'node:path'
import { type FileSystem, isNetworkPath, mostSourceBytes, tooLarge, type Unread } from './files.ts'
import { createGit, type GitProgram, GitTrouble } from './git-program.ts'
import { pathOfUri, uriOfPath } from './node-files.ts'

export { GitTrouble } from './git-program.ts'

/**
 * Older texts of files, out of git. Only what reads git's own store is called (`rev-parse`, `rev-list`, `cat-file`, `ls-tree`), by a
 * list of arguments, without a shell; nothing that a repository can configure is run by these.
 */

const mostListBytes = 64 * 1024 * 1024
/** A revision is a name or an expression of names; git walks the whole history for some, and a person reads it. */
const longestRevision = 200

const machineGit = createGit(process.env)

/** A commit, for a list to choose from. */
interface Commit {
  /** Its whole name. */
  readonly name: string
  readonly subject: string
  /** Seconds since 1970. */
  readonly time_s: number
  /** Branches and tags that name it. */
  readonly refs: string
}

/** Files as they were at one revision. */
export interface Revision {
  /** The whole name of the commit. */
  readonly commit: string
  readonly files: FileSystem
  /** Addresses of the profile files below a folder of the repository, given by its path or address, sorted. */
  profilesBelow(folder: string): Promise<readonly string[]>
  /** Whether a file, by its address, lies in the repository at all, then or now. */
  holds(uri: string): Promise<boolean>
  /** The commits that lead to it, itself first. @param skip so many are passed over @param most so many are given */
  commits(skip: number, most: number): Promise<readonly Commit[]>
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

/** A file of a commit; links, submodules and what is too large are left out with a reason. */
async function readBlob(
  git: GitProgram,
  root: string,
  commit: string,
  name: string,
): Promise<Uint8Array | Unread | undefined> {
  const { code, out } = await git.ask(root, ['ls-tree', '-z', '-l', commit, '--', name], mostListBytes)
  const found = /^(\d+) (\w+) ([0-9a-f]{40,64}) +(\d+|-)\t/.exec(out.toString('utf8'))
  if (code !== 0 || found === null) return undefined
  const [, mode = '', , object = '', size = ''] = found
  if (mode === '040000') return { why: 'it is a folder' }
  if (!mode.startsWith('100')) return { why: 'it is not a regular file' }
  if (Number(size) > mostSourceBytes) return { why: tooLarge(Number(size)) }
  const blob = await git.ask(root, ['cat-file', 'blob', object], mostSourceBytes + 1)
  return blob.code === 0 ? blob.out : undefined
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
export async function revisionOf(folder: string, revision: string, git: GitProgram = machineGit): Promise<Revision> {
  if (revision.length > longestRevision) throw new GitTrouble('A revision has no name of so many characters.')
  const top = await git.ask(folder, ['rev-parse', '--show-toplevel'], mostListBytes)
  if (top.code !== 0) {
    const why = /not a git repository/.test(top.err)
      ? `The folder ${basename(folder)} is in no git repository`
      : firstLine(top.err)
    throw new GitTrouble(`${why}.`)
  }
  const topPath = top.out.toString('utf8').replace(/\r?\n$/, '')
  // A repository says itself where its files are: a place on another machine is not even looked at.
  if (isNetworkPath(topPath) && !isNetworkPath(folder)) throw new GitTrouble('Its repository lies on another machine.')
  const root = await realpath(topPath)
  const asked = ['rev-parse', '--verify', '--quiet', '--end-of-options', `${revision}^{commit}`]
  const named = await git.ask(folder, asked, mostListBytes)
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
  /** Where git has failed once it is not asked again: a store that hangs would hang for every file. */
  let failed: Unread | undefined
  return {
    commit,
    files: {
      read: async uri => {
        const path = pathOfUri(uri)
        const name = path === undefined ? undefined : await inside(path)
        if (name === undefined || failed !== undefined) return failed
        try {
          return await readBlob(git, root, commit, name)
        } catch (error) {
          if (!(error instanceof GitTrouble)) throw error
          failed = { why: error.message.replace(/\.$/, '') }
          return failed
        }
      },
    },
    holds: async uri => {
      const path = pathOfUri(uri)
      return path !== undefined && (await inside(path).catch(() => undefined)) !== undefined
    },
    commits: async (skip, most) => {
      const form = '--format=%H%x00%ct%x00%D%x00%s'
      const asked = ['rev-list', `--skip=${skip}`, `--max-count=${most}`, form, commit, '--']
      const { code, out, err } = await git.ask(root, asked, mostListBytes)
      if (code !== 0) throw new GitTrouble(`The commits cannot be listed: ${firstLine(err)}.`)
      // Each is two lines: its name by itself, then what was asked for.
      return out
        .toString('utf8')
        .split('\n')
        .flatMap(line => {
          const [name, time, refs, subject] = line.split('\0')
          if (name === undefined || time === undefined || refs === undefined || subject === undefined) return []
          return [{ name, subject, time_s: Number(time), refs }]
        })
    },
    profilesBelow: async below => {
      const name = relative(root, await realpath(pathOfUri(below) ?? below))
        .split(sep)
        .join('/')
      if (name === '..' || name.startsWith('../')) return []
      const asked = ['ls-tree', '-r', '-z', '--name-only', commit, ...(name === '' ? [] : ['--', name])]
      const { code, out } = await git.ask(root, asked, mostListBytes)
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
