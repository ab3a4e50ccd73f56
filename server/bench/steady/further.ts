/** A log that goes on: further blocks under the load of its end, with readings as the fitted bench gives them. */

import { coolantHeatJPerK } from '../../model/cooler/index.ts'
import { kindOf } from '../../semantic/coolers/index.ts'
import type { Block } from '../likelihood/blocks.ts'
import { createCourse } from '../likelihood/course.ts'
import { AIR, isDriveKnown, levels } from '../likelihood/log-point.ts'
import type { FigureKind } from '../log/figures.ts'
import type { LogFit } from './settled.ts'

export interface Further {
  /** Those of the log to the end of its load, and the further ones. */
  readonly blocks: readonly Block[]
  /** How many of them are the log's. */
  readonly logged: number
  /** Mean of the die over each block, as the bench gives it. */
  readonly dieC: Float64Array
}

/**
 * Temperatures follow from the air over the whole log (model section 10 without its controller), each read with the error
 * of its sensor and of its stages; power, clock and voltage stay as they were in the last block under the load.
 * @param errors shared errors, in their standard deviations
 * @param lengthsS of the further blocks, one after the other
 * @returns undefined where the bench cannot be followed
 */
export function further(
  { evidence, bench, mode }: LogFit,
  errors: ArrayLike<number>,
  lengthsS: readonly number[],
): Further | undefined {
  const { point, errorsAt } = evidence
  const logged = evidence.blocks.findLastIndex(({ isLoaded }) => isLoaded) + 1
  const last = evidence.blocks[logged - 1]
  if (last === undefined) return undefined
  const { part, cooler = bench.cooler } = bench.benchAt(mode)
  let fromS = last.toS
  const bare = lengthsS.map(lengthS => {
    fromS += lengthS
    return longer(last, fromS - lengthS, fromS, point.blocks.stepS)
  })
  // Through modules whose current nobody knows the die can be followed from its plate alone.
  const isBlind = kindOf(cooler).isDriven && !isDriveKnown(point)
  const end = isBlind ? 1 : AIR
  const followed = isBlind ? [0] : coolantHeatJPerK(cooler) === undefined ? [0, 1] : [0, 1, 2]
  const blocks = [...evidence.blocks.slice(0, logged), ...bare]
  const course = createCourse(point, blocks, [{ end, levels: followed }], false)
  errorsAt.set(errors)
  if (!course.follow(part, cooler, errorsAt)) return undefined
  for (const [index, block] of bare.entries()) {
    const read: Partial<Record<FigureKind, number>> = {}
    for (const level of followed) {
      const kind = levels[level] as (typeof levels)[number]
      if (last.means[kind] === undefined) continue
      let value = ((course.expected[level] as Float64Array)[logged + index] as number) + errorsAt.at('sensor', level)
      for (let stage = level; stage < end; stage++) value += errorsAt.at('stage', stage)
      read[kind] = value
    }
    const means = { ...last.means, ...read }
    blocks[logged + index] = { ...block, means, ends: means }
  }
  return { blocks, logged, dieC: course.expected[0] as Float64Array }
}

/** The last block once more, from and to other times. The fan follows the coolant that is reckoned, not that which was read. */
function longer({ ends, counts, ...last }: Block, fromS: number, toS: number, stepS: number): Block {
  const { coolant: _, ...others } = ends
  const count = Math.max(1, Math.round((toS - fromS) / stepS))
  return {
    ...last,
    ends: others,
    counts: Object.fromEntries(Object.keys(counts).map(kind => [kind, count])),
    fromS,
    toS,
  }
}
