import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { proseOf } from './harness/prose.ts'
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

/** Words of the glossary in DEVELOPERS.md that are not said, in the prose of what is shipped and of its tests. */
const unsaid: readonly RegExp[] = [
  /\bmend(?:s|ed|ing)?\b/i,
  /\btold\b(?! (?:apart|from)\b)/i,
  /\bnought\b/i,
  /\bgrave(?:r|st)\b/i,
  /\bh[au]ng(?:s|ing)? together\b/i,
  /(?<!\bthere )\b(?:is|are|was|were) none\b/i,
  /\bbesides\b/i,
  /\boverread\b/i,
  /\b(?:see|sees|saw) to\b(?! it that\b)/i,
  /\bparted\b/i,
  /\bwherein\b/i,
  /\bholds? good\b/i,
  /(?<!\b(?:each|all|both|some|one|two|most) )\bof which\b/i,
  /\b(?:is|are|was|were) to be\b/i,
  /\b(?:held|hold|holds) against\b/i,
  /\b(?:not to|can|cannot|could) be had\b/i,
  /\banew\b/i,
  /\bfor want of\b/i,
  /\bby all (?:that|trials)\b/i,
]

/** Still to be reworded; what is done leaves the list. */
const notYetReworded: readonly string[] = []

const shipped = /^(?:client|server|grammar|tests)\/|^(?:README|DEVELOPERS|CHANGELOG)\.md$|^package\.json$/

/** The glossary itself names what it forbids. */
const glossary = /## Words\n[\s\S]*?(?=\n## )/

function unsaidIn({ path, text }: Source): readonly string[] {
  const prose = /\.(?:ts|mjs)$/.test(path) ? proseOf(text).text : text.replace(glossary, '').replaceAll(/\s+/g, ' ')
  return unsaid.flatMap(pattern => {
    const at = prose.search(pattern)
    return at < 0 ? [] : [`${path}: … ${prose.slice(Math.max(0, at - 40), at + 40).trim()} …`]
  })
}

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

  it('says the plain word', () => {
    const prose = sources.filter(({ path }) => shipped.test(path) && !notYetReworded.some(one => path.startsWith(one)))
    expect(prose.length).toBeGreaterThan(20)
    expect(prose.filter(({ path, text }) => /\.(?:ts|mjs)$/.test(path) && !proseOf(text).isWhole)).toEqual([])
    expect(prose.flatMap(unsaidIn)).toEqual([])
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

describe('the guard of plain words', () => {
  it.each([
    ['a.md', 'The line looks like a setting and is none.'],
    ['a.md', 'Mend it first.'],
    ['a.md', 'It is used all the same, and still told.'],
    ['a.md', 'A band of\nwhich nothing is known.'],
    ['a.md', 'A stop for want\nof voltage.'],
    ['a.ts', 'const text = `Probably not the voltage, by all that \x24{held}.`'],
    ['a.ts', '// A comment that was parted.'],
    ['a.ts', '/**\n * What errors hang\n * together.\n */'],
    ['a.ts', "const text = 'A time of nought shows nothing.'"],
    ['a.ts', 'const text = `\x24{count} besides \x24{other}`'],
    ['a.ts', 'const text = `\x24{wrap(`runs are held against \x24{one}`)}`'],
    ['a.ts', 'const quote = /["\'`]/\nconst text = "is to be checked"'],
  ])('refuses, in %s, “%s”', (path, text) => {
    expect(unsaidIn({ path, text })).toHaveLength(1)
  })

  it.each([
    ['a.md', 'Where there is none, two of them cannot be told apart.'],
    ['a.md', 'Two bounds, each of which is wide; a limit that cannot be seen to work; beside it.'],
    ['a.md', 'The department amends it, and sees to it that it departed.'],
    ['a.ts', 'const told = besides / parted'],
    ['a.ts', "const text = { kind: 'told', path: '../support/mend.ts' }"],
    ['a.ts', 'const text = `\x24{told} of \x24{besides}`'],
  ])('lets, in %s, “%s” pass', (path, text) => {
    expect(unsaidIn({ path, text })).toEqual([])
  })
})
