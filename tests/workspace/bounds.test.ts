import { spawnSync } from 'node:child_process'
import { symlinkSync, truncateSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { anywhere, withinFolders } from '../../server/workspace/bounds.ts'
import { decode, resolveUri } from '../../server/workspace/files.ts'
import { filesWithin, logsWithin, readSource, uriOfPath } from '../../server/workspace/node-files.ts'
import { temporaryFolder } from '../harness/process.ts'

const outside = 'it lies outside the folders that are open'
const notRegular = { why: 'it is not a regular file' }

describe('what a file may lead to', () => {
  const open = withinFolders(
    () => ['file:///bench', 'file:///other%20one/'],
    () => ['file:///notes'],
  )
  const from = 'file:///bench/sub/a.detent'
  const to = (path: string, start = from): boolean => {
    const uri = resolveUri(start, path)
    return uri !== undefined && open(start, uri)
  }

  it.each(['b.detent', '../b.detent', './../x/../b.detent', '/bench/b.detent', '../../other one/b.detent', '..\\b'])(
    '%s lies within the folders',
    path => expect(to(path)).toBe(true),
  )

  it.each([
    '../../b.detent',
    '../../../../../etc/passwd',
    '/etc/passwd',
    '/benchmark/b.detent',
    '..\\..\\b.detent',
    '//host/share/b.detent',
    '\\\\host\\share\\b.detent',
    '//./pipe/b',
    '//?/C:/b',
    '/notes/b.detent',
  ])('%s does not', path => expect(to(path)).toBe(false))

  it('a file in no folder leads to its own, and no file of a folder does', () => {
    const alone = 'file:///notes/a.detent'
    expect(to('b.detent', alone)).toBe(true)
    expect(to('sub/b.detent', alone)).toBe(true)
    expect(to('../b.detent', alone)).toBe(false)
    expect(to('/bench/b.detent', alone)).toBe(true)
  })

  it('a workspace on another machine leads within itself', () => {
    const there = withinFolders(
      () => ['file://host/share/bench'],
      () => [],
    )
    const start = 'file://host/share/bench/a.detent'
    expect(there(start, resolveUri(start, 'b.detent') ?? '')).toBe(true)
    expect(there(start, resolveUri(start, '//other/share/bench/b.detent') ?? '')).toBe(false)
    expect(there(start, resolveUri(start, '../x/b.detent') ?? '')).toBe(false)
  })

  it('anywhere is still this machine', () => {
    expect(anywhere(from, 'file:///etc/passwd')).toBe(true)
    expect(anywhere(from, 'file://host/share/b.detent')).toBe(false)
    expect(anywhere(from, 'https://host/b.detent')).toBe(false)
  })
})

describe.skipIf(process.platform === 'win32')('files on the disk', () => {
  it('are read through links only where those lead within the folders', async () => {
    using elsewhere = temporaryFolder({ 'secret.detent': 'secret', 'sub/deep.detent': 'secret' })
    using folder = temporaryFolder({ 'a.detent': 'own' })
    const at = (name: string): string => join(folder.path, name)
    symlinkSync('a.detent', at('within.detent'))
    symlinkSync(join(elsewhere.path, 'secret.detent'), at('link.detent'))
    symlinkSync(elsewhere.path, at('linked'))
    const { read } = filesWithin(() => ({ folders: [folder.path], files: [at('named.detent')] }))
    const text = async (name: string): Promise<unknown> => {
      const found = await read(uriOfPath(at(name)))
      return found === undefined || 'why' in found ? found : decode(found).text
    }
    expect(await text('within.detent')).toBe('own')
    expect(await text('link.detent')).toEqual({ why: outside })
    expect(await text('linked/sub/deep.detent')).toEqual({ why: outside })
    expect(await text('gone.detent')).toBeUndefined()
    // What a person names is theirs to name.
    symlinkSync(join(elsewhere.path, 'secret.detent'), at('named.detent'))
    expect(await text('named.detent')).toBe('secret')
    const log = await logsWithin(() => ({ folders: [folder.path], files: [] })).open(uriOfPath(at('link.detent')))
    expect(() => log?.chunks()).toThrow(outside)
  })

  it('are no pipes, devices or tables of the kernel: nothing waits for one', async () => {
    using folder = temporaryFolder({})
    const pipe = join(folder.path, 'pipe.detent')
    spawnSync('mkfifo', [pipe])
    symlinkSync('/dev/zero', join(folder.path, 'zero.detent'))
    expect(await readSource(pipe)).toEqual(notRegular)
    expect(await readSource(join(folder.path, 'zero.detent'))).toEqual(notRegular)
    expect(await readSource('/dev/zero')).toEqual(notRegular)
    expect(await readSource('/proc/self/environ')).toEqual(notRegular)
    expect(await readSource('/proc/self/fd/0')).toEqual(notRegular)
    expect(await readSource(folder.path)).toEqual({ why: 'it is a folder' })
    expect(await readSource(join(folder.path, 'a'.repeat(300)))).toEqual({ why: 'its path is too long' })
    const log = await logsWithin(() => undefined).open(uriOfPath(pipe))
    expect(() => log?.chunks()).toThrow('it is not a regular file')
  })

  it('have at most 16 MB where they are sources, and any size where they are logs', async () => {
    using folder = temporaryFolder({ 'a.detent': '' })
    const path = join(folder.path, 'a.detent')
    truncateSync(path, 16 * 1024 * 1024)
    expect((await readSource(path)) as Uint8Array).toHaveLength(16 * 1024 * 1024)
    truncateSync(path, 16 * 1024 * 1024 + 1)
    expect(await readSource(path)).toEqual({ why: 'it has 17 MB, and 16 MB are the most' })
    truncateSync(path, 100_000_000)
    const log = await logsWithin(() => undefined).open(uriOfPath(path))
    let bytes = 0
    let largest = 0
    for await (const piece of log?.chunks() ?? []) {
      bytes += piece.length
      largest = Math.max(largest, piece.length)
    }
    expect(bytes).toBe(100_000_000)
    expect(largest).toBeLessThan(1_000_000)
  })

  it('that grow without end are read as far as they went when they were opened', async () => {
    using folder = temporaryFolder({ 'a.csv': 'x'.repeat(300_000) })
    const path = join(folder.path, 'a.csv')
    const log = await logsWithin(() => undefined).open(uriOfPath(path))
    let bytes = 0
    for await (const piece of log?.chunks() ?? []) {
      bytes += piece.length
      writeFileSync(path, 'y'.repeat(300_000), { flag: 'a' })
    }
    expect(bytes).toBe(300_000)
  })
})
