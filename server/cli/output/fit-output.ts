/** A fit for reading and for scripts. */

import { fitWords, type RunsFit } from '../../service.ts'
import { paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { type Cell, tableText, widthOf, wrapped } from './table.ts'

type Result = Extract<RunsFit['result'], { constants: unknown }>
type Dimension = NonNullable<Result['constants'][number]['constant']['dimension']>
type UnitOf = (dimension: Dimension) => string

const finite = (value: number | undefined): number | null =>
  value === undefined || !Number.isFinite(value) ? null : value

function slopesJson({ part, needsSlopes }: RunsFit, unitOf: UnitOf) {
  return needsSlopes.map(needsSlope => ({
    name: fitWords.slopeName(needsSlope),
    owner: part.name,
    before: null,
    before_factor: null,
    before_from: null,
    value: needsSlope.valueVPerK,
    standard_uncertainty: needsSlope.known ? needsSlope.standardUncertainty : null,
    interval_95: null,
    learned: null,
    known: null,
    unit: unitOf('voltage-per-kelvin'),
    fitted: needsSlope.known,
    why: needsSlope.known ? null : needsSlope.why,
  }))
}

/** Values are in base units, as the model counts them; figures that do not exist are null. */
export function fitJson(fit: RunsFit, unitOf: UnitOf): string {
  const { result, used } = fit
  const slopes = slopesJson(fit, unitOf)
  const none = {
    scatter: null,
    room_warming: null,
    correlations: [],
    covariance: null,
    held: [],
    untouched: [],
    points: [],
    odd: [],
    misfiled: [],
    forgotten: [],
    changed: [],
    runs: [],
  }
  if (!('constants' in result)) {
    const whole = {
      version: 1,
      parameters: slopes,
      ...none,
      why: result.why,
      skipped: result.skipped,
    }
    return `${JSON.stringify(whole, undefined, 2)}\n`
  }
  const { constants, correlation, warming } = result
  const unit = (dimension: Dimension | undefined): string => (dimension === undefined ? '' : unitOf(dimension))
  const spread = constants.map(({ value, standardUncertainty }) => standardUncertainty / value)
  const parameters = constants.map(one => ({
    name: one.constant.name,
    owner: one.constant.owner,
    before: one.constant.value,
    before_factor: Math.exp(one.constant.spread),
    before_from: one.constant.from,
    value: one.value,
    standard_uncertainty: one.standardUncertainty,
    interval_95: one.interval,
    learned: one.learned,
    known: fitWords.sourceText(one, fit),
    unit: unit(one.constant.dimension),
    fitted: true,
    why: null,
  }))
  const left = (list: Result['held']) =>
    list.map(({ name, owner, value, spread: own, dimension }) => ({
      name,
      owner,
      value,
      factor: Math.exp(own),
      unit: unit(dimension),
    }))
  const whole = {
    version: 1,
    parameters: [...parameters, ...slopes],
    scatter: { power_pct: 100 * result.scatter.powerShare, temperature_k: result.scatter.temperatureK },
    // From the beginning of each log to its end.
    room_warming:
      warming === undefined
        ? null
        : {
            value_k: warming.valueK,
            standard_uncertainty_k: warming.standardUncertaintyK,
            interval_95_k: warming.intervalK,
            learned: warming.learned,
          },
    correlations: constants.flatMap((first, row) =>
      constants.slice(row + 1).map((second, offset) => ({
        first: first.constant.name,
        second: second.constant.name,
        value: correlation[row]?.[row + 1 + offset] ?? 0,
      })),
    ),
    // Of the logarithms of the values.
    covariance: {
      names: constants.map(({ constant }) => constant.name),
      rows: correlation.map((row, i) => row.map((r, j) => r * (spread[i] as number) * (spread[j] as number))),
    },
    held: left(result.held),
    untouched: left(result.untouched),
    points: fit.residuals.map(({ run, powerW, dieC }) => ({
      run,
      measured_w: finite(powerW?.measured),
      predicted_w: finite(powerW?.fitted),
      measured_die_c: finite(dieC?.measured),
      predicted_die_c: finite(dieC?.fitted),
    })),
    odd: fit.odd,
    misfiled: fit.misfiled,
    // What an earlier fit has counted and this one has not, and what was changed by hand since.
    forgotten: fit.forgotten,
    changed: fit.changed,
    runs: used.map(({ run, settings }) => ({
      run,
      revision: 'revision' in settings ? settings.revision : null,
      settings: settings.from,
      settings_why: settings.from === 'not-had' ? settings.why : null,
    })),
    why: null,
    skipped: result.skipped,
  }
  return `${JSON.stringify(whole, undefined, 2)}\n`
}

const {
  aboutText,
  byOwner,
  constantHead,
  constantRow,
  correlationText,
  countText,
  earlierTexts,
  leftTexts,
  misfiledTexts,
  oddTexts,
  residualHead,
  residualRow,
  settingsTexts,
  skippedTexts,
  slopeText,
  sourceTexts,
  warmingText,
} = fitWords

const cellsOf = (row: readonly string[]): Cell[] => row.map(text => ({ text }))
const linesOf = (texts: readonly (string | undefined)[], width: number): string =>
  texts.map(text => (text === undefined ? '' : wrapped(text, '  ', width))).join('')

export function fitText(fit: RunsFit, io: Io): string {
  const { part, result } = fit
  const width = widthOf(io)
  const paint = paintFor(io, io.out)
  const lines = (texts: readonly (string | undefined)[]): string => linesOf(texts, width)
  const slope = slopeText(fit)
  const skipped = lines(skippedTexts(fit))
  const head = `${paint('bold', `fit of part ${part.name}`)}: ${countText(fit)}\n`
  if (!('constants' in result)) return `${head}  nothing is fitted: ${result.why}\n${lines([slope])}${skipped}`
  const warnings = lines([...misfiledTexts(fit), ...oddTexts(fit)])
  const heads = constantHead.map((word, index) =>
    index === 0 ? ({ head: word, side: 'left', key: true } as const) : ({ head: word, side: 'right' } as const),
  )
  const constants = [...byOwner(result)].map(([owner, own]) => {
    const rows = own.map(one => cellsOf(constantRow(one, one.constant.label)))
    return `${paint('bold', owner)}\n${tableText(heads, rows, width)}`
  })
  const points = tableText(
    residualHead.map((word, index) =>
      index === 0 ? { head: word, side: 'left', key: true } : { head: word, side: 'right' },
    ),
    fit.residuals.map(one => cellsOf(residualRow(one))),
    width,
  )
  const about = lines([
    aboutText(result),
    ...[warmingText(result) ?? []].flat(),
    ...earlierTexts(fit),
    ...sourceTexts(result, fit),
    correlationText(result),
    ...leftTexts(result, fit),
    slope,
  ])
  return `${head}${warnings}${constants.join('\n')}${about}\n${points}${lines(settingsTexts(fit))}${skipped}`
}
