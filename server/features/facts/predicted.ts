/** Predictions as lines, cells and tables. */

import type { Corner, Settled } from '../../model/types.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { voltageDoubt } from '../../semantic/voltage-doubt.ts'
import { clocksText, settledCell } from '../../wording/cells.ts'
import { coresText } from '../../wording/counts.ts'
import { clockText, noFigure, powerText, rangeText, temperatureText } from '../../wording/figures.ts'
import { limiterText } from '../../wording/limiters.ts'
import { obstacleText } from '../../wording/missing.ts'
import { cornerText, loadText, whereText } from '../../wording/places.ts'
import { intervalsOf, restsOnUsual } from '../intervals.ts'
import { code, paragraphs, prose, shortened, table } from '../markdown.ts'
import { activeCores, highest, innerCorners, type LoadAtCount, outerCorners, settledAt } from '../profiles.ts'
import { assumedText } from '../word-text.ts'
import { type Told, told } from './told.ts'

/** So many loads are shown at once. */
const mostRows = 8

/** The smallest margin over all corners. */
export function marginCell(evaluation: Evaluation, load: LoadAtCount): string {
  const margins = evaluation.input.corners.map(corner => settledAt(evaluation, load, corner)?.marginW ?? null)
  const known = margins.filter(margin => margin !== null)
  return known.length === 0 || known.length < margins.length ? noFigure : powerText(Math.min(...known))
}

function clockCell(settled: Settled): string {
  return settled.state === 'runaway' ? noFigure : clocksText(settled)
}

function dieCell({ state, dieC, marginW }: Settled): string {
  if (state === 'runaway') return 'no steady temperature'
  return marginW === null ? temperatureText(dieC) : `${temperatureText(dieC)}, ${powerText(marginW)}`
}

/** What a load settles at, on a row of its own name. */
export interface SettledRow {
  readonly name: string
  readonly settled: Settled | undefined
}

/** Clock, die with margin, and limiter, each in its own column; a column in which nothing stands is left out. */
export function settledTable(head: string, rows: readonly SettledRow[]): string {
  const columns: readonly (readonly [string, (settled: Settled) => string])[] = [
    ['Clock', clockCell],
    ['Die, margin', dieCell],
    ['Limiter', limiterText],
  ]
  const filled = columns.filter(([name, cell]) => {
    return name === 'Die, margin' || rows.some(({ settled }) => settled && !['', noFigure].includes(cell(settled)))
  })
  return table(
    [head, ...filled.map(([name]) => name)],
    rows.map(({ name, settled }) => [
      name,
      ...filled.map(([, cell]) => (settled === undefined ? noFigure : cell(settled))),
    ]),
  )
}

interface Found {
  readonly evaluation: Evaluation
  readonly prediction: Prediction
}

const slowness = ({ clockMhz }: Settled): number | null => (clockMhz === null ? null : -clockMhz)

/** The prediction with the largest figure over several profiles. */
function highestOf(
  evaluations: readonly Evaluation[],
  accepts: (prediction: Prediction) => boolean,
  figure: (settled: Settled) => number | null,
): Found | undefined {
  const all = evaluations.flatMap(evaluation => {
    const most = highest(evaluation.predictions.filter(accepts), figure)
    return most === undefined ? [] : [{ evaluation, ...most }]
  })
  return all.reduce<(typeof all)[number] | undefined>(
    (best, one) => (best === undefined || one.value > best.value ? one : best),
    undefined,
  )
}

/** Whether the voltages of the slowest point are enough by what was measured: a clock that is not given is no answer. */
function doubtLine({ evaluation, prediction }: Found): string | undefined {
  const { bench } = evaluation.input
  const doubt = bench && voltageDoubt(bench.part, prediction.settled.notes, undefined)
  return doubt && `Do not count on that clock: ${prose(doubt.why)}.`
}

/**
 * The answer to what loads come to: the slowest clock and what limits it, the least margin, and what speaks against them;
 * of loads without a clock the warmest die.
 */
export function answerLines(
  evaluations: readonly Evaluation[],
  accepts: (prediction: Prediction) => boolean,
): readonly (string | undefined)[] {
  const where = ({ evaluation, prediction }: Found): string =>
    `${evaluations.length === 1 ? '' : `profile ${code(evaluation.profile.definition.name)}, `}${whereText(prediction)}`
  const runaway = highestOf(evaluations, accepts, ({ state }) => (state === 'runaway' ? 1 : null))
  const slowest = highestOf(evaluations, accepts, slowness)
  const tightest = highestOf(evaluations, accepts, ({ marginW }) => (marginW === null ? null : -marginW))
  const warmest = highestOf(evaluations, accepts, ({ dieC }) => dieC)
  const line = (found: Found | undefined, text: string | undefined): string | undefined =>
    found && `${text}: ${where(found)}.`
  const margin = `least margin **${powerText(tightest?.prediction.settled.marginW)}**`
  const isOnePlace = slowest !== undefined && slowest.prediction === tightest?.prediction
  return [
    line(runaway, '**No steady temperature**, thermal runaway'),
    slowest === undefined
      ? line(warmest, `Warmest die **${temperatureText(warmest?.prediction.settled.dieC)}**`)
      : line(slowest, `${slowestText(slowest.prediction.settled)}${isOnePlace ? `, ${margin}` : ''}`),
    slowest && doubtLine(slowest),
    runaway === undefined && !isOnePlace ? line(tightest, margin.replace('l', 'L')) : undefined,
  ]
}

/** `Slowest clock **4.64 GHz**, die 72.0 °C (band, alternating)`. */
function slowestText(settled: Settled): string {
  const limiter = limiterText(settled)
  const figures = `Slowest clock **${clocksText(settled)}**, die ${temperatureText(settled.dieC)}`
  return limiter === '' ? figures : `${figures} (${limiter})`
}

/** The corners that a table of the outer ones leaves out: their own cells, or that they come to the same. */
function innerText(evaluation: Evaluation, loads: readonly LoadAtCount[]): string | undefined {
  const inner = innerCorners(evaluation)
  if (inner.length === 0 || loads.length === 0) return undefined
  const outer = outerCorners(evaluation)
  const cell = (load: LoadAtCount, corner: Corner): string => settledCell(settledAt(evaluation, load, corner))
  const isSame = inner.every(corner => {
    const beside = outer.find(one => one.airC === corner.airC)
    return beside !== undefined && loads.every(load => cell(load, corner) === cell(load, beside))
  })
  if (isSame) return `The room's other corners, ${inner.map(cornerText).join(' and ')}, give the same.`
  return paragraphs("The room's other corners:", ...inner.map(corner => cornerTable(evaluation, loads, corner)))
}

function cornerTable(evaluation: Evaluation, loads: readonly LoadAtCount[], corner: Corner): string {
  return settledTable(
    cornerText(corner),
    loads.map(load => ({ name: loadText(load), settled: settledAt(evaluation, load, corner) })),
  )
}

/** That only the ends of a load's core counts are shown, where there are others between. */
export function endsText(loads: readonly LoadAtCount[]): string | undefined {
  const lines = [...new Set(loads.map(({ name }) => name))].flatMap(name => {
    const ends = loads.filter(load => load.name === name).map(load => load.cores)
    const [least, most] = [Math.min(...ends), Math.max(...ends)]
    return most - least > 1 ? [`${name} on ${coresText(least, most)}`] : []
  })
  return lines.length === 0 ? undefined : `Only the fewest and the most cores are shown of ${lines.join(', and ')}.`
}

/** The room's outer corners, the warmest first, a table each; then what that leaves out. */
function loadTables(evaluation: Evaluation, loads: readonly LoadAtCount[]): Told {
  const corners = outerCorners(evaluation).toReversed()
  const { rows, more } = shortened(loads, mostRows)
  const tables = (some: readonly LoadAtCount[]): readonly string[] =>
    corners.map(corner => cornerTable(evaluation, some, corner))
  return told({
    tables: [...tables(rows), more === '' ? '' : `${more} loads`],
    rest: [...(more === '' ? [] : tables(loads)), innerText(evaluation, loads), endsText(loads)],
  })
}

/** Why nothing is predicted; undefined where something is. */
export function nothingPredicted(evaluation: Evaluation): string | undefined {
  return evaluation.input.bench === undefined ? `Nothing is predicted: ${obstacleText(evaluation)}.` : undefined
}

/** Whether a prediction is of one of these loads, at its ends or between. */
function isAmong(loads: readonly LoadAtCount[]): (prediction: Prediction) => boolean {
  return ({ load }) => {
    const counts = loads.filter(({ name }) => name === load.name).map(({ cores }) => cores)
    const cores = activeCores(load)
    return counts.length > 0 && cores >= Math.min(...counts) && cores <= Math.max(...counts)
  }
}

/**
 * The prediction whose interval stands beside the answer to what loads come to: the slowest clock, where usual values
 * take the place of constants. Stated ones leave it within what the load's own hover shows.
 */
export function widestShown(evaluation: Evaluation, loads: readonly LoadAtCount[]): Prediction | undefined {
  // The figures of one group are no prediction that draws can be made of.
  const isOfGroup = 'group' in evaluation.profile && evaluation.profile.group !== undefined
  if (isOfGroup || !restsOnUsual(evaluation)) return undefined
  const { prediction } = highestOf([evaluation], isAmong(loads), slowness) ?? {}
  return prediction
}

/** How far usual values leave the answer open. */
function openLine(evaluation: Evaluation, loads: readonly LoadAtCount[]): string | undefined {
  const prediction = widestShown(evaluation, loads)
  const found = prediction && intervalsOf(evaluation, prediction)
  if (found === undefined) return undefined
  const { clock_mhz, die_c } = found.interval
  return `With usual values for the constants that are left out: clock ${rangeText(clock_mhz, clockText)}, die ${rangeText(die_c, temperatureText)} (95 % interval).`
}

/** What loads come to, or why nothing is predicted. */
export function predictedLoads(evaluation: Evaluation, loads: readonly LoadAtCount[]): Told {
  const reason = nothingPredicted(evaluation)
  if (reason !== undefined) return told({ lines: [reason] })
  const { lines, tables, rest } = loadTables(evaluation, loads)
  return told({
    lines: [...answerLines([evaluation], isAmong(loads)), openLine(evaluation, loads), ...lines],
    tables,
    rest,
  })
}

/** The defaults that the predictions of some loads rest on. */
export function assumedFor(evaluation: Evaluation, loads: readonly LoadAtCount[]): string | undefined {
  if (evaluation.input.bench === undefined || loads.length === 0) return undefined
  const { assumed, loadAssumed } = evaluation.input
  return assumedText([...assumed, ...loads.flatMap(({ name }) => loadAssumed.get(name) ?? [])])
}
