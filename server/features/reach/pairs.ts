/** Two settings changed together, where nothing alone is an answer. */

import { applyEdits } from '../../../grammar/printer.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import type { FileEdits } from '../actions.ts'
import { difference } from '../formatted-edits.ts'
import { leversOf } from './levers/index.ts'
import { loadsFor } from './of-course.ts'
import type { Screen } from './screen.ts'
import { changeOf } from './singles.ts'
import type { Trials } from './trials.ts'
import type { InSlices, Lever, Looked, Move, Numbers, ReachAnswer } from './types.ts'
import { until } from './until.ts'

interface Half {
  readonly lever: Lever
  readonly move: Move
}

export interface FoundPairs {
  readonly pairs: readonly ReachAnswer[]
  readonly looked: Looked
}

/** Each setting in whole steps of *one*, by how many. */
function wholeMoves(levers: readonly Lever[]): ReadonlyMap<number, readonly Half[]> {
  const found = new Map<number, Half[]>()
  for (const lever of levers) {
    for (const move of lever.moves) {
      if (lever.isBench || !Number.isInteger(move.asks)) continue
      const same = found.get(move.asks) ?? []
      found.set(move.asks, same)
      same.push({ lever, move })
    }
  }
  return found
}

/** Every pair of two settings that asks for this much together, each once. */
function* pairsOf(moves: ReadonlyMap<number, readonly Half[]>, asks: number): Generator<readonly [Half, Half]> {
  for (let first = 1; first < asks; first++) {
    for (const a of moves.get(first) ?? []) {
      for (const b of moves.get(asks - first) ?? []) if (a.lever.id < b.lever.id) yield [a, b]
    }
  }
}

/** A row that is taken out moves those behind it, so it goes last, and the last of two first. */
const inOrder = (pair: readonly [Half, Half]): readonly Half[] =>
  [...pair].sort((a, b) => Number(isRemoval(a)) - Number(isRemoval(b)) || (a.lever.id < b.lever.id ? 1 : -1))

const isRemoval = ({ lever, move }: Half): boolean => lever.kind === 'band-drop' && move.to === 0

/** The text that both changes make, one after the other, as edits of the text as it is. */
function together(trials: Trials, asked: Expectation, pair: readonly [Half, Half]): readonly FileEdits[] | undefined {
  const [first, second] = inOrder(pair)
  const one = first && trials.placed(first.move.edits)
  const middle = one && trials.tried(one)
  if (middle === undefined || second === undefined) return undefined
  const again = leversOf(middle.evaluation, middle.scope, loadsFor(middle.evaluation, asked)).find(
    ({ id }) => id === second.lever.id,
  )
  const move = again?.moves.find(({ to }) => to === second.move.to)
  const two = move && trials.placed(move.edits)
  if (one === undefined || two === undefined) return undefined
  const texts = new Map<string, { readonly before: string; text: string }>()
  for (const { uri, edits } of [...one, ...two]) {
    const before = trials.originalText(uri)
    const known = texts.get(uri) ?? { before, text: before }
    texts.set(uri, { before, text: applyEdits(known.text, edits) })
  }
  return [...texts].flatMap(([uri, { before, text }]) => {
    const edit = difference(before, text)
    return edit === undefined ? [] : [{ uri, edits: [edit] }]
  })
}

/** What comes of a pair; undefined where it is no answer. */
function* answerOf(
  trials: Trials,
  screen: Screen,
  asked: Expectation,
  pair: readonly [Half, Half],
  numbers: Numbers,
): InSlices<Omit<ReachAnswer, 'asks'> | undefined> {
  if (!screen.settled(numbers)) return undefined
  if (screen.lasts !== undefined && (yield* screen.lasts(numbers)) < screen.enough) return undefined
  if (!(yield* screen.keeps(numbers))) return undefined
  const edits = together(trials, asked, pair)
  const verified = edits && (yield* trials.verified(edits))
  if (edits === undefined || verified === undefined || 'refused' in verified) return undefined
  return { changes: pair.map(({ lever, move }) => changeOf(trials, lever, move)), edits, ...verified }
}

const mostAsks = 20

/**
 * The pairs with the least sum of what they ask for.
 * @param endMs by `performance.now`; it is left there, and says so
 */
export function* leastPairs(
  trials: Trials,
  screen: Screen,
  levers: readonly Lever[],
  asked: Expectation,
  endMs: number,
): InSlices<FoundPairs> {
  const moves = wholeMoves(levers)
  const { bench, corners } = trials.base.input
  for (let asks = 2; asks <= mostAsks; asks++) {
    const pairs: ReachAnswer[] = []
    for (const pair of pairsOf(moves, asks)) {
      if (performance.now() >= endMs) return { pairs: [], looked: { asks: asks - 1, isCut: true } }
      const [a, b] = pair
      if (bench === undefined || a.move.numbers === undefined || b.move.numbers === undefined) continue
      const numbers = b.move.numbers(a.move.numbers({ bench, corners }))
      yield
      const answer = yield* until(endMs, answerOf(trials, screen, asked, pair, numbers))
      if (answer === 'late') return { pairs: [], looked: { asks: asks - 1, isCut: true } }
      if (answer !== undefined) pairs.push({ ...answer, asks })
    }
    if (pairs.length > 0) return { pairs, looked: { asks, isCut: false } }
  }
  return { pairs: [], looked: { asks: mostAsks, isCut: false } }
}
