import { dieCeilingC, settle } from '../../model/index.ts'
import { quantity } from '../../semantic/definitions.ts'
import { replace } from '../support/physics-edits.ts'
import { groupByRow, originOf } from '../support/physics-rows.ts'
import { celsius, inUnit, kelvin, pointWords, watts } from '../support/physics-words.ts'
import { settleAgain, stepWayOut, withLimits } from '../support/what-if.ts'
import type { Check, Fix } from '../types.ts'

export const overLimit: Check = {
  code: 'over-limit',
  severity: 'error',
  title: 'Steady, but above the die limit',
  page: {
    what: 'At every number of active cores and in every corner of the room: whether the load, at the lowest ratio that it can fall to, still rests above the die limit (the lower of the profile’s `limits die` and the part’s `die-limit`).',
    why: 'There is nothing left to give back: the die stays above the limit for as long as the load runs, which ages the part or stops the machine.',
    remedy:
      "A cooler with less resistance, less voltage at low ratios, or a die limit that the room allows at all, never above the maker's.",
    example:
      'profile quiet {\n  part sample-c2\n  cooler big-loop\n  room attic                            # 38 °C\n  steps { 1 to 8 cores 50x }\n  limits { die 40 °C }\n}',
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    if (bench === undefined) return
    const ceilingC = dieCeilingC(bench.part, bench.profile)
    const groups = groupByRow(evaluation, ({ settled }) => {
      return settled.state === 'over-limit' && settled.dieC !== null ? settled.dieC - ceilingC : undefined
    })
    for (const group of groups) {
      const { worst, at } = group
      const dieC = worst.settled.dieC ?? 0
      const margin = settle(bench, worst.load, worst.corner)?.marginW ?? null
      const out = stepWayOut(
        evaluation,
        group,
        settled => settled.state !== 'over-limit' && settled.state !== 'runaway',
      )
      const watt = margin !== null && margin < 0 ? ` ${watts(-margin)} less heat would hold.` : ''
      const fixes: Fix[] = [...out.fixes]
      const die = evaluation.profile.inner('limits', 'die')
      const stated = die && quantity(die.match)
      const raisedC = Math.ceil(Math.max(...group.bad.map(point => point.settled.dieC ?? 0)) + 1)
      let raise = ''
      if (
        stated !== undefined &&
        die?.definition === evaluation.profile.definition &&
        raisedC <= bench.part.dieLimitC
      ) {
        const other = withLimits(bench, { dieC: raisedC })
        const isFine = group.bad.every(point => {
          const state = settleAgain(other, point)?.state
          return state !== 'over-limit' && state !== 'runaway'
        })
        if (isFine) {
          const text = inUnit(raisedC, stated.unit, 0)
          raise = ` A die limit of ${text} could be kept; the part's own is ${celsius(bench.part.dieLimitC)}.`
          fixes.push({ title: `Raise the die limit to ${text}`, edits: [replace(die.definition, stated, text)] })
        }
      }
      yield {
        at,
        ...originOf(evaluation, worst),
        message: `${pointWords(worst)} rests at ${celsius(dieC)}, ${kelvin(dieC - ceilingC)} above the die limit of ${celsius(ceilingC)}, with nothing left to give back: long stays up there age the part or trip the machine.${watt}${out.words}${raise}`,
        fixes,
      }
    }
  },
}
