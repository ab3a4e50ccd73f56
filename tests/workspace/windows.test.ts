import { copyFileSync, mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { root } from '../harness/sources.ts'
import { hasWindowsNode, hasWine, runOnWindows, windowsNode, windowsPath } from '../harness/windows.ts'

/**
 * A folder with a `git.exe` of its own: Windows looks for programs in the working folder before the PATH. The planted
 * program is Windows' Node itself, which does no harm; what counts is which program is started.
 */

const at = (path: string): string => JSON.stringify(`file:///Z:${join(root, path)}`)
const script = `
import { execFile } from 'node:child_process'
import { writeFileSync } from 'node:fs'
const [, , what, folder, out] = process.argv
const answer = given => writeFileSync(out, JSON.stringify(given))
if (what === 'plain') execFile('git', ['rev-parse'], { cwd: folder }, () => answer('started'))
if (what === 'ours') {
  const { revisionOf } = await import(${at('server/workspace/git.ts')})
  await revisionOf(folder, 'HEAD').then(({ commit }) => answer(commit), error => answer(error.message))
}
if (what === 'devices') {
  const { readSource } = await import(${at('server/workspace/node-files.ts')})
  const names = ['nul', 'CON', 'con.csv', 'aux.detent', 'COM1', 'sub\\\\lpt1.txt', 'conin$', 'console.detent']
  answer(await Promise.all(names.map(name => readSource(folder + '\\\\' + name))))
}
`

const why = hasWine && hasWindowsNode ? '' : ' (not here: `npm run test:wine` gets what it needs)'

describe.skipIf(why !== '')(`on Windows, under Wine${why}`, () => {
  const run = (what: string, isGitOnPath: boolean) => {
    using folder = temporaryFolder({ 'probe.mjs': script, 'evil/a.detent': 'detent 1\n' })
    const bin = join(folder.path, 'bin')
    mkdirSync(bin)
    mkdirSync(join(folder.path, 'evil', '.git'))
    copyFileSync(windowsNode, join(folder.path, 'evil', 'git.exe'))
    if (isGitOnPath) copyFileSync(windowsNode, join(bin, 'git.exe'))
    writeFileSync(join(folder.path, 'evil', 'console.detent'), 'detent 1\n')
    const evil = windowsPath(join(folder.path, 'evil'))
    const path = [evil, '.', '', windowsPath(bin), 'C:\\windows'].join(';')
    const { answer, started } = runOnWindows(join(folder.path, 'probe.mjs'), [what, evil], path, folder.path)
    return { answer, gits: started.filter(one => /git\.exe$/i.test(one)), bin: windowsPath(join(bin, 'git.exe')), evil }
  }

  it('the folder’s own git.exe is what a plain start runs, whatever the PATH has', () => {
    const { gits, evil } = run('plain', true)
    expect(gits).toEqual([`${evil}\\git.exe`])
  })

  it('and what is never started here: git is the one of the PATH', () => {
    const { gits, bin } = run('ours', true)
    expect(gits).toEqual([bin])
  })

  it('or none, where there is none but that', () => {
    const { gits, answer } = run('ours', false)
    expect(gits).toEqual([])
    expect(answer).toBe('git is not there: an older revision needs it on the PATH.')
  })

  it('names of devices are no files, in whatever folder', () => {
    const { answer } = run('devices', false)
    const none = { why: 'it is not a regular file' }
    const [last, ...devices] = (answer as unknown[]).reverse()
    expect(devices).toEqual(devices.map(() => none))
    expect(devices).toHaveLength(7)
    expect(last).not.toEqual(none)
  })
})
