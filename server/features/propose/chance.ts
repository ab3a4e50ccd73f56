/** How probable it is that a case is sound, where constants carry `±`: draws, as everything uncertain is judged. */
import { type Bench, DRAWS, settlingLadders, shiftsOf } from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { correlationOf, settlingConstants, shiftConstants, unitShift } from '../../semantic/shifts.ts'
import { type ChanceOf, seenOf } from './faults.ts'

/** So many draws a slice: a millisecond or two. */
const SLICE = 32

/**
 * The share of draws in which a case is sound. Draws end as soon as so many have failed that the rest cannot make it as
 * probable as is asked; the share is then that of the draws made.
 * @param probability what is asked
 */
export function chancesOf({ input }: Evaluation, bench: Bench, probability: number): ChanceOf {
  /** By the name of a load. */
  const drawn = new Map<string, (draw: number) => number[]>()
  return function* (one, isSound) {
    const constants = settlingConstants(input, one.name)
    if (constants.length === 0) return 1
    const correlation = correlationOf(constants, input.correlated)
    const standard = constants.map(unitShift)
    const shifts = drawn.get(one.name) ?? shiftsOf({ standard, ...(correlation === undefined ? {} : { correlation }) })
    drawn.set(one.name, shifts)
    const mostFailed = Math.floor(DRAWS * (1 - probability) + 1e-9)
    let failed = 0
    for (let draw = 0; draw < DRAWS; draw++) {
      const moved = shiftConstants(bench, one.load, constants, shifts(draw))
      const load = moved.load.kind === 'work' ? moved.load : one.load
      const settle = settlingLadders(moved.bench)
      if (!isSound(moved.bench, load, ladder => seenOf(settle(ladder, load, one.air.corner)))) failed++
      if (failed > mostFailed) return 1 - failed / (draw + 1)
      if (draw % SLICE === 0) yield
    }
    return 1 - failed / DRAWS
  }
}
