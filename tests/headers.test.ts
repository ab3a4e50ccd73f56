import { describe, expect, it } from 'vitest'
import { opening } from './harness/opening.ts'
import { readSources } from './harness/sources.ts'

const sources = readSources(path => /^(?:client|server|grammar|tests)\/.*\.(?:ts|mjs|css)$/.test(path))

describe('every file', () => {
  it('opens with a line that says what it is for; a check and a test say it by their title', () => {
    expect(sources.length).toBeGreaterThan(700)
    expect(sources.filter(source => opening(source) === undefined).map(({ path }) => path)).toEqual([])
  })

  it('of two does not open with the same line', () => {
    const seen = new Map<string, string[]>()
    for (const source of sources) {
      // The lists of checks are all alike but for their folder.
      if (/^server\/checks\/\w+\/index\.ts$/.test(source.path)) continue
      const line = opening(source) ?? ''
      seen.set(line, [...(seen.get(line) ?? []), source.path])
    }
    expect([...seen.values()].filter(paths => paths.length > 1 && !paths.every(path => isTest(path)))).toEqual([])
  })
})

const isTest = (path: string): boolean => /\.(?:test|spec|look)\.ts$/.test(path)

describe('the guard of opening lines', () => {
  it.each([
    ['server/a.ts', '/** What it is for. */\n\nimport x from "y"\n', 'What it is for.'],
    ['client/a.mjs', '#!/usr/bin/env node\n/**\n * What it is for.\n */\n', 'What it is for.'],
    ['client/a.css', '/* What it is for. */\n', 'What it is for.'],
    ['client/a.ts', '// What it is for.\n', 'What it is for.'],
    ['server/a.ts', 'import x from "y"\n\n/** What it is for. */\n', undefined],
    ['server/a.ts', '/***/\nexport {}\n', undefined],
    ['server/checks/a/b.ts', "export const b: Check = {\n  code: 'b',\n  title: 'A band',\n", 'A band'],
    ['tests/a.test.ts', "import x from 'y'\n\ndescribe('a band', () => {", 'a band'],
    ['tests/a.test.ts', "import x from 'y'\n", undefined],
    ['tests/a.ts', "import x from 'y'\n\ndescribe('a band', () => {", undefined],
  ])('of %s with %j reads %s', (path, text, line) => {
    expect(opening({ path, text })).toBe(line)
  })
})
