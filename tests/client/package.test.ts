import { chmodSync, cpSync, mkdirSync, readFileSync, symlinkSync, utimesSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { strToU8, unzipSync, zipSync } from 'fflate'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import { writeBundles } from '../../client/scripts/build.ts'
import { packFolder, settled } from '../../client/scripts/package.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'
import { projectPaths, root } from '../harness/sources.ts'

let folders: readonly TemporaryFolder[] = []
afterAll(() => {
  for (const folder of folders) folder[Symbol.dispose]()
})

/** The project's files at another place, as a clone has them: written in some order, at some time, for some group. */
function cloned(into: string, paths: readonly string[], mode: number, time: number): void {
  for (const path of paths.filter(one => !one.startsWith('tests/'))) {
    mkdirSync(join(into, dirname(path)), { recursive: true })
    cpSync(join(root, path), join(into, path))
    chmodSync(join(into, path), mode)
    utimesSync(join(into, path), time, time)
  }
  symlinkSync(join(root, 'node_modules'), join(into, 'node_modules'))
}

async function packed(into: string): Promise<Uint8Array> {
  await writeBundles('shipped', join(into, 'dist'), `${into}/`)
  return packFolder(into, join(into, 'dist', 'detent.vsix'))
}

describe('the package', () => {
  let [one, other]: Uint8Array[] = []
  beforeAll(async () => {
    vi.spyOn(console, 'log').mockReturnValue(undefined)
    folders = [temporaryFolder({}), temporaryFolder({})]
    const [first, second] = [folders[0]!.path, join(folders[1]!.path, 'another', 'clone')]
    cloned(first, projectPaths(), 0o644, 1_700_000_000)
    cloned(second, projectPaths().toReversed(), 0o664, 1_800_000_000)
    one = await packed(first)
    const zone = process.env.TZ
    process.env.TZ = 'Pacific/Apia'
    other = await packed(second)
    process.env.TZ = zone ?? ''
    if (zone === undefined) delete process.env.TZ
  })

  it('is byte for byte the same from two clones', () => {
    expect(Buffer.from(one!).equals(Buffer.from(other!))).toBe(true)
  })

  it('has its entries by name, and what an editor asks for', () => {
    const names = Object.keys(unzipSync(one!))
    expect(names).toEqual([...names].sort())
    for (const name of ['extension.vsixmanifest', '[Content_Types].xml', 'extension/package.json']) {
      expect(names).toContain(name)
    }
    expect(names).toContain('extension/dist/server.cjs')
    const types = new TextDecoder().decode(unzipSync(one!)['[Content_Types].xml'])
    expect(types.match(/<Default /g)?.length).toBeGreaterThan(5)
  })

  it('has another time where it is asked for one', async () => {
    const earliestS = Date.UTC(1980, 0, 1) / 1000
    const first = await settled(zipSync({ 'b.txt': strToU8('two'), 'a.txt': strToU8('one') }), earliestS)
    const later = await settled(first, 1_700_000_000)
    expect(Buffer.from(later).equals(Buffer.from(first))).toBe(false)
    expect(Object.keys(unzipSync(later))).toEqual(['a.txt', 'b.txt'])
    expect(await settled(later, earliestS)).toEqual(first)
  })
})

describe('the bundles in it', () => {
  it('name no folder of the machine that built them', () => {
    const folder = folders[0]!.path
    expect(readFileSync(join(folder, 'dist', 'server.cjs'), 'utf8')).not.toContain(folder)
    expect(readFileSync(join(folder, 'dist', 'web.cjs'), 'utf8')).not.toContain('../../')
  })
})
