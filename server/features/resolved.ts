/** A profile written out with all that it starts from: each setting on its own line, with where it comes from. */

import { parseFile } from '../../grammar/file.ts'
import { format } from '../../grammar/printer.ts'
import type { Match } from '../../grammar/values.ts'
import { mostInherited, remarkWords } from '../../grammar/vocabulary/index.ts'
import { headSpan } from '../checks/support/place.ts'
import { type Definition, entries, nameAfter, rows } from '../semantic/definitions.ts'
import { type ResolvedProfile, resolveProfile, type Sourced } from '../semantic/profile.ts'
import type { FileView, Workspace } from '../workspace/workspace.ts'
import { overlayName, shownPlace } from './overlay/index.ts'
import { usePath } from './uses.ts'

interface Writer {
  readonly view: FileView
  readonly profile: ResolvedProfile
}

/** `daily, line 12`, with the file where it is another one. */
function originOf({ view, profile }: Writer, definition: Definition, match: Match): string {
  const home = view.documents.find(document => document.starts.has(definition.chunk)) ?? view.document
  const offset = (home.starts.get(definition.chunk) ?? 0) + match.statement.start
  const { uri, overlay, line } = shownPlace(home, offset)
  if (overlay !== undefined) return `# ${definition.name}, ${overlayName(overlay)}`
  const own = view.documents.find(document => document.starts.has(profile.definition.chunk)) ?? view.document
  const file = uri === own.uri ? '' : `${usePath(own.uri, uri) ?? uri} `
  return `# ${definition.name}, ${file}line ${line}`
}

function headText({ definition, match }: Sourced): string {
  const { start, end } = headSpan(match.statement)
  return definition.chunk.text.slice(start, end)
}

/** A statement on a line of its own; its block, where it has one, holds these lines. */
function lines(writer: Writer, sourced: Sourced, inside?: readonly string[]): readonly string[] {
  const origin = originOf(writer, sourced.definition, sourced.match)
  const head = headText(sourced)
  return inside === undefined ? [`${head} ${origin}`] : [`${head} { ${origin}`, ...inside, '}']
}

/** A word with the group or rail that it is for, which counts by itself; undefined: for all. */
interface Key {
  readonly word: string
  readonly name: string | undefined
}

/** Words whose every statement is written, whatever name stands behind it. */
const wholeWords: readonly string[] = ['expect', ...remarkWords]

/** The keys of these blocks, each once, in the order in which they first stand. */
function keysOf(blocks: readonly Match[]): readonly Key[] {
  const found = new Map<string, Key>()
  for (const one of blocks.flatMap(({ children }) => children)) {
    const word = one.word?.word ?? ''
    if (!one.sound || word === '') continue
    const name = wholeWords.includes(word) ? undefined : nameAfter(one)
    const key = `${word} ${name ?? ''}`
    if (!found.has(key)) found.set(key, { word, name })
  }
  return [...found.values()]
}

/** Every profile that the profile starts from, the farthest first, so that its order leads. */
function baseFirst({ profile }: Writer): readonly Definition[] {
  return [...profile.chain].reverse()
}

/** The keys of `limits` or `voltage`: each counts by itself, wherever along the chain it stands. */
function innerLines(writer: Writer, block: 'limits' | 'voltage'): readonly string[] {
  const { profile } = writer
  const blocks = baseFirst(writer).flatMap(link => entries(link.match, block).slice(-1))
  return keysOf(blocks).flatMap(({ word, name }) => {
    if (word === 'set') return profile.setRows(name).flatMap(row => lines(writer, row))
    if (remarkWords.includes(word)) return []
    const found = profile.inner(block, word, name)
    return found === undefined ? [] : lines(writer, found)
  })
}

function tableLines(writer: Writer, table: Sourced): readonly string[] {
  const allowed = remarkWords.flatMap(word => entries(table.match, word))
  return [...rows(table.match), ...allowed].flatMap(match => lines(writer, { match, definition: table.definition }))
}

function keyLines(writer: Writer, { word, name }: Key): readonly string[] {
  const { profile } = writer
  if (word === 'expect') {
    const all = profile.expectations()
    return baseFirst(writer).flatMap(link =>
      all.filter(one => one.definition === link).flatMap(one => lines(writer, one)),
    )
  }
  if (remarkWords.includes(word)) {
    return baseFirst(writer).flatMap(definition =>
      entries(definition.match, word).flatMap(match => lines(writer, { match, definition })),
    )
  }
  const found = profile.key(word, name)
  if (found === undefined) return []
  if (word === 'limits' || word === 'voltage') return lines(writer, found, innerLines(writer, word))
  return found.match.word?.block === undefined ? lines(writer, found) : lines(writer, found, tableLines(writer, found))
}

function chainText({ profile }: Writer): readonly string[] {
  const [own, ...others] = profile.chain.map(({ name }) => name)
  const broken = {
    unknown: ` It starts from \`${profile.chain.at(-1)?.basedOn?.text}\`, which is not known.`,
    cycle: ' It starts from itself.',
    deep: ` It starts from more than ${mostInherited} others in a row.`,
  }
  const from = others.length === 0 ? 'which starts from no other' : `with all that it has from ${others.join(', ')}`
  const how = profile.broken === undefined ? '' : broken[profile.broken]
  return [`# Profile ${own}, ${from}.${how}`, '# Each line ends with the place where it is written.']
}

/** The profile of this name in a file, written out and formatted; undefined where there is none. */
export function resolvedText(workspace: Workspace, uri: string, name: string): string | undefined {
  const view = workspace.view(uri)
  const definition = view?.document.definitions.findLast(one => one.kind === 'profile' && one.name === name)
  if (view === undefined || definition === undefined) return undefined
  const writer = { view, profile: resolveProfile(view.scope, definition) }
  const keys = keysOf(baseFirst(writer).map(({ match }) => match))
  const text = [
    ...chainText(writer),
    'detent 1',
    '',
    `profile ${name} { ${originOf(writer, definition, definition.match)}`,
    ...keys.flatMap(key => keyLines(writer, key)),
    '}',
    '',
  ].join('\n')
  return format(parseFile(text))
}
