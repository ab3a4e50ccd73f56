import { symlinkSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { type Bundle, buildShared, mustShare } from '../../client/scripts/shared-modules.ts'
import { temporaryFolder } from '../harness/process.ts'

/** Bundles that share modules, wherever the modules are. */

const project = {
  'library/index.js': 'class Thing {}\nmodule.exports = { Thing }\n',
  'library/package.json': '{ "name": "library", "main": "index.js" }',
  'whole.ts': "import { Thing } from 'library'\nexport const make = (): unknown => new Thing()\n",
  'addition.ts':
    "import { Thing } from 'library'\nexport const isThing = (one: unknown): boolean => one instanceof Thing\n",
}
const bundles: readonly Bundle[] = [
  { name: 'whole.cjs', entry: 'whole.ts', exports: ['make'], options: {} },
  { name: 'addition.cjs', entry: 'addition.ts', from: 'whole.cjs', options: {} },
]

describe('bundles that share modules', () => {
  it.each([
    ['as it is', 'own'],
    ['behind a link', 'link'],
    ['behind a link, in a project behind a link', 'both'],
  ])('share those of a library %s', async (_, how) => {
    const place = how === 'own' ? 'project/node_modules/library' : 'elsewhere/library'
    const files = Object.entries(project).map(([path, text]): [string, string] => [
      path.startsWith('library/') ? place + path.slice('library'.length) : `project/${path}`,
      text,
    ])
    using folder = temporaryFolder(Object.fromEntries(files))
    if (how !== 'own') symlinkSync(join(folder.path, 'elsewhere'), join(folder.path, 'project/node_modules'))
    if (how === 'both') symlinkSync(join(folder.path, 'project'), join(folder.path, 'linked'))
    const root = join(folder.path, how === 'both' ? 'linked' : 'project')
    const common = { absWorkingDir: `${root}/`, bundle: true, format: 'cjs', platform: 'node' } as const
    const inputs = await buildShared(bundles, common, join(folder.path, 'out'))
    const load = createRequire(join(folder.path, 'out/'))
    const { make } = load('./whole.cjs') as { make: () => unknown }
    const { isThing } = load('./addition.cjs') as { isThing: (one: unknown) => boolean }
    expect(isThing(make())).toBe(true)
    expect(inputs['addition.cjs']).toContain('./whole.cjs')
    const isLibrary = (path: string): boolean => path.endsWith('library/index.js') && !path.startsWith('whole:')
    expect(Object.values(inputs).map(paths => paths.some(isLibrary))).toEqual([true, false])
  })

  it('say in one line where they do not', () => {
    const held = { 'whole.cjs': ['a.ts', 'b.js'], 'addition.cjs': ['c.ts', 'whole:a.ts', './whole.cjs'] }
    expect(() => mustShare(bundles, held)).not.toThrow()
    const twice = { ...held, 'addition.cjs': [...held['addition.cjs'], 'b.js'] }
    expect(() => mustShare(bundles, twice)).toThrow(
      /^addition\.cjs holds again what it should take from whole\.cjs: b\.js$/,
    )
  })
})
