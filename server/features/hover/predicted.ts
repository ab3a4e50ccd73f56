import type { Corner } from '../../model/types.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { settledCell } from '../../wording/cells.ts'
import { coresText } from '../../wording/counts.ts'
import { noFigure, powerText } from '../../wording/figures.ts'
import { obstacleText } from '../../wording/missing.ts'
import { cornerText, loadText } from '../../wording/places.ts'
import { paragraphs, table } from '../markdown.ts'
import { innerCorners, type LoadAtCount, outerCorners, settledAt } from '../profiles.ts'
import { assumedText } from '../word-text.ts'

/** Predictions as cells and tables. */

/** The smallest margin over all corners. */
export function marginCell(evaluation: Evaluation, load: LoadAtCount): string {
  const margins = evaluation.input.corners.map(corner => settledAt(evaluation, load, corner)?.marginW ?? null)
  const known = margins.filter(margin => margin !== null)
  return known.length === 0 || known.length < margins.length ? noFigure : powerText(Math.min(...known))
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
  return table(
    ["The room's other corners", ...inner.map(cornerText)],
    loads.map(load => [loadText(load), ...inner.map(corner => cell(load, corner))]),
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

/** Loads down, the room's outer corners across, and the smallest margin; then what that leaves out. */
export function loadTable(evaluation: Evaluation, loads: readonly LoadAtCount[]): string {
  const corners = outerCorners(evaluation)
  const head = ['Load', ...corners.map(cornerText), 'Least margin']
  return paragraphs(
    table(
      head,
      loads.map(load => [
        loadText(load),
        ...corners.map(corner => settledCell(settledAt(evaluation, load, corner))),
        marginCell(evaluation, load),
      ]),
    ),
    innerText(evaluation, loads),
    endsText(loads),
  )
}

/** Why nothing is predicted; undefined where something is. */
export function nothingPredicted(evaluation: Evaluation): string | undefined {
  return evaluation.input.bench === undefined ? `Nothing is predicted: ${obstacleText(evaluation)}.` : undefined
}

/** The table of loads, or why there is none. */
export function predictedLoads(evaluation: Evaluation, loads: readonly LoadAtCount[]): string {
  return nothingPredicted(evaluation) ?? loadTable(evaluation, loads)
}

/** The defaults that the predictions of some loads rest on. */
export function assumedFor(evaluation: Evaluation, loads: readonly LoadAtCount[]): string | undefined {
  if (evaluation.input.bench === undefined || loads.length === 0) return undefined
  const { assumed, loadAssumed } = evaluation.input
  return assumedText([...assumed, ...loads.flatMap(({ name }) => loadAssumed.get(name) ?? [])])
}
