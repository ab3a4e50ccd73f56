/** Hover of the voltage settings: what is entered at each step, what is needed, and what is left under load. */

import type { Match } from '../../../grammar/values.ts'
import { groupSettings, groupsOf, isWork, needVoltageV, setVoltageRows, setVoltageV } from '../../model/index.ts'
import type { Bench } from '../../model/types.ts'
import { nameAfter } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { groupsByRail, partNames } from '../../semantic/part-names.ts'
import { coresText, listed } from '../../wording/counts.ts'
import { clockText, millivoltsText, noFigure, plain, ratioText, voltageText } from '../../wording/figures.ts'
import { ofGroupText } from '../../wording/places.ts'
import { table } from '../markdown.ts'
import { evaluationOfGroup } from './group.ts'
import { nothingPredicted } from './predicted.ts'
import { type Told, together, told } from './told.ts'

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

/** The groups that a statement of voltages decides for; none where all cores are alike. */
function groupsSet({ profile }: Evaluation, match: Match): readonly string[] {
  const { groups } = partNames(profile.part)
  const word = match.word?.word ?? ''
  if (word === 'voltage') return groups
  if (nameAfter(match) !== undefined) return groups.filter(name => name === nameAfter(match))
  return groups.filter(name =>
    word === 'set'
      ? profile.setRows(name).some(row => row.match === match)
      : profile.inner('voltage', word, name)?.match === match,
  )
}

/** What is entered, needed and left over; of each group that the statement is for by itself. */
export function voltageHover(evaluation: Evaluation, match: Match): Told {
  if (evaluation.input.bench === undefined) return told({ lines: [nothingPredicted(evaluation)] })
  const { groups } = partNames(evaluation.profile.part)
  if (groups.length === 0) return voltagesOf(evaluation)
  const set = groupsSet(evaluation, match)
  if (set.length === 0) return told({ lines: ['No group of the part takes this line: each has its own.'] })
  return together(...set.map(name => voltagesOf(evaluationOfGroup(evaluation, name), name)))
}

/** The groups on the same supply rail as one of them, that one left out. */
function sharing({ profile }: Evaluation, group: string | undefined): readonly string[] {
  const all = [...groupsByRail(profile.part).values()].find(names => group !== undefined && names.includes(group))
  return (all ?? []).filter(name => name !== group)
}

function voltagesOf(evaluation: Evaluation, group?: string): Told {
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
  const of = ofGroupText(group)
  const others = sharing(evaluation, group)
  const shared =
    others.length === 0
      ? ''
      : ` The rail is also set by ${listed(others)}: it runs at the highest voltage that any of its groups asks for.`
  return told({
    lines: [
      least &&
        (least.spareV < 0
          ? `**Short by ${millivoltsText(-least.spareV)}** at ${ratioText(least.ratioX)}${of}: the die gets less than it needs.`
          : `Least spare: **${millivoltsText(least.spareV)}** at ${ratioText(least.ratioX)}${of}, over all loads and corners.`),
    ],
    tables: [
      table([`Ratio${of}`, 'Set', `Needed at ${plain(part.needsAtC)} °C`, 'Least spare'], shown),
      ratios.length > mostRows ? `and ${ratios.length - mostRows} more ratios at which a load runs` : undefined,
    ],
    rest: [
      `Least spare${of} is the die voltage above the need over all loads and corners. ${rounding}${line}${shared}`,
    ],
  })
}

/** `vector -2x`: what is left of each step under vector loads, of each group that the line is for. */
export function vectorHover(evaluation: Evaluation, match: Match): Told {
  const { bench } = evaluation.input
  if (bench === undefined) return told({ lines: [nothingPredicted(evaluation)] })
  const { part, profile } = bench
  const rows = groupsOf(part).flatMap((group, index) => {
    const name = part.groups?.[index]?.name
    if (name !== undefined && evaluation.profile.key('vector', name)?.match !== match) return []
    const { steps, vectorDrop } = groupSettings(profile, index)
    return steps.map(row => [
      `${coresText(row.fromCores, row.toCores)}${ofGroupText(name)}`,
      clockText(row.ratio * part.referenceGhz * 1000),
      clockText(Math.max(group.ratioLow, row.ratio - vectorDrop) * part.referenceGhz * 1000),
    ])
  })
  const loads = new Set(
    evaluation.input.loads.filter(({ load }) => isWork(load) && load.vector).map(({ name }) => name),
  )
  return told({
    lines: [loads.size === 0 ? 'No declared load is a vector load.' : `Vector loads here: ${[...loads].join(', ')}.`],
    tables: [rows.length === 0 ? undefined : table(['Active', 'Clock', 'Vector loads'], rows)],
  })
}
