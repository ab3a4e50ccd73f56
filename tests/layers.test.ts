import { describe, expect, it } from 'vitest'
import { circles, forbiddenImports, importsOf, roomOf } from './harness/imports.ts'
import { readSources } from './harness/sources.ts'

const sources = readSources(path => path.endsWith('.ts'))

describe('the layers', () => {
  it('are kept by every file', () => {
    expect(sources.length).toBeGreaterThan(20)
    expect(forbiddenImports(sources)).toEqual([])
  })

  it('have no circle', () => {
    expect(circles(sources)).toEqual([])
  })

  it('have no circle among the rooms within them', () => {
    expect(circles(sources, roomOf)).toEqual([])
  })
})

describe('the guard of the layers', () => {
  it('reads every way to import', () => {
    const text = [
      "import type { A } from './a.ts'",
      'import {',
      '  b,',
      "} from './b.ts'",
      "import './c.ts'",
      "export * from './d.ts'",
      "export type { E } from './e.ts'",
      "// import './no.ts'",
      "const f = await import('./f.ts')",
    ].join('\n')
    expect(importsOf(text).map(({ specifier, kind }) => `${specifier} ${kind}`)).toEqual([
      './a.ts type',
      './b.ts value',
      './c.ts value',
      './d.ts value',
      './e.ts type',
      './f.ts value',
    ])
  })

  it.each([
    ['server/model/fan.ts', "import { x } from '../../grammar/tree.ts'"],
    ['server/model/fan.ts', "import { x } from 'node:fs'"],
    ['grammar/units/units.ts', "import { x } from '../tree.ts'"],
    ['server/checks/fan.ts', "import { x } from 'vscode-languageserver/node.js'"],
    ['server/lsp/hover.ts', "import { x } from '../features/hover.ts'"],
    ['client/extension.ts', "import type { X } from '../server/service.ts'"],
    ['server/cli/main.ts', "import { x } from 'vscode'"],
    ['server/service.ts', "import { x } from './lsp/main.ts'"],
    ['server/extra/file.ts', "import { x } from '../service.ts'"],
    ['tests/model/fan.test.ts', "import { x } from 'vscode'"],
  ])('refuses, in %s, %s', (path, text) => {
    expect(forbiddenImports([{ path, text }])).toHaveLength(1)
  })

  it('lets types through where only types are allowed', () => {
    const text = "import type { Hover } from '../features/hover.ts'"
    expect(forbiddenImports([{ path: 'server/lsp/hover.ts', text }])).toEqual([])
  })

  it('finds a circle', () => {
    const there = { path: 'server/checks/a.ts', text: "import { b } from '../features/b.ts'" }
    const back = { path: 'server/features/b.ts', text: "import { a } from '../checks/a.ts'" }
    expect(circles([there, back])).toEqual(['server/checks → server/features → server/checks'])
    expect(circles([there])).toEqual([])
    const inRooms = [
      { path: 'server/bench/a/x.ts', text: "import { b } from '../b/y.ts'" },
      { path: 'server/bench/b/z.ts', text: "import type { C } from '../a/v.ts'" },
    ]
    expect(circles(inRooms)).toEqual([])
    expect(circles(inRooms, roomOf)).toEqual(['server/bench/a → server/bench/b → server/bench/a'])
  })
})
