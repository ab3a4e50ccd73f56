import { type Bench, dieCeilingC, settle } from '../../model/index.ts'
import { quantity } from '../../semantic/definitions.ts'
import { badAmong, onceAmong } from '../../semantic/envelope.ts'
import { inUnit } from '../../wording/entered.ts'
import { differenceText, powerText, statedText, temperatureText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { deciderWords } from '../support/deciders.ts'
import { replace } from '../support/physics-edits.ts'
import { groupByRow, originOf } from '../support/physics-rows.ts'
import { settleAgain, withLimits } from '../support/what-if.ts'
import type { Check, Fix } from '../types.ts'

const hotAmong = onceAmong((bench, points) => {
  const ceilingC = dieCeilingC(bench.part, bench.profile)
  return badAmong(points, ({ settled }) =>
    settled.state === 'over-limit' && settled.dieC !== null ? settled.dieC - ceilingC : undefined,
  )
})

export const overLimit: Check = {
  code: 'over-limit',
  severity: 'error',
  title: 'Steady, but above the die limit',
  page: {
    what: 'At every number of active cores and in every corner of the room: whether the load, at the lowest ratio it can fall to, still settles above the die limit (the lower of the profile’s `limits die` and the part’s `die-limit`).',
    why: 'There is nothing left to give back: the die stays above the limit for as long as the load runs, which ages the part or stops the machine.',
    remedy:
      "More air where the `fan` table holds it back, a cooler with less resistance, a cooler room, less voltage at low ratios. A lower step does not help: the clock is already at its slowest. Only then a die limit that the room allows at all, never above the maker's.",
    example:
      'profile quiet {\n  part sample-c2\n  cooler big-loop\n  room attic                            # 38 °C\n  steps { 1 to 8 cores 50x }\n  limits { die 40 °C }\n}',
  },
  *inProfile(evaluation) {
    const { bench } = evaluation.input
    if (bench === undefined) return
    const ceilingC = dieCeilingC(bench.part, bench.profile)
    for (const group of groupByRow(evaluation, hotAmong(evaluation))) {
      const { worst, at } = group
      const dieC = worst.settled.dieC ?? 0
      const margin = settle(bench, worst.load, worst.corner)?.marginW ?? null
      const watt = margin !== null && margin < 0 ? ` ${powerText(-margin)} less heat would hold.` : ''
      const decided = deciderWords(bench, worst, ({ state }) => state !== 'over-limit' && state !== 'runaway')
      const holdsOn = (other: Bench): boolean =>
        group.bad.every(point => {
          const state = settleAgain(other, point)?.state
          return state !== 'over-limit' && state !== 'runaway'
        })
      // The clock has come down to the slowest ratio already: a lower step changes nothing, more air may.
      const { fan } = bench.profile
      const isFanEnough = fan.length > 0 && holdsOn({ ...bench, profile: { ...bench.profile, fan: [] } })
      const fanned = isFanEnough ? ' Let `fan` reach that sooner.' : ''
      const fixes: Fix[] = []
      const die = evaluation.profile.inner('limits', 'die')
      const stated = die && quantity(die.match)
      const raisedC = Math.ceil(Math.max(...group.bad.map(point => point.settled.dieC ?? 0)) + 1)
      let raise = ''
      if (
        stated !== undefined &&
        die?.definition === evaluation.profile.definition &&
        raisedC <= bench.part.dieLimitC
      ) {
        if (holdsOn(withLimits(bench, { dieC: raisedC }))) {
          const text = inUnit(raisedC, stated.unit, 0)
          raise = ` A die limit of ${text} could be kept, if the maker's data allow it; the part's own is ${statedText(bench.part.dieLimitC, '°C')}.`
          // The one edit that loosens a protection: for a person who has read why, never taken without thinking.
          const title = `Raise the die limit to ${text}, only if the maker's data allow it`
          fixes.push({ title, edits: [replace(die.definition, stated, text)] })
        }
      }
      yield {
        at,
        ...originOf(evaluation, worst),
        message: `Die settles ${differenceText(dieC - ceilingC)} above its limit of ${statedText(ceilingC, '°C')}: ${pointWords(worst)}, at ${temperatureText(dieC)} with nothing left to give back. That ages the part or trips the machine. No lower step would help.${decided}${fanned}${watt}${raise}`,
        fixes,
      }
    }
  },
}
