import { spawnSync } from 'node:child_process'
import { chmodSync, lstatSync, readdirSync, readFileSync, statSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { writeWhole } from '../../server/workspace/writer.ts'
import { commandSource, temporaryFolder } from '../harness/process.ts'
import { detent } from './helpers.ts'

const untidy = 'detent 1\nroom den {\nair   20 degC   # warm\n  humidity 40%\n}\n'
const tidy = 'detent 1\nroom den {\n  air 20 °C                             # warm\n  humidity 40 %\n}\n'

describe('format', () => {
  it('writes files that change and names them; a second run changes nothing', async () => {
    using folder = temporaryFolder({ 'a.detent': untidy, 'sub/b.detent': tidy })
    expect(await detent(folder.path, ['format'])).toEqual({ code: 0, out: 'a.detent formatted\n', err: '' })
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(tidy)
    expect(await detent(folder.path, ['format'])).toEqual({ code: 0, out: '', err: '' })
  })

  it('keeps the mode, leaves no other file behind, and keeps a link a link', async () => {
    using folder = temporaryFolder({ 'real.txt': untidy })
    const real = join(folder.path, 'real.txt')
    const link = join(folder.path, 'a.detent')
    chmodSync(real, 0o640)
    symlinkSync('real.txt', link)
    expect((await detent(folder.path, ['format', 'a.detent'])).code).toBe(0)
    expect(readFileSync(real, 'utf8')).toBe(tidy)
    expect(statSync(real).mode & 0o777).toBe(0o640)
    expect(lstatSync(link).isSymbolicLink()).toBe(true)
    expect(readdirSync(folder.path).sort()).toEqual(['a.detent', 'real.txt'])
  })

  it('keeps the line ends of a file', async () => {
    using folder = temporaryFolder({ 'a.detent': untidy.replaceAll('\n', '\r\n') })
    await detent(folder.path, ['format'])
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(tidy.replaceAll('\n', '\r\n'))
    expect((await detent(folder.path, ['format', '--check'])).code).toBe(0)
  })

  it('drops a byte order mark', async () => {
    using folder = temporaryFolder({ 'a.detent': `\ufeff${tidy}` })
    expect((await detent(folder.path, ['format', '--check'])).code).toBe(1)
    await detent(folder.path, ['format'])
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(tidy)
  })

  it('leaves a line in error byte for byte and formats the rest', async () => {
    const line = '   humidity   40,5 %   # so'
    using folder = temporaryFolder({ 'a.detent': `detent 1\nroom den {\nair 20 °C\n${line}\n}\n` })
    await detent(folder.path, ['format'])
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(`detent 1\nroom den {\n  air 20 °C\n${line}\n}\n`)
  })

  it('never writes a file with bytes that are not UTF-8, and formats the others', async () => {
    using folder = temporaryFolder({ 'b.detent': untidy })
    const bytes = Buffer.concat([
      Buffer.from('detent 1\nroom den {\nair 20 '),
      Buffer.from([0xb0]),
      Buffer.from('C\n}\n'),
    ])
    writeFileSync(join(folder.path, 'a.detent'), bytes)
    const { code, out, err } = await detent(folder.path, ['format'])
    expect(code).toBe(2)
    expect(err).toBe('detent: a.detent:3:8: not valid UTF-8 from here on, so the file is left as it is\n')
    expect(out).toBe('b.detent formatted\n')
    expect(readFileSync(join(folder.path, 'a.detent')).equals(bytes)).toBe(true)
  })

  it('does not overwrite what was saved while it worked', async () => {
    using folder = temporaryFolder({ 'a.detent': 'saved meanwhile' })
    const path = join(folder.path, 'a.detent')
    const bytes = new TextEncoder().encode(untidy)
    await expect(writeWhole(path, tidy, { bytes })).rejects.toThrow('it was changed meanwhile')
    expect(readFileSync(path, 'utf8')).toBe('saved meanwhile')
    expect(readdirSync(folder.path)).toEqual(['a.detent'])
  })

  it('leaves the file as it was where its folder cannot be written', () => {
    using folder = temporaryFolder({ 'a.detent': untidy })
    chmodSync(folder.path, 0o555)
    // Whoever may write everywhere is no test of this: the call then gives that right up, once its code is read.
    const script = [
      `const { run } = await import(${JSON.stringify(new URL('../../server/cli/run.ts', import.meta.url).href)})`,
      `const { processIo } = await import(${JSON.stringify(new URL('../../server/cli/io.ts', import.meta.url).href)})`,
      'if (process.getuid?.() === 0) { process.setegid(65534); process.seteuid(65534) }',
      "process.exitCode = await run(['format'], processIo())",
    ].join('\n')
    const result = spawnSync(process.execPath, ['--input-type=module', '--eval', script], {
      cwd: folder.path,
      encoding: 'utf8',
    })
    chmodSync(folder.path, 0o755)
    expect(result.stderr).toBe('detent: a.detent: not written: permission denied\n')
    expect(result.status).toBe(2)
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(untidy)
    expect(readdirSync(folder.path)).toEqual(['a.detent'])
  })

  it.skipIf(process.platform === 'win32')('leaves the file as it was where writing stops half-way', () => {
    const long = untidy + '# filler\n'.repeat(2000)
    using folder = temporaryFolder({ 'a.detent': long })
    // No file may grow beyond 8 blocks of 512 or 1024 bytes: less than what must be written.
    const command = `ulimit -f 8; "${process.execPath}" "${commandSource}" format`
    const result = spawnSync('bash', ['-c', command], { cwd: folder.path, encoding: 'utf8' })
    expect(result.status).not.toBe(0)
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(long)
  })
})

describe('format --check', () => {
  it('writes nothing, lists what would change, and ends with 1', async () => {
    using folder = temporaryFolder({ 'a.detent': untidy, 'b.detent': tidy })
    const before = statSync(join(folder.path, 'a.detent')).mtimeMs
    expect(await detent(folder.path, ['format', '--check', '.'])).toEqual({
      code: 1,
      out: 'a.detent would be formatted\n',
      err: '',
    })
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(untidy)
    expect(statSync(join(folder.path, 'a.detent')).mtimeMs).toBe(before)
  })
})

describe('format -', () => {
  it('reads standard input and writes standard output', async () => {
    using folder = temporaryFolder({})
    expect(await detent(folder.path, ['format', '-'], { input: untidy })).toEqual({ code: 0, out: tidy, err: '' })
    expect((await detent(folder.path, ['format', '--check', '-'], { input: untidy })).code).toBe(1)
    expect((await detent(folder.path, ['format', '--check', '-'], { input: tidy })).code).toBe(0)
  })

  it('writes nothing of an input that is not UTF-8', async () => {
    using folder = temporaryFolder({})
    const input = new Uint8Array([0x64, 0xff, 0x0a])
    const { code, out, err } = await detent(folder.path, ['format', '-'], { input })
    expect({ code, out }).toEqual({ code: 2, out: '' })
    expect(err).toMatch(/^detent: standard input:1:2: not valid UTF-8/)
  })
})
