import { spawn, spawnSync } from 'node:child_process'
import { once } from 'node:events'
import {
  chmodSync,
  existsSync,
  linkSync,
  lstatSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  statSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { type Before, writeWhole } from '../../server/workspace/writer.ts'
import { temporaryFolder } from '../harness/process.ts'

const page: Before = { inputs: [] }
const isWindows = process.platform === 'win32'
const writer = JSON.stringify(new URL('../../server/workspace/writer.ts', import.meta.url).href)

/** A process of its own that writes, after some lines that prepare it. */
function writing(folder: string, lines: readonly string[]) {
  const script = [`const { writeWhole } = await import(${writer})`, ...lines].join('\n')
  return [process.execPath, ['--input-type=module', '--eval', script], { cwd: folder }] as const
}

describe('a file is written', () => {
  it('over the text that was read and over no other', async () => {
    using folder = temporaryFolder({ 'a.detent': 'read\n' })
    const path = join(folder.path, 'a.detent')
    await writeWhole(path, 'written\n', { text: 'read\n' })
    expect(readFileSync(path, 'utf8')).toBe('written\n')
    await expect(writeWhole(path, 'again\n', { text: 'read\n' })).rejects.toThrow('it was changed meanwhile')
    expect(readFileSync(path, 'utf8')).toBe('written\n')
    expect(readdirSync(folder.path)).toEqual(['a.detent'])
  })

  it('by one of many writers: the others hear that it was changed', async () => {
    using folder = temporaryFolder({ 'a.detent': 'read\n' })
    const path = join(folder.path, 'a.detent')
    const texts = Array.from({ length: 10 }, (_, index) => `${index} ${'x'.repeat(50_000)}\n`)
    const ended = await Promise.allSettled(texts.map(text => writeWhole(path, text, { text: 'read\n' })))
    const winners = ended.flatMap(({ status }, index) => (status === 'fulfilled' ? [texts[index]] : []))
    expect(winners).toHaveLength(1)
    expect(readFileSync(path, 'utf8')).toBe(winners[0])
    expect(readdirSync(folder.path)).toEqual(['a.detent'])
  })

  it('never where its bytes are not UTF-8, and with the byte order mark that it has', async () => {
    using folder = temporaryFolder({})
    const [latin, marked] = [join(folder.path, 'latin.detent'), join(folder.path, 'marked.detent')]
    const bytes = Buffer.from('# 20 \xb0C\n', 'latin1')
    writeFileSync(latin, bytes)
    for (const before of [{ bytes }, { text: bytes.toString('utf8') }] satisfies Before[])
      await expect(writeWhole(latin, 'x\n', before)).rejects.toThrow('it is not valid UTF-8')
    expect(readFileSync(latin)).toEqual(bytes)
    writeFileSync(marked, '\ufeffread\n')
    await writeWhole(marked, 'written\n', { text: 'read\n' })
    expect(readFileSync(marked, 'utf8')).toBe('\ufeffwritten\n')
    await expect(writeWhole(marked, 'half \ud800\n', { text: 'written\n' })).rejects.toThrow('not valid Unicode')
  })

  it.skipIf(isWindows)('with its mode, its owner and the links to it', async () => {
    using folder = temporaryFolder({ 'a.detent': 'read\n', 'sub/none': '' })
    const path = join(folder.path, 'a.detent')
    chmodSync(path, 0o640)
    const link = join(folder.path, 'sub', 'link.detent')
    symlinkSync('../a.detent', link)
    const before = statSync(path)
    await writeWhole(link, 'written\n', { text: 'read\n' })
    expect(lstatSync(link).isSymbolicLink()).toBe(true)
    expect(readFileSync(path, 'utf8')).toBe('written\n')
    const { mode, uid, gid } = statSync(path)
    expect({ mode, uid, gid }).toEqual({ mode: before.mode, uid: before.uid, gid: before.gid })
  })

  it.skipIf(isWindows)('not where it has another name as well, which would keep the old text', async () => {
    using folder = temporaryFolder({ 'a.detent': 'read\n' })
    const path = join(folder.path, 'a.detent')
    linkSync(path, join(folder.path, 'b.detent'))
    await expect(writeWhole(path, 'written\n', { text: 'read\n' })).rejects.toThrow('it has several names')
    expect(readFileSync(path, 'utf8')).toBe('read\n')
  })

  it('not where it is read-only, a folder, or no regular file', async () => {
    using folder = temporaryFolder({ 'a.html': 'old', 'sub/none': '' })
    const path = join(folder.path, 'a.html')
    chmodSync(path, 0o444)
    await expect(writeWhole(path, 'new', page)).rejects.toThrow('it is read-only')
    await expect(writeWhole(join(folder.path, 'sub'), 'new', page)).rejects.toThrow('it is a folder')
    expect(readFileSync(path, 'utf8')).toBe('old')
    if (isWindows) return
    await expect(writeWhole('/dev/null', 'new', page)).rejects.toThrow('it is not a regular file')
    expect(lstatSync('/dev/null').isCharacterDevice()).toBe(true)
  })

  it('not over what it is made from, by whatever name, nor over any profile', async () => {
    using folder = temporaryFolder({ 'a.detent': 'profile', 'log.csv': 'log', 'other.detent': 'profile' })
    const at = (name: string): string => join(folder.path, name)
    const before: Before = { inputs: [at('a.detent'), at('log.csv')] }
    const isInput = 'it is one of the files that this is made from'
    await expect(writeWhole(at('a.detent'), 'page', before)).rejects.toThrow(isInput)
    await expect(writeWhole(at('log.csv'), 'page', before)).rejects.toThrow(isInput)
    await expect(writeWhole(at('other.detent'), 'page', before)).rejects.toThrow('is a profile')
    await expect(writeWhole(at('new.detent'), 'page', before)).rejects.toThrow('is a profile')
    if (!isWindows) {
      symlinkSync('log.csv', at('page.html'))
      await expect(writeWhole(at('page.html'), 'page', before)).rejects.toThrow(isInput)
    }
    expect(readFileSync(at('a.detent'), 'utf8') + readFileSync(at('log.csv'), 'utf8')).toBe('profilelog')
  })

  it('for the first time as well, and never over what came there meanwhile', async () => {
    using folder = temporaryFolder({})
    const path = join(folder.path, 'new.html')
    await writeWhole(path, 'page', page)
    expect(readFileSync(path, 'utf8')).toBe('page')
    const both = await Promise.allSettled(['one', 'two'].map(text => writeWhole(join(folder.path, 'b'), text, page)))
    expect(both.map(({ status }) => status)).toContain('fulfilled')
    expect(['one', 'two']).toContain(readFileSync(join(folder.path, 'b'), 'utf8'))
    expect(readdirSync(folder.path).sort()).toEqual(['b', 'new.html'])
  })
})

describe.skipIf(isWindows)('where writing fails', () => {
  it('on a full disk the old file stays, and nothing beside it', () => {
    using folder = temporaryFolder({ 'a.html': 'old' })
    // The shell's limit on the size of a file stands for a disk that is full after 4 kB.
    const [node, args, options] = writing(folder.path, [
      "process.on('SIGXFSZ', () => {})",
      "await writeWhole('a.html', 'x'.repeat(1_000_000), { inputs: [] }).then(() => console.log('written'), error => console.log(error.code))",
    ])
    const quoted = [node, ...args].map(one => `'${one.replaceAll("'", "'\\''")}'`).join(' ')
    const { stdout } = spawnSync('bash', ['-c', `ulimit -f 4; exec ${quoted}`], { ...options, encoding: 'utf8' })
    expect(stdout).toBe('EFBIG\n')
    expect(readFileSync(join(folder.path, 'a.html'), 'utf8')).toBe('old')
    expect(readdirSync(folder.path)).toEqual(['a.html'])
  })

  it.each(['SIGINT', 'SIGTERM', 'SIGHUP', 'SIGQUIT'] as const)(
    'by %s the old file stays, nothing beside it, and the process ends by that signal',
    async signal => {
      using folder = temporaryFolder({ 'a.html': 'old' })
      const [node, args, options] = writing(folder.path, [
        "const { watch } = await import('node:fs')",
        "const { setTimeout: rest } = await import('node:timers/promises')",
        "watch('.', (_, name) => { if (name?.endsWith('.tmp')) { process.stdout.write('begun'); Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 300) } })",
        'await rest(50)',
        "for (;;) await writeWhole('a.html', 'x'.repeat(30_000_000), { inputs: [] }).catch(() => undefined)",
      ])
      const child = spawn(node, args, options)
      await once(child.stdout, 'data')
      child.kill(signal)
      const [, ended] = await once(child, 'exit')
      expect(ended).toBe(signal)
      expect(readdirSync(folder.path)).toEqual(['a.html'])
    },
  )

  it('what a killed one left is removed by the next, once it is old', async () => {
    const { pid = 0 } = spawnSync(process.execPath, ['--version'])
    const [old, fresh] = [`.detent-${pid}-0123456789abcdef.tmp`, `.detent-${pid}-fedcba9876543210.tmp`]
    const own = `.detent-${process.pid}-0123456789abcdef.tmp`
    using folder = temporaryFolder({ 'a.html': 'old', [old]: 'x', [fresh]: 'x', [own]: 'x', '.detent-notes.tmp': 'x' })
    const hours = new Date(Date.now() - 7_200_000)
    for (const name of [old, own, '.detent-notes.tmp']) utimesSync(join(folder.path, name), hours, hours)
    await writeWhole(join(folder.path, 'a.html'), 'new', page)
    expect(readdirSync(folder.path).sort()).toEqual([own, fresh, '.detent-notes.tmp', 'a.html'].sort())
  })

  it('where the folder is not there it says so', async () => {
    using folder = temporaryFolder({})
    mkdirSync(join(folder.path, 'sub'))
    await expect(writeWhole(join(folder.path, 'no', 'a.html'), 'x', page)).rejects.toMatchObject({ code: 'ENOENT' })
    expect(existsSync(join(folder.path, 'no'))).toBe(false)
  })
})
