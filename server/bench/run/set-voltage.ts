/** What the profile of a run sets for its cores, for where nobody read the voltage at the die. */

import { type Bench, prepareBench, type Settled, setVoltageV } from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { SetVoltage } from '../likelihood/work.ts'

/** How far the die's voltage is from the set one, apart from load line and grid; engineering judgement. */
const SET_VOLTAGE_V = 0.01
/** The standard deviation of an even law, as a share of its width. */
const EVEN = 1 / Math.sqrt(12)

/** Of each group, in the part's order; of a plain part its own alone. */
export function setVoltagesOf(
  { input: { uncertain } }: Evaluation,
  bench: Bench,
  settled: Settled,
): readonly SetVoltage[] {
  const { groups, rails } = prepareBench(bench)
  const ohmOff = (rail: string | undefined): number => {
    const own = uncertain.find(({ changes }) =>
      changes.some(({ target, field, of }) => target === 'board' && field === 'loadLineOhm' && of === rail),
    )
    return own?.standardUncertainty ?? (rail === undefined ? 0 : ohmOff(undefined))
  }
  return groups.map(({ part, setRows, rail }, index): SetVoltage => {
    const { board } = rails[rail] as (typeof rails)[number]
    const { loadLineOhm, coreVoltageStepV: stepV = 0 } = board
    const currentA = (settled.groups?.[index] ?? settled).currentA ?? 0
    const at = (ratio: number): number => setVoltageV(setRows, board, ratio)
    return {
      at: clockGhz => {
        const ratio = clockGhz / part.referenceGhz
        const low = ratioBelow(ratio, part.ratioLow, part.ratioStep)
        const share = (ratio - low) / part.ratioStep
        return at(low) + share * (at(low + part.ratioStep) - at(low))
      },
      loadLineOhm,
      standardUncertainty: Math.hypot(SET_VOLTAGE_V, EVEN * stepV, ohmOff(bench.part.groups?.[index]?.rail) * currentA),
    }
  })
}

/** The step at or below a ratio. */
const ratioBelow = (ratio: number, lowest: number, step: number): number =>
  lowest + Math.floor((ratio - lowest) / step + 1e-9) * step
