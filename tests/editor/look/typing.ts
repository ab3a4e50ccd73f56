/** Text as a person types it, key by key, and which text that is. */

import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { root } from '../../../client/scripts/editor/cache.ts'
import { parseFile } from '../../../grammar/file.ts'
import { matchChunk } from '../../../grammar/match.ts'
import type { Match } from '../../../grammar/values.ts'
import { type Place, wordsIn } from '../../../grammar/vocabulary/index.ts'
import type { Editor } from './editor.ts'

const folder = join(root, 'grammar', 'examples', 'bench')

/** The files of the example bench, by name. */
export function exampleBench(): ReadonlyMap<string, string> {
  const names = readdirSync(folder).filter(name => name.endsWith('.detent'))
  return new Map(names.map(name => [name, readFileSync(join(folder, name), 'utf8')]))
}

/** Whether one of the keys that may stand in the same place begins with this one: the list is then open over a whole word. */
function beginsAnother(place: Place, word: string): boolean {
  return wordsIn(place).some(other => other.word !== word && other.word.startsWith(word))
}

/** What makes a statement one of its kind for a person who types it: what follows what, and which units end it. */
function kindOf({ place, word, statement }: Match): string {
  const items = statement.items.map(item =>
    item.kind === 'number' ? (item.unit?.text ?? 'number') : item.kind === 'sign' ? item.sign : item.kind,
  )
  const key = word?.word ?? ''
  const isNamed = word?.block !== undefined || beginsAnother(place, key)
  return [place === 'file' ? '' : isNamed ? place : '', isNamed ? key : '', ...items].join(' ')
}

/** The lines of statements that come after another of their kind; a block stays with what is in it. */
function repeated(text: string, seen: Set<string>): ReadonlySet<number> {
  const lines = new Set<number>()
  for (const { chunk, start } of parseFile(text).chunks) {
    const lineOf = (offset: number): number => text.slice(0, start + offset).split('\n').length - 1
    const visit = (match: Match, head: number): boolean => {
      const { statement, children } = match
      const kind = kindOf(match)
      const isNew = !seen.has(kind)
      seen.add(kind)
      const line = lineOf(statement.start)
      const isFilled = children.map(child => visit(child, line)).some(found => found)
      const [first] = children
      // A block is typed with something in it.
      if (isNew && !isFilled && first !== undefined) lines.delete(lineOf(first.statement.start))
      // What shares its line with the head of its block stays with that.
      if (isNew || isFilled || line === head) return isNew || isFilled
      for (let at = line; at <= lineOf(statement.end); at++) lines.add(at)
      return false
    }
    for (const match of matchChunk(chunk)) visit(match, -1)
  }
  return lines
}

/**
 * Each kind of statement of the example bench once, the files behind one another; of long texts only what is tricky.
 * @param most ends behind the definition with which it becomes longer than so many characters
 */
export function eachStatement(most = Number.POSITIVE_INFINITY): string {
  const seen = new Set<string>()
  const kept = [...exampleBench().values()].flatMap(text => {
    const dropped = repeated(text, seen)
    const lines = text.split('\n')
    return lines.filter((line, index) => !dropped.has(index) && !line.startsWith('#') && line !== '')
  })
  let comments = 0
  const short = kept.map(line =>
    line
      .replaceAll(/"[^"]{12,}"/g, '"an {a}"')
      .replace(/ {2,}#.*/, comment => (comments++ < 3 ? comment.replace(/ +# (.{8}).*/, '  # $1') : '')),
  )
  return `# the whole language\n${wholeDefinitions(short, most).join('\n')}\n\n# end\n`
}

function wholeDefinitions(lines: readonly string[], most: number): readonly string[] {
  let [length, depth] = [0, 0]
  const last = lines.findIndex(line => {
    const bare = line.replace(/"[^"]*"|#.*/g, '')
    length += line.length + 1
    depth += bare.split('{').length - bare.split('}').length
    return depth === 0 && length > most
  })
  return last < 0 ? lines : lines.slice(0, last + 1)
}

/** Pauses of a quick typist in milliseconds, in a fixed but uneven order. */
const pauses = [70, 45, 90, 60, 50, 110, 65, 55, 80, 40]

/**
 * How a text is typed. `even`: every key at the speed of a person. `bursts`: the letters of a word one right after
 * another, and a person's pause behind it, where a list that is open would take the next key.
 */
export type Typing = 'even' | 'bursts'

const burstMs = 8
/** From the letters to the arrow keys; trained typists take 0.3 s to 0.4 s (common practice, no source). */
const reachMs = 250

/**
 * Types a text whose lines are all to be indented by the editor: Enter before each line, and where a block ends, which
 * the editor has closed already, down and to the end of that line.
 */
export async function typeLikeAPerson({ page }: Editor, text: string, typing: Typing): Promise<void> {
  let count = 0
  const wait = (isWithin: boolean): Promise<void> => {
    const pause = pauses[count++ % pauses.length] ?? 60
    return page.waitForTimeout(isWithin && typing === 'bursts' ? burstMs : pause)
  }
  const press = async (key: string): Promise<void> => {
    await page.keyboard.press(key)
    await wait(false)
  }
  for (const [index, line] of text.split('\n').entries()) {
    const words = line.trim()
    if (words === '}') {
      // The hand leaves the letters for the arrows.
      await page.waitForTimeout(reachMs)
      await press('ArrowDown')
      await press('End')
      continue
    }
    if (index > 0) await press('Enter')
    for (const [at, letter] of [...words].entries()) {
      await page.keyboard.type(letter)
      const next = words[at + 1]
      await wait(letter !== ' ' && next !== undefined && !' ;}'.includes(next))
    }
  }
}
