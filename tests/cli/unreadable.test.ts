import { spawnSync } from 'node:child_process'
import { chmodSync, mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { type CommandResult, temporaryFolder } from '../harness/process.ts'
import { benchText } from './helpers.ts'

/** Whoever may read everything is no test of this: the call gives that right up, once its code is read. */
function asNobody(folder: string, args: readonly string[]): CommandResult {
  const at = (name: string): string => JSON.stringify(new URL(`../../server/cli/${name}.ts`, import.meta.url).href)
  const script = [
    `const { run } = await import(${at('run')})`,
    `const { processIo } = await import(${at('io')})`,
    'if (process.getuid?.() === 0) { process.setegid(65534); process.seteuid(65534) }',
    `process.exitCode = await run(${JSON.stringify(args)}, processIo())`,
  ].join('\n')
  const options = { cwd: folder, encoding: 'utf8' } as const
  const result = spawnSync(process.execPath, ['--input-type=module', '--eval', script], options)
  return { code: result.status, stdout: result.stdout, stderr: result.stderr }
}

describe.skipIf(process.platform === 'win32')('what cannot be read', () => {
  it('is named and left out, and the rest is checked', () => {
    using folder = temporaryFolder({ 'a.detent': benchText(), 'b.detent': benchText(), 'locked/c.detent': benchText() })
    chmodSync(folder.path, 0o755)
    chmodSync(join(folder.path, 'b.detent'), 0)
    chmodSync(join(folder.path, 'locked'), 0)
    const { code, stdout, stderr } = asNobody(folder.path, ['check', '--output', 'json'])
    expect(stderr).toBe('detent: locked: permission denied; left out\ndetent: b.detent: permission denied; left out\n')
    expect(JSON.parse(stdout)).toMatchObject({ version: 1, findings: [] })
    expect(code).toBe(1)
    const predicted = asNobody(folder.path, ['predict'])
    expect(predicted.stdout).toContain('a.detent')
    expect(predicted.code).toBe(1)
    chmodSync(join(folder.path, 'locked'), 0o755)
  })

  it('makes the call unusable where nothing else is left', () => {
    using folder = temporaryFolder({ 'b.detent': benchText() })
    mkdirSync(join(folder.path, 'locked'), { mode: 0 })
    chmodSync(folder.path, 0o755)
    expect(asNobody(folder.path, ['check', 'locked'])).toEqual({
      code: 2,
      stdout: '',
      stderr: 'detent: locked: permission denied\n',
    })
    chmodSync(join(folder.path, 'b.detent'), 0)
    expect(asNobody(folder.path, ['predict', 'b.detent'])).toEqual({
      code: 2,
      stdout: '',
      stderr: 'detent: b.detent: permission denied\n',
    })
  })
})
