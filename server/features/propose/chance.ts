/** How probable it is that a case is sound, where constants carry `±`: draws, as everything uncertain is judged. */
import { type Bench, DRAWS, type Ladder, settlingLadders, shiftsOf } from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { correlationOf, settlingConstants, shiftConstants, unitShift } from '../../semantic/shifts.ts'
import { percentText } from '../../wording/figures.ts'
import type { BenchCase } from './cases.ts'
import { type ChanceOf, type LazyFault, type Seen, seenOf } from './faults.ts'
import { findingsOf } from './findings.ts'
import type { Fault } from './voltages.ts'

/** So many draws a slice: a millisecond or two. */
const SLICE = 32

/**
 * Draws of a case of a part with groups: it has many more cases, and each takes longer to settle. The standard error of a share
 * of 0.95 is then 0.011, where all draws leave 0.005.
 */
const GROUP_DRAWS = 400

/**
 * The share of draws in which a case is sound. Draws end as soon as so many have failed that the rest cannot make it as
 * probable as is asked; the share is then that of the draws made.
 * @param probability what is asked
 */
export function chancesOf({ input }: Evaluation, bench: Bench, probability: number): ChanceOf {
  const isGrouped = bench.part.groups !== undefined
  const draws = isGrouped ? GROUP_DRAWS : DRAWS
  /** By the name of a load. */
  const drawn = new Map<string, (draw: number) => number[]>()
  /** Of a part with groups: the prepared bench of each draw, by load name. */
  const settles = new Map<string, ReturnType<typeof settlingLadders>[]>()
  return function* (one, isSound) {
    const constants = settlingConstants(input, one.name)
    if (constants.length === 0) return 1
    const correlation = correlationOf(constants, input.correlated)
    const standard = constants.map(unitShift)
    const shifts = drawn.get(one.name) ?? shiftsOf({ standard, ...(correlation === undefined ? {} : { correlation }) })
    drawn.set(one.name, shifts)
    const kept = settles.get(one.name) ?? []
    settles.set(one.name, kept)
    const mostFailed = Math.floor(draws * (1 - probability) + 1e-9)
    let failed = 0
    for (let draw = 0; draw < draws; draw++) {
      const moved = shiftConstants(bench, one.load, constants, shifts(draw))
      const load = moved.load.kind === 'work' ? moved.load : one.load
      const settle = kept[draw] ?? settlingLadders(moved.bench)
      if (isGrouped) kept[draw] = settle
      if (!isSound(moved.bench, load, ladder => seenOf(settle(ladder, load, one.air.corner)))) failed++
      if (failed > mostFailed) return 1 - failed / (draw + 1)
      if (draw % SLICE === 0) yield
    }
    return 1 - failed / draws
  }
}

/** What a case is judged by in one draw. */
export interface Draw {
  /** With the bench of the draw, and its load. */
  readonly at: Bench
  readonly load: BenchCase['load']
  readonly seen: Seen
  /** What the lowest ratio without bands brings too. */
  readonly usualHere: () => ReadonlySet<string>
}

/**
 * What keeps a case from being sound in as many draws as is asked; undefined where nothing does.
 * @param probability what is asked
 * @param faultIn what is wrong with the case in a draw
 */
export function* chanceFault(
  chance: ChanceOf,
  probability: number,
  one: BenchCase,
  ladders: { readonly own: Ladder; readonly lowest: Ladder; readonly isBehindInsulation: boolean },
  faultIn: (draw: Draw) => LazyFault | undefined,
): Generator<undefined, Fault | undefined> {
  const causes = new Map<string, { readonly fault: Fault; count: number }>()
  const share = yield* chance(one, (at, load, settle) => {
    const seen = settle(ladders.own)
    if (seen === undefined) return false
    const usualHere = (): ReadonlySet<string> => {
      const low = settle(ladders.lowest)
      const found = low === undefined ? [] : findingsOf(at, low.state(), one.air, ladders.isBehindInsulation)
      return new Set(found.map(({ key }) => key))
    }
    const found = faultIn({ at, load, seen, usualHere })?.()
    if (found === undefined) return true
    const before = causes.get(found.by)
    if (before === undefined) causes.set(found.by, { fault: found, count: 1 })
    else before.count++
    return false
  })
  if (share >= probability) return undefined
  const [cause] = [...causes.values()].sort((a, b) => b.count - a.count)
  const words = `would be sound in only ${percentText(100 * share)} of draws, ${percentText(100 * probability)} asked for; most often it ${cause?.fault.words ?? 'would not settle'}`
  const figures = { figure: 'probability', value: share, allowed: probability, unit: '' }
  return { by: cause?.fault.by ?? 'die', ...figures, words }
}
