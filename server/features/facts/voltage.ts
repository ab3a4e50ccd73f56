/** Hover of the voltage settings: what is entered at each step, what is needed, and what is left under load. */

import { isWork, needVoltageV, setVoltageRows, setVoltageV } from '../../model/index.ts'
import type { Bench } from '../../model/types.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { coresText } from '../../wording/counts.ts'
import { clockText, millivoltsText, noFigure, plain, ratioText, voltageText } from '../../wording/figures.ts'
import { table } from '../markdown.ts'
import { nothingPredicted } from './predicted.ts'
import { type Told, told } from './told.ts'

/** The smallest die voltage above the need over all predictions that run at this ratio. */
function leastSpareV(evaluation: Evaluation, ratioX: number): number | undefined {
  const spares = evaluation.predictions.flatMap(({ settled }) =>
    settled.notes.voltages.filter(one => Math.abs(one.ratio - ratioX) < 1e-9).map(one => one.voltageV - one.needV),
  )
  return spares.length === 0 ? undefined : Math.min(...spares)
}

/** Ratios that matter: those of the steps, and those at which a load really runs, fastest first. */
function ratiosOf(evaluation: Evaluation, bench: Bench): readonly number[] {
  const steps = bench.profile.steps.map(row => row.ratio)
  const running = evaluation.predictions.flatMap(({ settled }) => settled.notes.voltages.map(one => one.ratio))
  const all = [...steps, ...running].sort((a, b) => b - a)
  return all.filter((value, index) => index === 0 || (all[index - 1] as number) - value > 1e-9)
}

const mostRows = 8

export function voltageHover(evaluation: Evaluation): Told {
  const { bench } = evaluation.input
  if (bench === undefined) return told({ lines: [nothingPredicted(evaluation)] })
  const { part, profile, board } = bench
  const rows = setVoltageRows(part, profile.voltage)
  const ratios = ratiosOf(evaluation, bench)
  const shown = ratios.slice(0, mostRows).map(ratioX => {
    const spare = leastSpareV(evaluation, ratioX)
    return [
      `${ratioText(ratioX)} (${clockText(ratioX * part.referenceGhz * 1000)})`,
      voltageText(setVoltageV(rows, board, ratioX)),
      voltageText(needVoltageV(part, ratioX, part.needsAtC, { vector: false })),
      spare === undefined ? noFigure : millivoltsText(spare),
    ]
  })
  const rounding =
    board.coreVoltageStepV === undefined
      ? 'The board states no voltage grid, so nothing is rounded.'
      : `Set voltages are rounded to the board's grid of ${plain(board.coreVoltageStepV * 1000)} mV.`
  const line =
    board.loadLineOhm === 0
      ? ''
      : ` The load line of ${plain(board.loadLineOhm * 1000)} mΩ lowers it further under load.`
  const known = ratios.flatMap(ratioX => {
    const spareV = leastSpareV(evaluation, ratioX)
    return spareV === undefined ? [] : [{ ratioX, spareV }]
  })
  const [first] = known
  const least = first && known.reduce((best, one) => (one.spareV < best.spareV ? one : best), first)
  return told({
    lines: [
      least &&
        (least.spareV < 0
          ? `**Short by ${millivoltsText(-least.spareV)}** at ${ratioText(least.ratioX)}: the die gets less than it needs.`
          : `Least spare: **${millivoltsText(least.spareV)}** at ${ratioText(least.ratioX)}, over all loads and corners.`),
    ],
    tables: [
      table(['Ratio', 'Set', `Needed at ${plain(part.needsAtC)} °C`, 'Least spare'], shown),
      ratios.length > mostRows ? `and ${ratios.length - mostRows} more ratios at which a load runs` : undefined,
    ],
    rest: [`Least spare is the die voltage above the need over all loads and corners. ${rounding}${line}`],
  })
}

/** `vector -2x`: what is left of each step under vector loads. */
export function vectorHover(evaluation: Evaluation): Told {
  const { bench } = evaluation.input
  if (bench === undefined) return told({ lines: [nothingPredicted(evaluation)] })
  const { part, profile } = bench
  const rows = profile.steps.map(row => {
    const left = Math.max(part.ratioLow, row.ratio - profile.vectorDrop)
    return [
      coresText(row.fromCores, row.toCores),
      clockText(row.ratio * part.referenceGhz * 1000),
      clockText(left * part.referenceGhz * 1000),
    ]
  })
  const loads = new Set(
    evaluation.input.loads.filter(({ load }) => isWork(load) && load.vector).map(({ name }) => name),
  )
  return told({
    lines: [loads.size === 0 ? 'No declared load is a vector load.' : `Vector loads here: ${[...loads].join(', ')}.`],
    tables: [table(['Active', 'Clock', 'Vector loads'], rows)],
  })
}
