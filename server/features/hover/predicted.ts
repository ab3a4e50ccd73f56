import type { Corner, Limiter, Settled } from '../../model/types.ts'
import type { EnvelopePoint } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Missing } from '../../semantic/input.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { clock, cores, noFigure, percent, plain, power, temperature } from '../figures.ts'
import { activeCores, innerCorners, type LoadAtCount, outerCorners, settledAt } from '../profiles.ts'
import { code, paragraphs, table } from './markdown.ts'
import { assumedText } from './words.ts'

/** Predictions as cells and tables. */

const limiterWords: Readonly<Record<Limiter, string>> = {
  step: 'step',
  band: 'band',
  vector: 'vector',
  'sustained-power': 'sustained power',
  'burst-power': 'burst power',
  current: 'current',
  'die-limit': 'die limit',
  none: '',
}

/** What holds the clock, with what its state adds. */
export function limiterText({ state, limiter }: Pick<Settled, 'state' | 'limiter'>): string {
  const word = limiterWords[limiter]
  switch (state) {
    case 'alternating':
      return `${word}, alternating`
    case 'over-limit':
      return 'over the die limit'
    case 'runaway':
      return 'thermal runaway'
    default:
      return word
  }
}

/**
 * `5.41 GHz, 61.3 °C (band)`: clock, die temperature and what holds the clock; for idle the temperature alone.
 * The bracket ends the cell: editors set the columns of a table close together.
 */
export function settledCell(settled: Settled | undefined): string {
  if (settled === undefined) return noFigure
  if (settled.state === 'runaway') return 'no steady temperature'
  const figures = settled.clockMhz === null ? [] : [clock(settled.clockMhz)]
  const why = limiterText(settled)
  return `${[...figures, temperature(settled.dieC)].join(', ')}${why === '' ? '' : ` (${why})`}`
}

/** `18 °C, 40 %`: a corner as it was written. */
export function cornerText({ airC, humidityPct }: Corner): string {
  return `${plain(airC)} °C, ${percent(humidityPct)}`
}

export function loadText({ name, cores: count }: { readonly name: string; readonly cores: number }): string {
  return count === 0 ? name : `${name} (${cores(count)})`
}

/** Where a prediction holds: `render (12 cores), at 24 °C, 55 %`. */
export function whereText({ load, corner }: Prediction): string {
  return `${loadText({ name: load.name, cores: activeCores(load) })}, at ${cornerText(corner)}`
}

/** Where a point of the envelope stands: `render (5 cores, declared as 12), at 24 °C, 55 %`. */
export function pointText({ name, load, declared, corner }: EnvelopePoint): string {
  const at = `at ${cornerText(corner)}`
  if (load.kind !== 'work') return `${name}, ${at}`
  const isDeclared = declared === undefined || (load.cores >= declared.from && load.cores <= declared.to)
  const range = declared === undefined || declared.from === declared.to ? '' : `${declared.from} to `
  const undeclared = isDeclared ? '' : `, declared as ${range}${declared.to}`
  return `${name} (${cores(load.cores)}${undeclared}), ${at}`
}

/** The smallest margin over all corners. */
export function marginCell(evaluation: Evaluation, load: LoadAtCount): string {
  const margins = evaluation.input.corners.map(corner => settledAt(evaluation, load, corner)?.marginW ?? null)
  const known = margins.filter(margin => margin !== null)
  return known.length === 0 || known.length < margins.length ? noFigure : power(Math.min(...known))
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
  if (isSame) return `The room's other corners, ${inner.map(cornerText).join(' and ')}, come to the same.`
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
    return most - least > 1 ? [`${name} on ${cores(least, most)}`] : []
  })
  return lines.length === 0 ? undefined : `Of ${lines.join(', and ')} the fewest and the most are shown.`
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

function missingText({ kind, definition, word, broken }: Missing): string {
  if (definition === undefined) return `the ${kind} that it names`
  const what = broken ? `${code(word)} is in error` : `${code(word)} is missing`
  return `${what} in ${kind} ${code(definition.name)}`
}

/** Why nothing is predicted; undefined where something is. */
export function nothingPredicted(evaluation: Evaluation): string | undefined {
  const { input, profile } = evaluation
  if (input.bench !== undefined) return undefined
  if (profile.broken === 'cycle') return 'Nothing is predicted: `based-on` leads back to this profile.'
  if (profile.broken === 'unknown') return 'Nothing is predicted: the profile it is based on is not known.'
  const missing = [...new Set(input.missing.map(missingText))]
  return `Nothing is predicted yet: ${missing.length === 0 ? 'the bench is not complete' : missing.join('; ')}.`
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
