/** How long a log must go on until its die comes to rest. */

import type { Block } from '../likelihood/blocks.ts'
import { createCourse } from '../likelihood/course.ts'
import { AIR, isDriveKnown } from '../likelihood/log-point.ts'
import { likeliestErrors } from '../likelihood/whitening.ts'
import { LONGEST_S, type LogFit } from './settled.ts'

/** Blocks after the log are so long at first, and each so much longer than the one before. */
const FIRST_S = 5
const GROWTH = 1.12

/** The load of a block going on for as long as anybody waits. The fan follows the coolant where it did not stand still. */
function blocksAfter({ means, ends, ...last }: Block): Block[] {
  const { coolant: _, ...meansLeft } = means
  const { coolant: __, ...endsLeft } = ends
  const found: Block[] = []
  for (let [from, length] = [0, FIRST_S]; from < LONGEST_S; from += length, length *= GROWTH)
    found.push({ ...last, means: meansLeft, ends: endsLeft, fromS: last.toS + from, toS: last.toS + from + length })
  return found
}

/**
 * How many more seconds of the same load bring the die within `nearK` of where it comes to rest, followed on the fitted
 * bench (model section 10 without its controller). Undefined where it cannot be followed.
 */
export function secondsToSettle({ evidence, bench, mode }: LogFit, nearK: number): number | undefined {
  const { point } = evidence
  const errors = likeliestErrors(evidence, mode)
  const end = evidence.blocks.findLastIndex(({ isLoaded }) => isLoaded)
  const last = evidence.blocks[end]
  if (errors === undefined || last === undefined) return undefined
  const { part, cooler = bench.cooler } = bench.benchAt(mode)
  // Through modules whose current nobody knows the die can be followed from its plate alone.
  const isBlind = cooler.kind === 'thermoelectric' && !isDriveKnown(point)
  const blocks = [...evidence.blocks.slice(0, end + 1), ...blocksAfter(last)]
  const course = createCourse(point, blocks, [{ end: isBlind ? 1 : AIR, levels: [0] }])
  evidence.errorsAt.set(errors.values)
  if (!course.follow(part, cooler, evidence.errorsAt)) return undefined
  const dies = course.expected[0] as Float64Array
  const restC = dies.at(-1) as number
  const leftK = (index: number): number => Math.abs((dies[index] as number) - restC)
  const middleS = (index: number): number =>
    ((blocks[index] as Block).fromS + (blocks[index] as Block).toS) / 2 - last.toS
  let near = blocks.length - 1
  while (near > end && leftK(near - 1) <= nearK) near--
  if (near <= end + 1) return 0
  // What is left falls about exponentially between the middles of two blocks.
  const [before, after] = [Math.log(leftK(near - 1)), Math.log(Math.max(leftK(near), 1e-9))]
  const share = (before - Math.log(nearK)) / (before - after)
  return middleS(near - 1) + share * (middleS(near) - middleS(near - 1))
}
