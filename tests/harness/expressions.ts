/** The regular expressions of the sources, and texts on which one that is not linear takes very long. */
import { stripTypeScriptTypes } from 'node:module'
import { parse } from 'acorn'
import { full } from 'acorn-walk'
import { analyse } from 'scslre'
import type { Source } from './sources.ts'

export interface Expression {
  /** `path:line`, for messages. */
  readonly at: string
  readonly source: string
  readonly flags: string
}

interface Literal {
  readonly type: string
  readonly start: number
  readonly regex?: { readonly pattern: string; readonly flags: string }
}

/** Every regular expression that is written out in a TypeScript text. Types are blanked, so that places stay as they are. */
export function expressionsIn({ path, text }: Source): readonly Expression[] {
  const found: Expression[] = []
  const tree = parse(stripTypeScriptTypes(text), { ecmaVersion: 'latest', sourceType: 'module' })
  full(tree, node => {
    const { type, start, regex } = node as unknown as Literal
    if (type !== 'Literal' || regex === undefined) return
    const line = text.slice(0, start).split('\n').length
    found.push({ at: `${path}:${line}`, source: regex.pattern, flags: regex.flags })
  })
  return found
}

/** What an analysis of the pattern says against it: the repeated character and the kind of repetition. */
export function doubts({ source, flags }: Pick<Expression, 'source' | 'flags'>): readonly string[] {
  return analyse({ source, flags }).reports.map(
    ({ type, exponential, character }) =>
      `${exponential ? 'exponential' : type} over ${JSON.stringify(character.pick)} in /${source}/${flags}`,
  )
}

const usual = ['a', 'A', '1', ' ', '\t', '\n', '\r\n', '-', '_', '.', ',', '"', '`', '/', '\\', 'é', '(', '[', '\u0000']
const pairs = ['1,', '1.', 'a-', 'a.', ' ;', '""', '1 ', 'a ', '-1', '.0', '[a', '(1']

/** What is repeated: usual characters, those that the pattern itself names, and its words. */
function repeated({ source, flags }: Pick<Expression, 'source' | 'flags'>): readonly string[] {
  const own = source.replace(/\\[a-zA-Z]|[\\()[\]{}|^$?*+]/g, ' ')
  const words = own.match(/[a-zA-Z]{2,}/g) ?? []
  const signs = [...new Set(own.replace(/\s/g, ''))].slice(0, 24)
  const picked = analyse({ source, flags }).reports.map(({ character }) => character.pick)
  return [...new Set([...picked, ...usual, ...pairs, ...signs, ...words, ...words.map(word => `${word} `)])]
}

/** One thing over and over, and something before and behind that may spoil the match. */
function textsOf(one: string, length: number): readonly string[] {
  const many = one.repeat(Math.ceil(length / one.length))
  return [many, `${many}\n!`, `1${many}x1`]
}

const shared = new Map<string, readonly string[]>()

/** Texts of about this length on which an expression that is not linear takes long. */
export function* attacks(expression: Pick<Expression, 'source' | 'flags'>, length: number): Iterable<string> {
  for (const one of repeated(expression)) {
    const key = `${length} ${one}`
    const texts = shared.get(key) ?? textsOf(one, length)
    if (usual.includes(one)) shared.set(key, texts)
    yield* texts
  }
}

/** Runs an expression over a text as the sources do: over all of it where it is global. */
export function run({ source, flags }: Pick<Expression, 'source' | 'flags'>, text: string): void {
  const expression = new RegExp(source, flags)
  if (expression.global) text.replace(expression, '')
  else expression.exec(text)
}
