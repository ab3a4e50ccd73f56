/**
 * Starts git, and nothing else. Its program is found on the PATH once and started by its absolute path, from the folder
 * that it lies in itself: on Windows a program is looked for in the working folder first, and a folder that is read may
 * hold a `git.exe` of its own. What the environment or a repository could make git do beside reading is turned off.
 */

import { execFile } from 'node:child_process'
import { accessSync, constants, existsSync, statSync } from 'node:fs'
import { delimiter, dirname, isAbsolute, join, relative, resolve } from 'node:path'

/** Git, a repository or a revision that is not there. The message is one line for a person. */
export class GitTrouble extends Error {}

interface Answer {
  readonly code: number
  readonly out: Buffer
  readonly err: string
}

/** How long git may take for one answer: it reads a few objects of a local store. */
const longestMs = 10_000

/** The folders of a PATH: absolute ones only, since a relative one means whatever folder one happens to stand in. */
function foldersOf(path: string): readonly string[] {
  return path
    .split(delimiter)
    .map(folder => folder.replace(/^"(.*)"$/, '$1'))
    .filter(isAbsolute)
}

/** Whether a path is a folder or lies below it. */
function isBelow(path: string, folder: string): boolean {
  const way = relative(folder, path)
  return way === '' || !(/^\.\.(?:[\\/]|$)/.test(way) || isAbsolute(way))
}

/** Whether a folder is one of a repository: looked at alone, nothing is started. */
export function isInRepository(folder: string): boolean {
  return existsSync(join(topOf(folder), '.git'))
}

/** The folder that a repository's own folder stands in, above or at this one; else this one. */
function topOf(folder: string): string {
  for (let at = folder; ; at = dirname(at)) {
    if (existsSync(join(at, '.git'))) return at
    if (dirname(at) === at) return folder
  }
}

function isProgram(path: string): boolean {
  try {
    if (!statSync(path).isFile()) return false
    accessSync(path, constants.X_OK)
    return true
  } catch {
    return false
  }
}

/** The environment without git's own variables, in whatever case they are written. */
function withoutGit(env: NodeJS.ProcessEnv): NodeJS.ProcessEnv {
  return Object.fromEntries(Object.entries(env).filter(([name]) => !/^git_/i.test(name)))
}

/** The value of a variable, whose name Windows writes in any case. */
function pathOf(env: NodeJS.ProcessEnv): string {
  const name = Object.keys(env).find(one => one.toUpperCase() === 'PATH')
  return (name === undefined ? undefined : env[name]) ?? ''
}

/** All programs of the name `git` on a PATH, in its order. */
function gitPrograms(env: NodeJS.ProcessEnv): readonly string[] {
  const name = process.platform === 'win32' ? 'git.exe' : 'git'
  return foldersOf(pathOf(env))
    .map(folder => join(folder, name))
    .filter(isProgram)
}

/** What a repository's configuration could start or reach, turned off; git takes these over whatever a file says. */
const settings: readonly string[] = [
  'core.fsmonitor=false',
  'core.hooksPath=/dev/null',
  'core.attributesFile=/dev/null',
  'core.pager=cat',
  'core.sshCommand=false',
  'core.askPass=false',
  'core.alternateRefsCommand=false',
  'credential.helper=',
  'diff.external=',
  'protocol.allow=never',
  'safe.bareRepository=explicit',
  'gc.auto=0',
  'maintenance.auto=false',
]

/** Read only: no locks, no questions, nothing fetched because it is missing, no other protocol to fetch it by. */
const variables: NodeJS.ProcessEnv = {
  GIT_OPTIONAL_LOCKS: '0',
  GIT_TERMINAL_PROMPT: '0',
  GIT_NO_LAZY_FETCH: '1',
  GIT_ALLOW_PROTOCOL: 'none',
  GIT_PAGER: 'cat',
  LC_ALL: 'C',
}

export interface GitProgram {
  /**
   * Asks git in a folder. One process runs at a time; the others wait for it.
   * @param mostBytes of the answer; a longer one is an error
   * Errors: rejects with `GitTrouble` where git is not there, takes too long or answers too much.
   */
  ask(folder: string, args: readonly string[], mostBytes: number): Promise<Answer>
}

/**
 * @param env where git is looked for, once; and what it is given, without its own variables
 * @param longest how long one answer may take, in ms
 */
export function createGit(env: NodeJS.ProcessEnv, longest = longestMs): GitProgram {
  let programs: readonly string[] | undefined
  let last: Promise<unknown> = Promise.resolve()
  const start = (folder: string, args: readonly string[], mostBytes: number): Promise<Answer> => {
    programs ??= gitPrograms(env)
    // A PATH may lead into the very files that are read, as a package manager's does.
    const top = topOf(folder)
    const program = programs.find(one => !isBelow(one, top))
    if (program === undefined)
      return Promise.reject(new GitTrouble('git is not there: an older revision needs it on the PATH.'))
    const kept = withoutGit(env)
    const path = foldersOf(pathOf(env)).filter(one => !isBelow(one, top))
    for (const name of Object.keys(kept)) if (name.toUpperCase() === 'PATH') delete kept[name]
    return run(program, folder, args, { ...kept, ...variables, PATH: path.join(delimiter) }, mostBytes, longest)
  }
  return {
    ask: (folder, args, mostBytes) => {
      const next = last.then(() => start(resolve(folder), args, mostBytes))
      last = next.catch(() => undefined)
      return next
    },
  }
}

/** Git's processes that run: none outlives this one. */
const running = new Set<{ kill(signal: 'SIGKILL'): unknown }>()
let isWatched = false

function endWithThisProcess(): void {
  if (isWatched) return
  isWatched = true
  process.once('exit', () => {
    for (const one of running) one.kill('SIGKILL')
  })
}

function run(
  program: string,
  folder: string,
  args: readonly string[],
  env: NodeJS.ProcessEnv,
  mostBytes: number,
  longest: number,
): Promise<Answer> {
  endWithThisProcess()
  const asked = ['--no-pager', '--literal-pathspecs', ...settings.flatMap(one => ['-c', one]), '-C', folder, ...args]
  return new Promise((done, fail) => {
    const child = execFile(
      program,
      asked,
      {
        cwd: dirname(program),
        env,
        encoding: 'buffer',
        maxBuffer: mostBytes,
        timeout: longest,
        killSignal: 'SIGKILL',
        windowsHide: true,
        shell: false,
      },
      (error, out, err) => {
        running.delete(child)
        const code = error === null ? 0 : error.code
        if (typeof code === 'number') done({ code, out, err: err.toString('utf8') })
        else if (code === 'ERR_CHILD_PROCESS_STDIO_MAXBUFFER') fail(new GitTrouble('git answered too much.'))
        else if (error?.killed) fail(new GitTrouble(`git did not answer within ${longest / 1000} s.`))
        else fail(new GitTrouble(`git did not answer: ${error?.message.split('\n')[0]}`))
      },
    )
    running.add(child)
    child.stdin?.end()
  })
}
