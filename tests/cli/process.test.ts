import { spawnSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { commandSource, runDetent, temporaryFolder } from '../harness/process.ts'
import { root } from '../harness/sources.ts'
import { benchText } from './helpers.ts'

describe('the command as a process', () => {
  it('checks and predicts the example bench without an error', () => {
    const folder = join(root, 'grammar', 'examples', 'bench')
    const check = runDetent(folder, ['check', '--output', 'json'])
    expect({ code: check.code, stderr: check.stderr }).toEqual({ code: 0, stderr: '' })
    const { expectations } = JSON.parse(check.stdout) as { expectations: readonly { readonly holds: boolean | null }[] }
    const holding = expectations.filter(expectation => expectation.holds === true).length
    expect(expectations.length).toBeGreaterThanOrEqual(12)
    expect(holding / expectations.length).toBeGreaterThan(0.8)
    expect(runDetent(folder, ['predict'])).toMatchObject({ code: 0, stderr: '' })
    expect(runDetent(folder, ['format', '--check'])).toMatchObject({ code: 0, stdout: '', stderr: '' })
  })

  it('writes UTF-8', () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    expect(runDetent(folder.path, ['predict']).stdout).toContain('20 °C 40 %')
  })

  it('formats from standard input', () => {
    using folder = temporaryFolder({})
    expect(runDetent(folder.path, ['format', '-'], 'load x{cores 2}\n').stdout).toBe('load x { cores 2 }\n')
  })

  it('ends with 2 and one line for a call that cannot be used', () => {
    using folder = temporaryFolder({})
    const { code, stdout, stderr } = runDetent(folder.path, ['check', 'nowhere'])
    expect({ code, stdout, stderr }).toEqual({
      code: 2,
      stdout: '',
      stderr: 'detent: nowhere: there is no such file or folder\n',
    })
  })

  it.skipIf(process.platform === 'win32')('does not mind a reader that stops early', () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    const command = `"${process.execPath}" "${commandSource}" check --output sarif | head -n 1`
    const result = spawnSync('bash', ['-o', 'pipefail', '-c', command], { cwd: folder.path, encoding: 'utf8' })
    expect(result.stderr).toBe('')
    expect(result.stdout).toBe('{\n')
  })

  it('changes nothing about a file that it only reads', () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    runDetent(folder.path, ['check'])
    runDetent(folder.path, ['predict'])
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(benchText())
  })
})
