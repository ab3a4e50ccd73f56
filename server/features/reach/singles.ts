/** The smallest change of each value by itself: outward in its grain, each answer checked in full. */

import type { Screen } from './screen.ts'
import type { InSlices, Trials, Verified } from './trials.ts'
import type { Lever, LostClock, Move, Numbers, ReachAnswer, ReachChange } from './types.ts'

/** What other loads lose altogether, in MHz. */
export const lostMhz = (costs: readonly LostClock[]): number => costs.reduce((sum, { clockMhz }) => sum + clockMhz, 0)

export function changeOf(trials: Trials, { kind, name, from, unit, isBench, place }: Lever, move: Move): ReachChange {
  const document = trials.documentOf(place)
  const offset = (document?.starts.get(place.chunk) ?? 0) + place.start
  return { kind, name, from, unit, isBench, to: move.to, asks: move.asks, uri: document?.uri ?? '', offset }
}

type Attempt = Verified & Pick<ReachAnswer, 'edits'>

function* checked(trials: Trials, screen: Screen, base: Numbers, move: Move): InSlices<Attempt | undefined> {
  const { numbers } = move
  const placed = trials.placed(move.edits)
  const keeps = (): InSlices<boolean> => screen.keeps(numbers?.(base))
  const verified = placed && (yield* trials.verified(placed, keeps))
  return placed === undefined || verified === undefined ? undefined : { ...verified, edits: placed }
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
  let found: { readonly move: Move; readonly attempt: Attempt } | undefined
  for (const move of candidates.sort(outward)) {
    if (found !== undefined && move.asks > found.move.asks) break
    yield
    if (move.numbers !== undefined) {
      const numbers = move.numbers(base)
      if (!screen.settled(numbers) || (yield* lasting(move)) < screen.enough) continue
    }
    const attempt = yield* checked(trials, screen, base, move)
    if (attempt === undefined || (found !== undefined && lostMhz(found.attempt.costs) <= lostMhz(attempt.costs)))
      continue
    found = { move, attempt }
  }
  if (found === undefined) return undefined
  // What a rough look left out may do after all: the full check says.
  const { move: first } = found
  const side = screen.lasts === undefined ? [] : lever.moves.filter(move => move.side === first.side)
  for (let index = side.indexOf(first) - 1; index >= 0; index--) {
    const move = side[index]
    if (move?.numbers === undefined || !screen.settled(move.numbers(base))) break
    const attempt = yield* checked(trials, screen, base, move)
    if (attempt === undefined) break
    found = { move, attempt }
  }
  const { move, attempt } = found
  return { changes: [changeOf(trials, lever, move)], asks: move.asks, ...attempt }
}
