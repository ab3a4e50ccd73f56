/** Proposals of steps and bands for a terminal and for scripts. */
import type { Failure, Instead } from '../../planning/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import {
  allWithIntervals,
  bandRowsOf,
  figuresOf,
  type PredictionFigures,
  type Proposal,
  type Service,
  wording,
  proposeWords as words,
  worstOfLoads,
} from '../../service.ts'
import { pathOfUri } from '../../workspace/node-files.ts'
import { headText, paintFor } from '../colour.ts'
import { shownPath } from '../files.ts'
import type { Io } from '../io.ts'
import { linesOf } from '../lines.ts'
import { groupClockText } from './predict-rows.ts'
import { type Column, tableText, widthOf, wrapped } from './table.ts'

export interface PlacedProposal {
  /** The file of the profile as outputs show it. */
  readonly file: string
  /** The line of its name, from 1. */
  readonly line: number
  readonly evaluation: Evaluation
  readonly proposal: Proposal
  readonly service: Service
}

const columns: readonly Column[] = [
  { head: 'load', side: 'left', key: true },
  { head: 'cores', side: 'right', key: true },
  { head: 'MHz now', side: 'right' },
  { head: 'then', side: 'right' },
  { head: 'die °C', side: 'right' },
  { head: 'then', side: 'right' },
  { head: 'margin', side: 'right' },
  { head: 'then', side: 'right' },
  { head: 'limiter then', side: 'left' },
]

type FiguresByLoad = ReadonlyMap<string, PredictionFigures>

const figuresByLoad = (evaluation: Evaluation): FiguresByLoad =>
  new Map(worstOfLoads(evaluation).map(one => [one.load.name, figuresOf(evaluation, one)]))

const coresOf = ({ cores }: PredictionFigures): string => (cores === 0 ? wording.noFigure : String(cores))

/** Each load at its worst, before and after. */
function comparedText(now: FiguresByLoad, then: FiguresByLoad, width: number): string {
  const rows = [...then].map(([load, figure]) => {
    const old = now.get(load)
    const pair = (key: 'clock_mhz' | 'die_c' | 'margin_w', decimals: number): string[] =>
      [old?.[key] ?? null, figure[key]].map(value => wording.column(value, decimals))
    return [
      load,
      coresOf(figure),
      ...pair('clock_mhz', 0),
      ...pair('die_c', 1),
      ...pair('margin_w', 0),
      figure.limiter,
    ].map(text => ({ text }))
  })
  return tableText(columns, rows, width)
}

/** What each group of cores does, before and after; nothing where all cores are alike. */
function comparedGroups(now: FiguresByLoad, then: FiguresByLoad, width: number): string {
  const names = [...then.values()][0]?.groups?.map(({ group }) => group) ?? []
  if (names.length === 0) return ''
  const heads = names.flatMap((name): Column[] => [
    { head: `${name} MHz now`, side: 'right' },
    { head: 'then', side: 'right' },
  ])
  const rows = [...then].map(([load, figure]) => {
    const clock = (of: PredictionFigures | undefined, name: string): string => {
      const own = of?.groups?.find(({ group }) => group === name)
      return own === undefined ? wording.noFigure : groupClockText(own)
    }
    const clocks = names.flatMap(name => [now.get(load), figure].map(of => clock(of, name)))
    return [load, coresOf(figure), ...clocks].map(text => ({ text }))
  })
  return tableText([...columns.filter(({ key }) => key), ...heads], rows, width)
}

/** What is predicted of each load, before and after. */
function loadsText(before: Evaluation, after: Evaluation, width: number): string {
  const [now, then] = [figuresByLoad(before), figuresByLoad(after)]
  return comparedText(now, then, width) + comparedGroups(now, then, width)
}

export function proposeText({ file, line, evaluation, proposal, service: _ }: PlacedProposal, io: Io): string {
  const paint = paintFor(io, io.out)
  const width = widthOf(io)
  const { plan, unmet, proposed, profile } = proposal
  const told = (text: string, indent = '  '): string => wrapped(text, indent, width)
  const head = headText(paint, profile, `${file}:${line}`)
  if (plan.kind === 'none') return `${head}${told(words.noPlanText(plan))}`
  const ratioStep = evaluation.input.benchForSteps?.part.ratioStep ?? 1
  const bands = words.bandTexts(plan)
  const back = words.returnText(plan)
  return [
    `${head}${plan.rows.map(row => told(words.rowText(row, ratioStep))).join('')}`,
    bands.length === 0
      ? told('No bands: every case holds its step.')
      : [...bands, ...(back === undefined ? [] : [back])].map(text => told(text)).join(''),
    ...(unmet.length === 0 ? [] : [unmet.map(one => told(words.unmetText(one))).join('')]),
    ...(proposed === undefined ? [] : [loadsText(evaluation, proposed, width)]),
    told(`Caution: ${words.proposeCaution}`),
  ].join('\n')
}

const failsJson = ({ load, cores, airC, humidityPct, figure, value, allowed, unit }: Failure): object => ({
  load,
  cores,
  air_c: airC,
  humidity_pct: humidityPct,
  figure,
  value,
  allowed,
  unit,
})

/** What fails under another row of bands; null where all is as sound. */
function insteadJson({ instead, aboveC }: { readonly instead: Instead; readonly aboveC?: number | undefined }) {
  if (instead.kind === 'fails') return { decided_by: instead.failure.by, ...failsJson(instead.failure) }
  if (instead.kind !== 'ceiling') return null
  const none = { load: null, cores: null, air_c: null, humidity_pct: null }
  return { decided_by: 'die', ...none, figure: 'above_c', value: aboveC, allowed: instead.ceilingC, unit: '°C' }
}

/** Where an expectation stands. */
function placeOf(service: Service, io: Io, { chunk }: { readonly chunk: object }, offset: number) {
  for (const document of service.workspace.documents()) {
    const found = [...document.starts].find(([one]) => one === chunk)
    if (found === undefined) continue
    const { line } = linesOf(document.source.text).at(found[1] + offset)
    return { file: shownPath(io, pathOfUri(document.uri) ?? document.uri), line }
  }
  return {}
}

export function proposeJson({ file, evaluation, proposal, service }: PlacedProposal, io: Io): string {
  const { plan, unmet, proposed, profile } = proposal
  const rows = plan.kind === 'none' ? [] : plan.rows
  const figures = (one: Evaluation): readonly object[] => allWithIntervals(one).map(row => ({ file, ...row }))
  const value = {
    version: 1,
    file,
    profile,
    rows: rows.map(({ group, from, to, ratio, next }) => ({
      group: group ?? null,
      from,
      to,
      ratio,
      decided_by: next.by,
      next_fails: failsJson(next),
    })),
    bands: bandRowsOf({ rows }).map(({ group, from, to, aboveC, drop, less, later }) => ({
      group: group ?? null,
      from,
      to,
      above_c: aboveC,
      drop,
      less_fails: insteadJson(less),
      later_fails: insteadJson(later),
    })),
    return_k: plan.kind === 'none' ? null : plan.returnK,
    unmet: unmet.map(({ expectation, why }) => ({
      ...placeOf(service, io, expectation.sourced.definition, expectation.sourced.match.statement.start),
      text: expectation.text,
      predicted: expectation.predicted,
      unit: expectation.unit,
      why,
    })),
    before: figures(evaluation),
    predicted: proposed === undefined ? [] : figures(proposed),
    ...(plan.kind === 'none'
      ? { stuck: { ratio: plan.ratio, decided_by: plan.failure.by, ...failsJson(plan.failure) } }
      : {}),
  }
  return `${JSON.stringify(value, undefined, 2)}\n`
}
