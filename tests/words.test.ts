import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { projectPaths, readSources, root, type Source } from './harness/sources.ts'

/** This file names what it forbids; the lock file names packages of others. */
const exempt = new Set(['tests/words.test.ts', 'package-lock.json', 'LICENSE'])
const readable = /\.(?:ts|mjs|js|json|md|detent|css|html|svg|txt|yaml|yml)$|^\.|^\.ci\//

/** The project speaks of itself alone, not of the machine it was written on or of how it was written. */
const forbidden: readonly RegExp[] = [
  /registry\.npmjs|npmjs\.(?:org|com)\/|deb\.debian\.org|security\.debian\.org|npmmirror/i,
  /\/(?:work\/(?:main|shared)|farm\/)|\/work\/\.library|\/root\/|\/home\/[a-z]/,
  /\.\.\/shared\b/,
  /\bAI\b|\bLLMs?\b|\bsub-?agents?\b|\bagents?\b|\bprompts?\b|\blarge language model/,
  /\b(?:chatgpt|claude|anthropic|openai)\b/i,
  /\b(?:this|last|previous|earlier|next|coding) session\b|\bthe (?:task |design )?brief\b|\bissue #?\d+/i,
]

const longestLines = 450

/** What stands at the top beside dot-files and what git ignores. */
const topLevel = new Set([
  ...['package.json', 'package-lock.json', 'tsconfig.json', 'README.md', 'DEVELOPERS.md', 'LICENSE', 'CHANGELOG.md'],
  ...['client', 'server', 'grammar', 'tests'],
])

function offences({ path, text }: Source): readonly string[] {
  return text
    .split('\n')
    .flatMap((line, index) => (forbidden.some(pattern => pattern.test(line)) ? [`${path}:${index + 1}: ${line}`] : []))
}

describe('the project', () => {
  const sources = readSources(path => readable.test(path) && !exempt.has(path))

  it('speaks of itself alone', () => {
    expect(sources.length).toBeGreaterThan(20)
    expect(sources.flatMap(offences)).toEqual([])
  })

  it('has no file that is two in one', () => {
    const long = sources.filter(({ path, text }) => path.endsWith('.ts') && text.split('\n').length > longestLines + 1)
    expect(long.map(({ path }) => path)).toEqual([])
  })

  it('names no registry host in its lock file', () => {
    const lock = readFileSync(join(root, 'package-lock.json'), 'utf8')
    expect(lock.includes('"resolved": "http')).toBe(false)
  })

  it('has nothing new at the top', () => {
    const names = new Set(projectPaths().map(path => path.split('/')[0] ?? ''))
    expect([...names].filter(name => !name.startsWith('.') && !topLevel.has(name))).toEqual([])
  })
})

describe('the guard of words', () => {
  it.each([
    'see /work/shared/model.md',
    'https://registry.npmjs.org/x',
    'written by an agent',
    'as an AI would',
    'in the previous session',
    'fixes issue #12',
    "'../shared/other.json'",
  ])('refuses “%s”', text => {
    expect(offences({ path: 'a.ts', text })).toHaveLength(1)
  })

  it.each(['an editor session', 'the work / main ratio', 'disableAIFeatures', 'reagent'])('lets “%s” pass', text => {
    expect(offences({ path: 'a.ts', text })).toEqual([])
  })
})
