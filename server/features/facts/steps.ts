/** Hover of `steps` and its rows: what the clock comes to, and how it falls as the die warms. */

import type { CountRange, Match } from '../../../grammar/values.ts'
import { type Level, ladderLevels, setVoltageRows, setVoltageV, stepRatio } from '../../model/index.ts'
import { dieCeilingC } from '../../model/ratio.ts'
import type { Bench } from '../../model/types.ts'
import { counts, quantity } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { coresText, listed } from '../../wording/counts.ts'
import { clockText, plain, ratioText, temperatureText, voltageText } from '../../wording/figures.ts'
import { code, list, paragraphs } from '../markdown.ts'
import { type LoadAtCount, loadsWithin } from '../profiles.ts'
import { evaluationOfGroup, groupsOfRow, groupsOfTable } from './group.ts'
import { assumedFor, nothingPredicted, predictedLoads, widestShown } from './predicted.ts'
import { type Told, together, told } from './told.ts'

/** Counts with the same way down share one text. */
interface Fall {
  readonly from: number
  to: number
  readonly key: string
  readonly levels: readonly Level[]
}

function falls(bench: Bench, covered: readonly number[]): readonly Fall[] {
  const found: Fall[] = []
  for (const count of covered) {
    const levels = ladderLevels(bench.part, bench.profile, { cores: count, vector: false })
    const bands = levels.filter(level => level.limiter !== 'die-limit')
    const key = bands.map(level => `${level.ratio} ${level.enteredC}`).join('; ')
    const last = found.at(-1)
    if (last?.key === key && last.to === count - 1) last.to = count
    else found.push({ from: count, to: count, key, levels: bands })
  }
  return found
}

function fallText(bench: Bench, { from, to, levels }: Fall): string {
  const { part, profile } = bench
  const ghz = (level: Level): string =>
    `${clockText(level.ratio * part.referenceGhz * 1000)} (${ratioText(level.ratio)})`
  const ceiling = `${plain(dieCeilingC(part, profile))} °C`
  const lines = levels.map((level, index) => {
    const next = levels[index + 1]
    const since = level.enteredC === Number.NEGATIVE_INFINITY ? undefined : `from ${plain(level.enteredC)} °C`
    return `${since ?? `below ${next === undefined ? ceiling : `${plain(next.enteredC)} °C`}`}: ${ghz(level)}`
  })
  lines.push(`at ${ceiling}, the die limit: ${ratioText(part.ratioStep)} less at a time`)
  return paragraphs(`How the clock falls as the die warms, ${coresText(from, to)}:`, list(lines))
}

function vectorText({ part, profile }: Bench): string | undefined {
  if (profile.vectorDrop === 0) return undefined
  const drop = clockText(profile.vectorDrop * part.referenceGhz * 1000)
  return `Under vector loads ${ratioText(profile.vectorDrop)} (${drop}) less on each.`
}

/** The core counts for which a row of `steps` counts: those that no row before it covers. */
function countsOf(bench: Bench, range: CountRange, ratioX: number): number[] {
  const { part, profile } = bench
  const row = profile.steps.findIndex(
    one => one.fromCores === range.from && one.toCores === range.to && one.ratio === ratioX,
  )
  const before = profile.steps.slice(0, Math.max(0, row))
  const found: number[] = []
  for (let count = range.from; count <= Math.min(range.to, part.cores); count++) {
    if (!before.some(one => count >= one.fromCores && count <= one.toCores)) found.push(count)
  }
  return found
}

/** The evaluation that a row speaks of, with a line that says for which cores; of a table for several groups the first's. */
function seenFrom(
  evaluation: Evaluation,
  row: Match,
): { readonly evaluation: Evaluation; readonly group: string | undefined; readonly others: string | undefined } {
  const [group, ...others] = groupsOfRow(evaluation.profile, row)
  if (group === undefined) return { evaluation, group, others: undefined }
  return {
    evaluation: evaluationOfGroup(evaluation, group),
    group,
    others: others.length === 0 ? undefined : `The row holds for ${listed(others)} too.`,
  }
}

export function stepRowHover(whole: Evaluation, row: Match): Told | undefined {
  const { evaluation, group, others } = seenFrom(whole, row)
  const range = counts(row, 'cores')
  const ratioX = quantity(row, 'ratio')?.value
  if (!row.sound || range === undefined || ratioX === undefined) return undefined
  const { bench } = evaluation.input
  const of = group === undefined ? '' : ` of group ${group}`
  const title = `**${coresText(range.from, range.to)}${of} at ${ratioText(ratioX)}**, profile ${code(evaluation.profile.definition.name)}`
  if (bench === undefined) return told({ lines: [title, nothingPredicted(evaluation)] })
  const covered = countsOf(bench, range, ratioX)
  if (covered.length === 0)
    return told({
      lines: [title, 'This row has no effect: rows before it, or the size of the part, leave no core counts for it.'],
    })
  const setV = setVoltageV(setVoltageRows(bench.part, bench.profile.voltage), bench.board, ratioX)
  const loads = loadsWithin(evaluation, count => covered.includes(count))
  const ways = falls(bench, covered).map(fall => fallText(bench, fall))
  return together(
    told({
      lines: [`${title}: ${clockText(ratioX * bench.part.referenceGhz * 1000)}, set ${voltageText(setV)}`, others],
    }),
    loads.length === 0
      ? told({
          lines: [
            `No declared load keeps ${coresText(range.from, range.to)}${of} busy, so there is nothing to predict for this row.`,
          ],
        })
      : predictedLoads(evaluation, loads),
    // One way down is short; several are for whoever wants to know.
    told(ways.length === 1 ? { tables: ways } : { rest: ways }),
    told({ rest: [vectorText(bench), assumedFor(evaluation, loads)] }),
  )
}

/** The loads that a row of `steps` or `bands` holds for. */
function loadsOfRow(evaluation: Evaluation, row: Match): readonly LoadAtCount[] {
  const range = counts(row, 'cores')
  const ratioX = quantity(row, 'ratio')?.value
  const { bench } = evaluation.input
  if (!row.sound || range === undefined || bench === undefined) return []
  const covered = ratioX === undefined ? undefined : countsOf(bench, range, ratioX)
  return loadsWithin(evaluation, count => covered?.includes(count) ?? (count >= range.from && count <= range.to))
}

/** The prediction of a profile whose interval a hover shows, which takes draws: on a row of a table, or on all loads. */
export function openPrediction(evaluation: Evaluation, match: Match | undefined): Prediction | undefined {
  const word = match?.word?.word
  const isRow = match !== undefined && word === '' && (match.place === 'steps' || match.place === 'bands')
  // What a group's row shows has no interval.
  if (isRow && groupsOfRow(evaluation.profile, match).length > 0) return undefined
  if (isRow) return widestShown(evaluation, loadsOfRow(evaluation, match))
  const isTable = word === 'steps' || word === 'bands'
  // Nor has what the table of one group shows.
  if (match !== undefined && isTable && oneGroupOf(evaluation, match) !== undefined) return undefined
  const isOfAll = word === undefined || word === 'profile' || isTable
  return isOfAll
    ? widestShown(
        evaluation,
        loadsWithin(evaluation, () => true),
      )
    : undefined
}

/** All declared loads of a profile. */
export function allLoadsHover(evaluation: Evaluation): Told {
  const reason = nothingPredicted(evaluation)
  if (reason !== undefined) return told({ lines: [reason] })
  const loads = loadsWithin(evaluation, () => true)
  if (loads.length === 0) return told({ lines: ['No load is declared, so there is nothing to predict.'] })
  return together(predictedLoads(evaluation, loads), told({ rest: [assumedFor(evaluation, loads)] }))
}

/** The group that a table of `steps` or `bands` is for, where it is for one of several. */
function oneGroupOf({ profile }: Evaluation, table: Match): string | undefined {
  const [group, ...others] = groupsOfTable(profile, table)
  return others.length === 0 ? group : undefined
}

/** The loads of a profile beside a table of `steps` or `bands`: of a table for one group those that keep it busy. */
export function tableHover(whole: Evaluation, table: Match): Told {
  const group = oneGroupOf(whole, table)
  if (group === undefined || nothingPredicted(whole) !== undefined) return allLoadsHover(whole)
  const evaluation = evaluationOfGroup(whole, group)
  if (evaluation.input.loads.length === 0) return told({ lines: [`No declared load keeps group ${group} busy.`] })
  return together(told({ lines: [`Cores of group **${group}**:`] }), allLoadsHover(evaluation))
}

/** A row of `bands`: which clock it leads to, and which loads get there. */
export function bandRowHover(whole: Evaluation, row: Match): Told | undefined {
  const { evaluation, group, others } = seenFrom(whole, row)
  const range = counts(row, 'cores')
  const above = quantity(row, 'above')?.value
  const drop = quantity(row, 'drop')?.value
  const { bench } = evaluation.input
  if (!row.sound || range === undefined || above === undefined || drop === undefined) return undefined
  const title = `**${ratioText(drop)} less from ${plain(above)} °C**, ${coresText(range.from, range.to)}${group === undefined ? '' : ` of group ${group}`}`
  if (bench === undefined) return told({ lines: [title, nothingPredicted(evaluation)] })
  const { part, profile } = bench
  const steps = new Set<number>()
  for (let count = range.from; count <= Math.min(range.to, part.cores); count++) {
    const step = stepRatio(profile, count)
    if (step !== undefined) steps.add(step)
  }
  const changes = [...steps].map(step => {
    const left = Math.max(part.ratioLow, step - drop)
    const [before, after] = [step, left].map(one => clockText(one * part.referenceGhz * 1000))
    return `${ratioText(step)} becomes ${ratioText(left)}: ${before} to ${after}`
  })
  const back =
    profile.returnK > 0
      ? `Left again below ${temperatureText(above - profile.returnK)}.`
      : 'Left again as soon as the die is below it: the clock then alternates there.'
  const loads = loadsWithin(evaluation, count => count >= range.from && count <= range.to)
  return together(
    told({ lines: [title, changes.length === 0 ? undefined : `${changes.join('; ')}.`, back, others] }),
    loads.length === 0
      ? told({ lines: ['No declared load keeps these cores busy.'] })
      : predictedLoads(evaluation, loads),
    told({ rest: [assumedFor(evaluation, loads)] }),
  )
}
