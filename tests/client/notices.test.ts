import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { noticesFile, writeBundles } from '../../client/scripts/build.ts'
import { type Notice, noticesOf, objections } from '../../client/scripts/notices.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'
import { root } from '../harness/sources.ts'

let folder: TemporaryFolder
let notices: readonly Notice[]
let text: string

beforeAll(async () => {
  folder = temporaryFolder({})
  const inputs = await writeBundles('shipped', folder.path)
  notices = noticesOf(Object.values(inputs).flat(), root)
  text = readFileSync(join(folder.path, noticesFile), 'utf8')
}, 180_000)

afterAll(() => folder[Symbol.dispose]())

describe('what is bundled of others', () => {
  it('is this, under these licences', () => {
    const families = notices.map(
      ({ name, licence }) => `${name.startsWith('@stdlib/') ? '@stdlib/*' : name} ${licence}`,
    )
    expect([...new Set(families)]).toEqual([
      '@chevrotain/cst-dts-gen Apache-2.0',
      '@chevrotain/gast Apache-2.0',
      '@chevrotain/regexp-to-ast Apache-2.0',
      '@chevrotain/utils Apache-2.0',
      '@colors/colors MIT',
      '@stdlib/* Apache-2.0',
      '@stdlib/* Apache-2.0 AND BSL-1.0',
      'ansi-regex MIT',
      'balanced-match MIT',
      'brace-expansion MIT',
      'chevrotain Apache-2.0',
      'cli-table3 MIT',
      'commander MIT',
      'd3-array ISC',
      'd3-color ISC',
      'd3-format ISC',
      'd3-interpolate ISC',
      'd3-path ISC',
      'd3-scale ISC',
      'd3-shape ISC',
      'damerau-levenshtein BSD-2-Clause',
      'debug MIT',
      'emoji-regex MIT',
      'internmap ISC',
      'is-fullwidth-code-point MIT',
      'minimatch BlueOak-1.0.0',
      'ms MIT',
      'papaparse MIT',
      'semver ISC',
      'string-width MIT',
      'strip-ansi MIT',
      'vscode-jsonrpc MIT',
      'vscode-languageclient MIT',
      'vscode-languageserver MIT',
      'vscode-languageserver-protocol MIT',
      'vscode-languageserver-textdocument MIT',
      'vscode-languageserver-types MIT',
      'xmlbuilder MIT',
    ])
  })

  it('is of the versions that the lock file names', () => {
    const { packages } = JSON.parse(readFileSync(join(root, 'package-lock.json'), 'utf8')) as {
      readonly packages: Readonly<Record<string, { readonly version?: string }>>
    }
    for (const { name, version } of notices) {
      const locked = Object.entries(packages).filter(([path]) => path.endsWith(`node_modules/${name}`))
      expect(
        locked.map(([, one]) => one.version),
        name,
      ).toContain(version)
    }
  })

  it('has its name, version and licence texts in the notices', () => {
    for (const { name, version, licence, texts } of notices) {
      expect(text).toContain(`${name} ${version} (${licence})`)
      for (const one of texts) expect(text).toContain(one)
    }
  })
})

describe('a licence', () => {
  const sound = { name: 'a', version: '1.0.0', licence: 'MIT', texts: ['Permission is hereby granted'] }

  it('that is not known, or whose text is missing, is objected to', () => {
    expect(objections([sound])).toEqual([])
    expect(objections([{ ...sound, licence: 'unknown' }])).toHaveLength(1)
    expect(objections([{ ...sound, licence: 'Anything-1.0' }])).toHaveLength(1)
    expect(objections([{ ...sound, texts: [] }])).toHaveLength(1)
  })
})
