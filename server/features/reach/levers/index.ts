/** Everything about a bench that may be changed so that an expectation of a load holds. */

import { isWork } from '../../../model/index.ts'
import type { Evaluation } from '../../../semantic/evaluate.ts'
import type { LoadCase } from '../../../semantic/load-cases.ts'
import type { Scope } from '../../../semantic/scope.ts'
import type { Lever, ReachKind } from '../types.ts'
import { coolerLevers, loadLevers, otherCoolers, roomLevers } from './bench.ts'
import { driveLevers, limitLevers, voltageLevers } from './keys.ts'
import { bandLevers, fanLevers, returnLevers, stepLevers } from './tables.ts'

/**
 * The values that may be changed, those without any change left out.
 * @param cases the loads whose expectation it is: rows of other core counts than theirs change nothing for it, nor does
 * any ratio or core voltage for a load without a core at work
 */
export function leversOf(evaluation: Evaluation, scope: Scope, cases: readonly LoadCase[]): readonly Lever[] {
  const work = cases.map(one => one.load).filter(isWork)
  const counts = (group: number): ReadonlySet<number> =>
    new Set(work.map(one => one.groups?.[group]?.cores ?? (group === 0 ? one.cores : 0)).filter(count => count > 0))
  const ofWork =
    work.length === 0
      ? []
      : [
          ...stepLevers(evaluation, counts),
          ...bandLevers(evaluation, counts),
          ...returnLevers(evaluation),
          ...voltageLevers(evaluation),
        ]
  const definitions = [...new Set(cases.map(({ definition }) => definition))]
  const all = [
    ...ofWork,
    // The die limit decides the margin of a load without a core at work as well.
    ...limitLevers(evaluation),
    ...fanLevers(evaluation),
    ...driveLevers(evaluation),
    ...roomLevers(evaluation),
    ...coolerLevers(evaluation),
    ...definitions.flatMap(definition => loadLevers(evaluation, definition)),
    ...otherCoolers(evaluation, scope),
  ]
  const numbers = new Map<ReachKind, number>()
  return all.flatMap((lever): Lever[] => {
    const number = numbers.get(lever.kind) ?? 0
    numbers.set(lever.kind, number + 1)
    const moves = lever.moves.filter(({ edits }) => edits.length > 0)
    return moves.length === 0 ? [] : [{ ...lever, id: `${lever.kind} ${number}`, moves }]
  })
}
