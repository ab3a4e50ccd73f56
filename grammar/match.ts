/** Gives the statements of a chunk their meaning by place: the first word is looked up, then its forms are tried. */

import { wordsInAnyOrder } from './any-order.ts'
import { onceFor } from './once.ts'
import { type Fill, fillForm } from './slots.ts'
import { isWellFormed } from './tokens.ts'
import type { Chunk, Item, Statement } from './tree.ts'
import type { Match, MatchProblem } from './values.ts'
import { findWord, mostInBlock, opensDefinition, type Place, type Word, wordsIn } from './vocabulary/index.ts'

/** Items that already have a finding of their own; a second one on the same line would be noise. */
function alreadyReported(item: Item): boolean {
  if (item.kind === 'unknown') return true
  if (item.kind === 'word') return !isWellFormed(item.text)
  return item.kind === 'number' && Number.isNaN(item.value)
}

interface Entry {
  readonly word: Word
  /** How many items the key word itself takes: none for a row. */
  readonly skip: number
}

/** The words with which a row can begin. */
const rowWords = onceFor((row: Word): readonly string[] => row.forms.flatMap(wordsInAnyOrder))

/** The words that stand behind the name that a row begins with; undefined where it begins with none. */
const wordsBehindName = onceFor(({ forms }: Word): readonly string[] | undefined =>
  forms.some(([slot]) => slot?.slot !== 'reference')
    ? undefined
    : forms.flatMap(([, slot]) => (slot?.slot === 'literal' ? [slot.word] : [])),
)

/**
 * Whether a row that begins with a name stands here: its second item tells it from a line with a key word, so that a name
 * may be one.
 */
function beginsNamed(row: Word, { items }: Statement): 'yes' | 'perhaps' | 'no' {
  const behind = items[0]?.kind === 'word' ? wordsBehindName(row) : undefined
  if (behind === undefined) return 'no'
  const second = items[1]
  if (second?.kind === 'number' || (second?.kind === 'word' && behind.includes(second.text))) return 'yes'
  return second === undefined || items.slice(2).some(item => item.kind === 'compare') ? 'perhaps' : 'no'
}

function findEntry(place: Place, statement: Statement): Entry | undefined {
  const first = statement.items[0]
  const row = findWord(place, '')
  const named = row === undefined ? 'no' : beginsNamed(row, statement)
  if (row !== undefined && named === 'yes') return { word: row, skip: 0 }
  if (first?.kind === 'word') {
    const keyed = findWord(place, first.text)
    if (keyed !== undefined) return { word: keyed, skip: 1 }
  }
  if (row === undefined) return undefined
  // A row that does not begin as its table's rows do is an unknown word, not a broken row.
  const begins = row.forms[0]?.[0]?.slot
  const fits =
    first?.kind !== 'word' || begins === 'setting' || named === 'perhaps' || rowWords(row).includes(first.text)
  return fits ? { word: row, skip: 0 } : undefined
}

/** The form that fits, or the one that fits furthest, its problem merged with those of forms that stopped at the same item. */
function bestFill(word: Word, place: Place, statement: Statement, skip: number): Fill {
  let furthest: Fill[] = []
  for (const form of word.forms) {
    const fill = fillForm(form, statement, skip, place)
    if (fill.problems.length === 0) return fill
    const reached = furthest[0]?.reached ?? -1
    if (fill.reached > reached) furthest = [fill]
    else if (fill.reached === reached) furthest.push(fill)
  }
  const best = furthest[0] as Fill
  return { ...best, problems: mergeProblems(furthest, statement, place) }
}

/** Several forms that stopped at one item make one message; a word that stands where others could is an unknown word. */
function mergeProblems(fills: readonly Fill[], statement: Statement, place: Place): MatchProblem[] {
  const best = fills[0] as Fill
  const last = best.problems.at(-1)
  if (last?.problem !== 'expected') return best.problems
  const stops = fills.map(fill => fill.problems.at(-1)).filter(problem => problem?.problem === 'expected')
  const words = [...new Set(stops.flatMap(problem => problem.words ?? []))]
  const what = [...new Set(stops.map(problem => problem.what))].join(', or ')
  const found = statement.items[Math.floor(best.reached)]
  const { start, end } = last
  const merged: MatchProblem =
    found?.kind === 'word' && words.length > 0
      ? { problem: 'unknown-word', word: found.text, place, candidates: words, start, end }
      : { ...last, what, ...(words.length > 0 ? { words } : {}) }
  return [...best.problems.slice(0, -1), merged]
}

/** A key word whose hyphen was left out: its span and how it is written. */
function joinedWord(place: Place, { items }: Statement): MatchProblem | undefined {
  const first = items[0]
  const second = items[1]
  if (first?.kind !== 'word' || second?.kind !== 'word') return undefined
  const joined = `${first.text}-${second.text}`
  if (joined === '-' || findWord(place, joined) === undefined) return undefined
  const [word, start, end] = [`${first.text} ${second.text}`, first.start, second.end]
  return { problem: 'unknown-word', word, place, candidates: [joined], start, end }
}

const noProblems: readonly MatchProblem[] = []

function blockProblems(word: Word, statement: Statement): readonly MatchProblem[] {
  if (word.block === undefined && statement.block !== undefined) {
    return [{ problem: 'block-unexpected', start: statement.block.start, end: statement.block.end }]
  }
  if (word.block !== undefined && statement.block === undefined) {
    return [{ problem: 'block-missing', start: statement.start, end: statement.end }]
  }
  return noProblems
}

/** The places that a block can open where a statement of this place stands. */
function blocksIn(place: Place): readonly Place[] {
  return [...new Set(wordsIn(place).flatMap(word => word.block ?? []))]
}

/**
 * What a block under a head that is not known, or takes none, was meant to be: the place where most of its
 * statements fit. So a misspelt or lost head, or a line end lost before it, costs that line alone. Only the
 * statements' own lines are tried, never their blocks, so that nested unknown heads cost no more.
 */
function guessPlace(statement: Statement, place: Place): Place | undefined {
  const children = statement.block?.statements ?? []
  let best: Place | undefined
  // Fewer than half is no evidence, and would make findings of what is merely not ours.
  let most = (children.length - 1) / 2
  for (const candidate of blocksIn(place)) {
    let fits = 0
    for (const child of children) {
      const entry = findEntry(candidate, child)
      if (entry !== undefined && bestFill(entry.word, candidate, child, entry.skip).problems.length === 0) fits++
    }
    if (fits > 0 && fits > most) {
      best = candidate
      most = fits
    }
  }
  return best
}

function matchBlock(statement: Statement, place: Place, word: Word | undefined, isClean: boolean): readonly Match[] {
  if (statement.block === undefined) return noMatches
  const inner = word?.block ?? guessPlace(statement, place)
  return inner === undefined ? noMatches : matchStatements(statement.block.statements, inner, isClean)
}

const noMatches: readonly Match[] = []

/** A statement whose word stands too often: it is not read, and the first of them says so. */
function unread(statement: Statement, place: Place, word: Word | undefined, isFirst: boolean): Match {
  const end = statement.items.at(-1)?.end ?? statement.end
  const problem: MatchProblem = { problem: 'too-many', most: mostInBlock, start: statement.start, end }
  const problems = isFirst ? [problem] : []
  return { statement, place, word, form: undefined, values: new Map(), slots: [], problems, sound: false, children: [] }
}

/**
 * Statements of one block in their order, no more of one word than a block may have.
 * @param isClean nothing in the chunk has a finding of its own yet
 */
function matchStatements(statements: readonly Statement[], place: Place, isClean: boolean): Match[] {
  if (statements.length <= mostInBlock) return statements.map(statement => matchStatement(statement, place, isClean))
  const counts = new Map<Word, number>()
  return statements.map(statement => {
    const { word } = findEntry(place, statement) ?? {}
    const count = word === undefined || opensDefinition(word) ? 0 : (counts.get(word) ?? 0) + 1
    if (word !== undefined) counts.set(word, count)
    return count > mostInBlock
      ? unread(statement, place, word, count === mostInBlock + 1)
      : matchStatement(statement, place, isClean)
  })
}

function matchStatement(statement: Statement, place: Place, isClean: boolean): Match {
  const reported = !isClean && statement.items.some(alreadyReported)
  const entry = findEntry(place, statement)
  if (entry === undefined) {
    const first = statement.items[0]
    const problems: MatchProblem[] = []
    const joined = joinedWord(place, statement)
    if (joined !== undefined) problems.push(joined)
    else if (first !== undefined && !reported) {
      if (first.kind === 'word') {
        const candidates = wordsIn(place).flatMap(word => (word.word === '' ? rowWords(word) : [word.word]))
        problems.push({
          problem: 'unknown-word',
          word: first.text,
          place,
          candidates,
          start: first.start,
          end: first.end,
        })
      } else problems.push({ problem: 'expected', what: 'a key word', start: statement.start, end: first.end })
    }
    const children = matchBlock(statement, place, undefined, isClean)
    const nothing = { word: undefined, form: undefined, values: new Map(), slots: [], sound: false }
    return { statement, place, ...nothing, problems, children }
  }
  const { word, skip } = entry
  const fill = bestFill(word, place, statement, skip)
  const lacksBlock = blockProblems(word, statement)
  // What stands there instead of the block is not reported as too much as well.
  const isInstead = lacksBlock[0]?.problem === 'block-missing'
  const own = isInstead ? fill.problems.filter(({ problem }) => problem !== 'unexpected') : fill.problems
  const joined = own.length === 0 ? undefined : joinedWord(place, statement)
  const problems = joined !== undefined ? [joined] : lacksBlock.length === 0 ? own : [...own, ...lacksBlock]
  return {
    statement,
    place,
    word,
    form: fill.form,
    values: fill.values,
    slots: fill.slots,
    problems: reported ? noProblems : problems,
    sound: problems.length === 0 && !reported,
    children: matchBlock(statement, place, word, isClean),
  }
}

/** The statements of a chunk read against the vocabulary. */
export const matchChunk = onceFor((chunk: Chunk): readonly Match[] =>
  chunk.statements.map(statement => matchStatement(statement, 'file', chunk.problems.length === 0)),
)
