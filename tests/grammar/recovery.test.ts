import { readdirSync, readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { matchChunk } from '../../grammar/match.ts'
import type { Statement } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import { benches } from './fixtures.ts'
import { syntaxOf, tokensOf } from './helpers.ts'

const examplesFolder = new URL('../../grammar/examples/', import.meta.url)
const examples = readdirSync(examplesFolder, { recursive: true, encoding: 'utf8' })
  .filter(file => file.endsWith('.detent') && !file.startsWith('faulty'))
  .map(file => readFileSync(new URL(file, examplesFolder), 'utf8'))

/** The items of a statement with one space between them, none behind a sign. */
function spellItems({ items }: Statement, text: string): string {
  return items
    .map(item => text.slice(item.start, item.end) + (item.kind === 'sign' ? '' : ' '))
    .join('')
    .trimEnd()
}

interface Definition {
  readonly head: string
  readonly start: number
  readonly end: number
  /** Each sound statement in it as its place and items, its own head among them. */
  readonly statements: readonly string[]
}

function definitionsOf(text: string): Definition[] {
  const result: Definition[] = []
  for (const { start, chunk } of parseFile(text).chunks) {
    const spell = (statement: Statement): string => spellItems(statement, chunk.text)
    for (const match of matchChunk(chunk)) {
      const statements: string[] = []
      const visit = (each: Match): void => {
        if (each.sound) statements.push(`${each.place}: ${spell(each.statement)}`)
        each.children.forEach(visit)
      }
      visit(match)
      const { statement } = match
      result.push({ head: spell(statement), start: statement.start + start, end: statement.end + start, statements })
    }
  }
  return result
}

/** How many of the statements are missing among the others. */
function countLost(before: readonly string[], after: readonly string[]): number {
  const left = new Map<string, number>()
  for (const key of after) left.set(key, (left.get(key) ?? 0) + 1)
  let lost = 0
  for (const key of before) {
    const count = left.get(key) ?? 0
    if (count === 0) lost++
    else left.set(key, count - 1)
  }
  return lost
}

describe.each([...benches, ...examples].map((text, index) => ({ text, index })))(
  'deleting any one token of bench $index',
  ({ text }) => {
    const before = definitionsOf(text)
    const all = before.flatMap(each => each.statements)
    const deletions = tokensOf(text).map(token => ({
      token,
      after: definitionsOf(text.slice(0, token.start) + text.slice(token.end)),
    }))

    it('loses on average no more than one and a half statements', () => {
      const lost = deletions.map(({ after }) =>
        countLost(
          all,
          after.flatMap(each => each.statements),
        ),
      )
      const mean = lost.reduce((sum, each) => sum + each, 0) / lost.length
      expect(mean).toBeGreaterThan(0)
      // The language asks for 3.
      expect(mean).toBeLessThan(1.5)
      expect(Math.max(...lost)).toBeLessThanOrEqual(8)
    })

    it('leaves other definitions untouched', () => {
      for (const { token, after } of deletions) {
        const others = before.filter(each => token.end < each.start || token.start > each.end)
        for (const other of others) {
          const found = after.find(each => each.head === other.head)
          expect(found?.statements, `without ${JSON.stringify(token.text)} at ${token.start}`).toEqual(other.statements)
        }
      }
    })
  },
)

/** The tree as one line: blocks in braces, statements by their items. */
function shape(text: string): string {
  return parseFile(text)
    .chunks.map(({ chunk }) => {
      const spell = (statement: Statement): string => {
        const items = spellItems(statement, chunk.text)
        return statement.block === undefined ? items : `${items} {${statement.block.statements.map(spell).join(', ')}}`
      }
      return chunk.statements.map(spell).join(', ')
    })
    .filter(each => each !== '')
    .join(' | ')
}

describe('lost braces', () => {
  it('lets a definition close every open block', () => {
    const text = 'part a {\n  needs {\n    1x 2 V\nroom b {\n  air 20 °C\n}\n'
    expect(shape(text)).toBe('part a {needs {1x 2 V}} | room b {air 20 °C}')
    expect(syntaxOf(text)).toEqual(['unclosed-block "{"', 'unclosed-block "{"'])
  })

  it('closes by the indent of a closing brace', () => {
    const text = 'profile a {\n  fan {\n    24 °C 30 %\n  steps {\n    1 core 5x\n  }\n  vector -1x\n}\n'
    expect(shape(text)).toBe('profile a {fan {24 °C 30 %}, steps {1 core 5x}, vector -1x}')
    expect(syntaxOf(text)).toEqual(['unclosed-block "{"'])
  })

  it('counts a block word before deeper lines as opened', () => {
    const text = 'profile a {\n  steps\n    1 core 5x\n  }\n  vector -1x\n}\n'
    expect(shape(text)).toBe('profile a {steps {1 core 5x}, vector -1x}')
    expect(syntaxOf(text)).toEqual(['missing-open "steps"'])
  })

  it('counts a definition before deeper lines as opened', () => {
    const text = 'part a\n  cores 4\n}\nroom b\n\n  # in the cellar\n  air 12 °C\n'
    expect(shape(text)).toBe('part a {cores 4} | room b {air 12 °C}')
    expect(syntaxOf(text)).toEqual(['missing-open "part a"', 'missing-open "room b"'])
  })

  it('opens a block on one line before its statements', () => {
    const text = 'load a cores 2; activity 1 }\n'
    expect(shape(text)).toBe('load a {cores 2, activity 1}')
    expect(syntaxOf(text)).toEqual(['missing-open "load a"'])
  })

  it('ends a block on one line with the line', () => {
    const text = 'profile a {\n  voltage { core needs\n  vector -1x\n}\n'
    expect(shape(text)).toBe('profile a {voltage {core needs}, vector -1x}')
    expect(syntaxOf(text)).toEqual(['unclosed-block "{"'])
  })

  it('leaves a brace too many out of the tree', () => {
    const text = 'profile a {\n  vector -1x\n  }\n  drive off\n}\n'
    expect(shape(text)).toBe('profile a {vector -1x, drive off}')
    expect(syntaxOf(text)).toEqual(['stray-close "}"'])
  })

  it('trusts braces that balance, whatever the indent', () => {
    const text = 'part a {\ncores 4\n    module {\n  at 27 °C\n  voltage 15 V\n      heat 100 W\n}\n  }\n'
    expect(shape(text)).toBe('part a {cores 4, module {at 27 °C, voltage 15 V, heat 100 W}}')
    expect(syntaxOf(text)).toEqual([])
  })

  it('takes keys that name a definition for keys', () => {
    const text = 'profile a {\npart b\n  cooler c\n  room d; steps { 1 core 5x }\nload e {\n}\n'
    expect(shape(text)).toBe('profile a {part b, cooler c, room d, steps {1 core 5x}} | load e {}')
  })

  it('bounds the depth of blocks', () => {
    const text = `part a ${'{'.repeat(5000)}${'}'.repeat(5000)}\nroom b { air 20 °C }\n`
    expect(shape(text)).toMatch(/\| room b \{air 20 °C\}$/)
    expect(new Set(syntaxOf(text))).toEqual(new Set(['nested-too-deep "{"', 'block-without-head "{"']))
  })
})

describe('lost line ends and heads', () => {
  it('reads the rows under a misspelt head', () => {
    const [definition] = definitionsOf(
      'profile a {\n  stpes {\n    1 to 2 cores 5x\n    3 cores 4x\n  }\n  vector -1x\n}\n',
    )
    expect(definition?.statements).toEqual([
      'file: profile a',
      'steps: 1 to 2 cores 5x',
      'steps: 3 cores 4x',
      'profile: vector -1x',
    ])
  })

  it('reads the keys under a lost definition word', () => {
    const [definition] = definitionsOf('a {\n  cores 4\n  activity 0.5\n  vector yes\n}\n')
    expect(definition?.statements).toEqual(['load: cores 4', 'load: activity 0.5', 'load: vector yes'])
  })

  it('reads nothing into a block that fits nowhere', () => {
    const [definition] = definitionsOf('group a {\n  cores 4\n  kind wide\n  share 2\n}\n')
    expect(definition?.statements).toEqual([])
  })

  it('does not take a key and a block on one line for a definition', () => {
    expect(shape('profile a {\n  room b steps {\n    1 core 5x\n  }\n  vector -1x\n}\n')).toBe(
      'profile a {room b steps {1 core 5x}, vector -1x}',
    )
  })

  it('reads a definition behind a byte order mark', () => {
    expect(shape('\ufeffpart a {\n  cores 4\n}\n')).toBe('part a {cores 4}')
  })

  it('tells two statements on one line', () => {
    expect(syntaxOf('load a { cores 2 } load b { cores 3 }\n')).toEqual(['missing-line-end "load"'])
  })
})
