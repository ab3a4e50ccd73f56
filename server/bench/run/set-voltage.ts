/** What the profile of a run sets for its cores, for where nobody read the voltage at the die. */

import { type Bench, type Part, prepareBench, type Settled, setVoltageV, type VoltageRow } from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { SetVoltage } from '../likelihood/work.ts'
import { EVEN_DEVIATION } from '../statistics/moments.ts'

/** How far the die's voltage is from the set one, apart from load line and grid; engineering judgement. */
const SET_VOLTAGE_V = 0.01

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
    const { currentA, clockMhz } = settled.groups?.[index] ?? settled
    const at = (ratio: number): number => setVoltageV(setRows, board, ratio)
    return {
      at: clockGhz => {
        const ratio = clockGhz / part.referenceGhz
        const low = ratioBelow(ratio, part.ratioLow, part.ratioStep)
        const share = (ratio - low) / part.ratioStep
        return at(low) + share * (at(low + part.ratioStep) - at(low))
      },
      ...clockByRows(setRows, part, clockMhz ?? 0),
      loadLineOhm,
      standardUncertainty: Math.hypot(
        SET_VOLTAGE_V,
        EVEN_DEVIATION * stepV,
        ohmOff(bench.part.groups?.[index]?.rail) * (currentA ?? 0),
      ),
    }
  })
}

/**
 * Straight lines between rows that rise, and on beyond them. The board's grid is in the error. Below the first row all
 * clocks have its voltage: nothing tells them apart where such a clock is predicted.
 */
function clockByRows(
  rows: readonly VoltageRow[],
  { referenceGhz, ratioLow }: Pick<Part, 'referenceGhz' | 'ratioLow'>,
  predictedMhz: number,
): Pick<SetVoltage, 'clockOf'> {
  const first = rows[0]
  const rises = rows.slice(1).every(({ voltageV }, before) => voltageV > (rows[before] as VoltageRow).voltageV)
  if (first === undefined || rows.length < 2 || !rises) return {}
  if (predictedMhz <= first.ratio * referenceGhz * 1000) return {}
  return {
    clockOf: voltageV => {
      const above = rows.findIndex((row, index) => index > 0 && voltageV < row.voltageV)
      const at = above < 0 ? rows.length - 1 : above
      const [low, high] = [rows[at - 1], rows[at]] as [VoltageRow, VoltageRow]
      const share = (voltageV - low.voltageV) / (high.voltageV - low.voltageV)
      return Math.max(ratioLow, low.ratio + share * (high.ratio - low.ratio)) * referenceGhz
    },
  }
}

/** The step at or below a ratio. */
const ratioBelow = (ratio: number, lowest: number, step: number): number =>
  lowest + Math.floor((ratio - lowest) / step + 1e-9) * step
