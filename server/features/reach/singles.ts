/** The smallest change of each value by itself: outward in its grain, each answer checked in full. */

import type { Screen } from './screen.ts'
import type { Refused, Trials, Verified } from './trials.ts'
import type { InSlices, Lever, LostClock, Move, Numbers, ReachAnswer, ReachChange } from './types.ts'

/** What other loads lose altogether, in MHz. */
export const lostMhz = (costs: readonly LostClock[]): number => costs.reduce((sum, { clockMhz }) => sum + clockMhz, 0)

export function changeOf(trials: Trials, { kind, name, from, unit, isBench, place }: Lever, move: Move): ReachChange {
  const document = trials.documentOf(place)
  const offset = (document?.starts.get(place.chunk) ?? 0) + place.start
  return { kind, name, from, unit, isBench, to: move.to, asks: move.asks, uri: document?.uri ?? '', offset }
}

type Attempt = Verified & Pick<ReachAnswer, 'edits'>
const isSameReason = (a: Refused, b: Refused): boolean =>
  a.refused === b.refused &&
  (a.refused !== 'finding' || b.refused !== 'finding' || (a.key === b.key && a.uri === b.uri))

interface Check {
  /** What comes of a change. What was refused for a reason that refused another one before had no full check. */
  once(move: Move): InSlices<Attempt | Refused>
  /** The full check, whatever a look says. */
  fully(move: Move): InSlices<Attempt | Refused>
  /** Whether clocks that are held for a time still are with any of some changes, by a rough look. */
  keepsAny(moves: readonly Move[]): InSlices<boolean>
}

/**
 * The full check of a change of one value, made once. Where a change was refused, that reason alone is looked at first in the
 * others: the latest reason first.
 */
function createCheck(trials: Trials, screen: Screen, base: Numbers): Check {
  const full = new Map<Move, Attempt | Refused>()
  const reasons: Refused[] = []
  const fully = function* (move: Move): InSlices<Attempt | Refused> {
    const before = full.get(move)
    if (before !== undefined) return before
    const edits = trials.placed(move.edits)
    const verified = edits === undefined ? { refused: 'place' as const } : yield* trials.verified(edits)
    if ('refused' in verified && !reasons.some(one => isSameReason(one, verified))) reasons.unshift(verified)
    const found = 'refused' in verified || edits === undefined ? (verified as Refused) : { ...verified, edits }
    full.set(move, found)
    return found
  }
  const kept = new Map<Move, boolean>()
  const keeps = function* (move: Move): InSlices<boolean> {
    const found = kept.get(move) ?? (yield* screen.keeps(move.numbers?.(base)))
    kept.set(move, found)
    return found
  }
  const isAlike = function* (move: Move, why: Refused): InSlices<boolean> {
    if (why.refused === 'clocks over time') return !(yield* keeps(move))
    const edits = trials.placed(move.edits)
    return edits !== undefined && trials.refusedAlike(edits, why)
  }
  return {
    fully,
    *keepsAny(moves) {
      for (const move of moves) if (yield* keeps(move)) return true
      return false
    },
    *once(move) {
      for (const [place, why] of reasons.entries()) {
        if (!(yield* isAlike(move, why))) continue
        reasons.unshift(...reasons.splice(place, 1))
        return why
      }
      return yield* fully(move)
    },
  }
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

/** Runs take long: of the changes to a side that lie beyond one, those of whole steps of *one* are looked at, and the last. */
const isWholeBeyond =
  ({ side, asks }: Move) =>
  (move: Move, index: number, all: readonly Move[]): boolean =>
    move.side === side &&
    move.asks > asks &&
    (Number.isInteger(move.asks) || !all.slice(index + 1).some(one => one.side === side))

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
  /** Sides beyond which no clock that is held for a time is held. */
  const left = new Set<number>()
  for (const move of candidates) {
    if (found !== undefined && move.asks > found.move.asks) break
    if (left.has(move.side)) continue
    yield
    if (!(yield* does(move))) continue
    const attempt = yield* check.once(move)
    if ('refused' in attempt) {
      const further = attempt.refused === 'clocks over time' ? candidates.filter(isWholeBeyond(move)) : []
      if (further.length > 0 && !(yield* check.keepsAny(further))) left.add(move.side)
      continue
    }
    if (found !== undefined && lostMhz(found.attempt.costs) <= lostMhz(attempt.costs)) continue
    found = { move, attempt }
  }
  if (found === undefined) return undefined
  // What a rough look left out may do after all: the full check says, change by change, until one fails it.
  const { move: first } = found
  const side = lever.moves.filter(move => move.side === first.side)
  for (let index = side.indexOf(first) - 1; index >= 0; index--) {
    const move = side[index] as Move
    if (move.numbers !== undefined && !screen.settled(move.numbers(base))) break
    const attempt = yield* check.fully(move)
    if ('refused' in attempt) break
    found = { move, attempt }
  }
  const { move, attempt } = found
  return { changes: [changeOf(trials, lever, move)], asks: move.asks, ...attempt }
}
