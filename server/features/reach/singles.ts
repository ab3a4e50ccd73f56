/** The smallest change of each value by itself: outward in its grain, each answer checked in full. */

import type { Screen } from './screen.ts'
import type { InSlices, Refused, Trials, Verified } from './trials.ts'
import type { Lever, LostClock, Move, Numbers, ReachAnswer, ReachChange } from './types.ts'

/** What other loads lose altogether, in MHz. */
export const lostMhz = (costs: readonly LostClock[]): number => costs.reduce((sum, { clockMhz }) => sum + clockMhz, 0)

export function changeOf(trials: Trials, { kind, name, from, unit, isBench, place }: Lever, move: Move): ReachChange {
  const document = trials.documentOf(place)
  const offset = (document?.starts.get(place.chunk) ?? 0) + place.start
  return { kind, name, from, unit, isBench, to: move.to, asks: move.asks, uri: document?.uri ?? '', offset }
}

type Attempt = Verified & Pick<ReachAnswer, 'edits'>
type Check = (move: Move) => InSlices<Attempt | Refused>

/** The full check of a change of one value, made once. */
function createCheck(trials: Trials, screen: Screen, base: Numbers): Check {
  const known = new Map<Move, Attempt | Refused>()
  return function* (move) {
    const before = known.get(move)
    if (before !== undefined) return before
    const placed = trials.placed(move.edits)
    const keeps = (): InSlices<boolean> => screen.keeps(move.numbers?.(base))
    const verified = placed === undefined ? { refused: 'place' } : yield* trials.verified(placed, keeps)
    const found = placed === undefined || 'refused' in verified ? (verified as Refused) : { ...verified, edits: placed }
    known.set(move, found)
    return found
  }
}

/** A side with so many changes or fewer is checked one by one. */
const FEW = 4

/**
 * Whether no change to one side can be an answer: the nearest, the farthest and two in between are refused for the same
 * reason.
 * @param moves those that do what is asked, outward; the nearest was refused
 */
function* isRefusedThroughout(moves: readonly Move[], why: string, check: Check): InSlices<boolean> {
  if (moves.length <= FEW) return false
  for (const share of [1, 2 / 3, 1 / 3]) {
    const one = moves[Math.round((moves.length - 1) * share)] as Move
    const found = yield* check(one)
    if (!('refused' in found) || found.refused !== why) return false
  }
  return true
}

/** How far what is asked comes with each change of one value, looked up once. */
type Lasting = (move: Move) => InSlices<number>

function createLasting(base: Numbers, screen: Screen): Lasting {
  const known = new Map<Move, number>()
  return function* (move) {
    const before = known.get(move)
    if (before !== undefined || move.numbers === undefined || screen.lasts === undefined) return before ?? screen.enough
    const found = yield* screen.lasts(move.numbers(base))
    known.set(move, found)
    return found
  }
}

/** Whether what is looked at outward only ever gets better, or only ever worse. */
function isMonotone(values: readonly number[]): boolean {
  const pairs = values.slice(1).map((value, index) => [values[index] ?? value, value] as const)
  return pairs.every(([a, b]) => b >= a) || pairs.every(([a, b]) => b <= a)
}

/**
 * The changes to one side that are worth trying where a clock should be held for a time. Runs take long, so whole steps of
 * *one* are looked at first. Where how long it lasts goes one way over all of them, an answer can only lie just before the
 * first that does; where it turns, every change of the grain is looked at.
 */
function* worthTrying(
  moves: readonly Move[],
  lastsNow: number,
  enough: number,
  lasting: Lasting,
): InSlices<readonly Move[]> {
  const ends: number[] = [lastsNow]
  let from = 0
  for (const [index, move] of moves.entries()) {
    if (!Number.isInteger(move.asks) && index < moves.length - 1) continue
    const lasts = yield* lasting(move)
    ends.push(lasts)
    if (lasts >= enough) return isMonotone(ends) ? moves.slice(from) : moves
    from = index + 1
  }
  return isMonotone(ends) ? [] : moves
}

/** Outward: the nearer first, then the higher. */
const outward = (a: Move, b: Move): number => a.asks - b.asks || b.side - a.side

/** The nearest change of one value that is an answer; of two as near, the one that costs other loads less clock. */
export function* nearest(trials: Trials, screen: Screen, lever: Lever): InSlices<ReachAnswer | undefined> {
  const { bench, corners } = trials.base.input
  if (bench === undefined) return undefined
  const base = { bench, corners }
  const lasting = createLasting(base, screen)
  const candidates: Move[] = []
  const sides = [1, -1].map(side => lever.moves.filter(move => move.side === side))
  if (screen.lasts === undefined || lever.moves.some(({ numbers }) => numbers === undefined)) {
    candidates.push(...lever.moves)
  } else {
    const now = yield* screen.lasts(base)
    for (const moves of sides) candidates.push(...(yield* worthTrying(moves, now, screen.enough, lasting)))
  }
  const check = createCheck(trials, screen, base)
  const does = function* (move: Move): InSlices<boolean> {
    const { numbers } = move
    return numbers === undefined || (screen.settled(numbers(base)) && (yield* lasting(move)) >= screen.enough)
  }
  let found: { readonly move: Move; readonly attempt: Attempt } | undefined
  candidates.sort(outward)
  const looked = new Set<number>()
  const hopeless = new Set<number>()
  for (const move of candidates) {
    if (found !== undefined && move.asks > found.move.asks) break
    if (hopeless.has(move.side)) continue
    yield
    if (!(yield* does(move))) continue
    const attempt = yield* check(move)
    if ('refused' in attempt) {
      if (looked.has(move.side) || move.numbers === undefined) continue
      looked.add(move.side)
      const further: Move[] = [move]
      for (const one of candidates) {
        if (one.side === move.side && one.asks > move.asks && (yield* does(one))) further.push(one)
      }
      if (yield* isRefusedThroughout(further, attempt.refused, check)) hopeless.add(move.side)
      continue
    }
    if (found !== undefined && lostMhz(found.attempt.costs) <= lostMhz(attempt.costs)) continue
    found = { move, attempt }
  }
  if (found === undefined) return undefined
  // What a rough look left out may do after all: the full check says.
  const { move: first } = found
  const side = screen.lasts === undefined ? [] : lever.moves.filter(move => move.side === first.side)
  for (let index = side.indexOf(first) - 1; index >= 0; index--) {
    const move = side[index]
    if (move?.numbers === undefined || !screen.settled(move.numbers(base))) break
    const attempt = yield* check(move)
    if ('refused' in attempt) break
    found = { move, attempt }
  }
  const { move, attempt } = found
  return { changes: [changeOf(trials, lever, move)], asks: move.asks, ...attempt }
}
