import { spawnSync } from 'node:child_process'
import { chmodSync, existsSync, mkdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { delimiter, dirname, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { decode } from '../../server/workspace/files.ts'
import { revisionOf } from '../../server/workspace/git.ts'
import { createGit } from '../../server/workspace/git-program.ts'
import { uriOfPath } from '../../server/workspace/node-files.ts'
import { temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'

/** What a repository, a folder or an environment could make git do, and does not. */

const isWindows = process.platform === 'win32'
const realGit = (process.env.PATH ?? '')
  .split(delimiter)
  .map(folder => join(folder, isWindows ? 'git.exe' : 'git'))
  .find(existsSync) as string

/** A program that says so in a file, and is no git. */
function trap(path: string, marker: string): void {
  mkdirSync(dirname(path), { recursive: true })
  writeFileSync(path, `#!/bin/sh\necho "$PWD" "$@" >> '${marker}'\nenv | grep ^GIT_ >> '${marker}'\nexit 1\n`)
  chmodSync(path, 0o755)
}

describe.skipIf(isWindows)('git is started', () => {
  it('by an absolute path out of the PATH, never from the folder that is read or a relative one', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'sub/a.detent': 'detent 1\n' })
    const marker = join(folder.path, 'started')
    const sub = join(folder.path, 'sub')
    for (const place of ['git', 'sub/git', 'node_modules/.bin/git']) trap(join(folder.path, place), marker)
    const before = process.cwd()
    try {
      process.chdir(sub)
      // Nothing in front, a point, a relative folder, the folder itself, one above it in the same repository.
      const path = ['', '.', 'sub', sub, join(folder.path, 'node_modules', '.bin'), dirname(realGit)].join(delimiter)
      const { commit } = await revisionOf(sub, 'HEAD', createGit({ ...process.env, PATH: path }))
      expect(commit).toMatch(/^[0-9a-f]{40}$/)
      const none = createGit({ ...process.env, PATH: ['', '.', sub].join(delimiter) })
      await expect(revisionOf(sub, 'HEAD', none)).rejects.toThrow('git is not there')
    } finally {
      process.chdir(before)
    }
    expect(existsSync(marker)).toBe(false)
  })

  it('from its own folder, without any variable of its own', async () => {
    using folder = temporaryFolder({})
    using programs = temporaryFolder({})
    const marker = join(programs.path, 'started')
    trap(join(programs.path, 'git'), marker)
    const env = { PATH: `${programs.path}${delimiter}/usr/bin${delimiter}/bin`, GIT_DIR: '/elsewhere', git_ssh: 'evil' }
    await expect(revisionOf(folder.path, 'HEAD', createGit(env))).rejects.toThrow()
    const [first = '', ...variables] = readFileSync(marker, 'utf8').trim().split('\n')
    expect(first.startsWith(`${programs.path} `)).toBe(true)
    expect(first).toContain(`-C ${folder.path} rev-parse`)
    expect(variables.sort()).toEqual([
      'GIT_ALLOW_PROTOCOL=none',
      'GIT_NO_LAZY_FETCH=1',
      'GIT_OPTIONAL_LOCKS=0',
      'GIT_PAGER=cat',
      'GIT_TERMINAL_PROMPT=0',
    ])
  })

  it('one at a time', async () => {
    using folder = temporaryFolder({})
    using programs = temporaryFolder({})
    const log = join(programs.path, 'log')
    writeFileSync(join(programs.path, 'git'), `#!/bin/sh\necho in >> '${log}'\nsleep 0.05\necho out >> '${log}'\n`)
    chmodSync(join(programs.path, 'git'), 0o755)
    const git = createGit({ PATH: `${programs.path}${delimiter}/usr/bin${delimiter}/bin` })
    await Promise.all([1, 2, 3].map(() => git.ask(folder.path, ['cat-file'], 100)))
    expect(readFileSync(log, 'utf8')).toBe('in\nout\n'.repeat(3))
  })
})

describe.skipIf(isWindows)('a repository', () => {
  it('starts nothing that its configuration names', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const marker = join(folder.path, 'started')
    const evil = join(folder.path, 'evil.sh')
    trap(evil, marker)
    commitFiles(folder.path, {
      'a.detent': 'detent 1\n',
      '.gitattributes': '*.detent filter=evil diff=evil merge=evil\n',
    })
    const id = spawnSync('git', ['rev-parse', 'HEAD:a.detent'], { cwd: folder.path, encoding: 'utf8' }).stdout.trim()
    // As an archive brings it along that a repository is packed in whole.
    const config = join(folder.path, '.git', 'config')
    writeFileSync(
      config,
      `${readFileSync(config, 'utf8')}
[core]
  fsmonitor = ${evil}
  hooksPath = ${folder.path}
  pager = ${evil}
  sshCommand = ${evil}
  askPass = ${evil}
  alternateRefsCommand = ${evil}
  editor = ${evil}
  gitProxy = ${evil}
[filter "evil"]
  clean = ${evil}
  smudge = ${evil}
  process = ${evil}
  required = true
[diff]
  external = ${evil}
[diff "evil"]
  command = ${evil}
  textconv = ${evil}
[credential]
  helper = ${evil}
[alias]
  rev-parse = !${evil}
  cat-file = !${evil}
  ls-tree = !${evil}
[protocol]
  allow = always
[protocol "ext"]
  allow = always
[extensions]
  partialClone = origin
[remote "origin"]
  url = ext::${evil}
  promisor = true
  partialclonefilter = blob:none
  uploadpack = ${evil}
`,
    )
    const { files, profilesBelow, commit } = await revisionOf(folder.path, 'HEAD')
    const uri = uriOfPath(join(folder.path, 'a.detent'))
    const bytes = await files.read(uri)
    expect(bytes !== undefined && !('why' in bytes) && decode(bytes).text).toBe('detent 1\n')
    expect(await profilesBelow(folder.path)).toEqual([uri])
    // An object that is missing would be fetched from where the configuration says.
    rmSync(join(folder.path, '.git', 'objects', id.slice(0, 2), id.slice(2)), { force: true })
    const again = await revisionOf(folder.path, commit)
    const missing = await again.files.read(uri)
    expect(missing === undefined || 'why' in missing).toBe(true)
    expect(existsSync(marker)).toBe(false)
    // The trap is one: git as a person starts it falls in.
    spawnSync('git', ['status'], { cwd: folder.path })
    expect(existsSync(marker)).toBe(true)
  })

  it('whose configuration never ends is given up after the time limit, and not asked again', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'a.detent': 'detent 1\n', 'b.detent': 'detent 1\n' })
    const git = createGit(process.env, 400)
    const { files } = await revisionOf(folder.path, 'HEAD', git)
    const config = join(folder.path, '.git', 'config')
    rmSync(config)
    spawnSync('mkfifo', [config])
    const read = (name: string) => files.read(uriOfPath(join(folder.path, name)))
    expect(await read('a.detent')).toEqual({ why: 'git did not answer within 0.4 s' })
    await expect(revisionOf(folder.path, 'HEAD', git)).rejects.toThrow('did not answer')
    // Now it would answer: what gets the same reason again has not asked it.
    rmSync(config)
    writeFileSync(config, '[core]\n\trepositoryformatversion = 0\n')
    expect(await read('b.detent')).toEqual({ why: 'git did not answer within 0.4 s' })
    await expect(revisionOf(folder.path, 'HEAD', createGit(process.env, 10_000))).resolves.toBeDefined()
  })

  it('gives regular files of its commits and no links, whatever they were named', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    symlinkSync('/etc/passwd', join(folder.path, 'link.detent'))
    commitFiles(folder.path, { 'a.detent': 'detent 1\n', 'sub/b.detent': 'detent 1\n' })
    const { files } = await revisionOf(folder.path, 'HEAD')
    const read = (name: string) => files.read(uriOfPath(join(folder.path, name)))
    expect(await read('link.detent')).toEqual({ why: 'it is not a regular file' })
    expect(await read('sub')).toEqual({ why: 'it is a folder' })
    expect(await read('*.detent')).toBeUndefined()
    expect(await read('../a.detent')).toBeUndefined()
  })

  it('gives no file of more than 16 MB', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'large.detent': '#'.repeat(16 * 1024 * 1024 + 1) })
    const { files } = await revisionOf(folder.path, 'HEAD')
    expect(await files.read(uriOfPath(join(folder.path, 'large.detent')))).toEqual({
      why: 'it has 17 MB, and 16 MB are the most',
    })
  })

  it.each(['--upload-pack=evil', '-c', 'HEAD --output=x', 'a'.repeat(5000), 'HEAD\nHEAD'])(
    'takes %s for a revision, and has none',
    async revision => {
      using folder = temporaryFolder({})
      startRepository(folder.path)
      commitFiles(folder.path, { 'a.detent': 'detent 1\n' })
      await expect(revisionOf(folder.path, revision)).rejects.toThrow(/revision/)
    },
  )
})
