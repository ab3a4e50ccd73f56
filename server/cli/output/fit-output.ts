/** A fit for reading and for scripts. */

import { fitWords, type RunsFit } from '../../service.ts'
import { paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { type Cell, tableText, widthOf, wrapped } from './table.ts'

type Dimension = NonNullable<
  Extract<RunsFit['result'], { parameters: unknown }>['parameters'][number]['parameter']['dimension']
>

/** Values are in base units, as the model counts them; figures that do not exist are null. */
export function fitJson({ part, result, needsSlope, used }: RunsFit, unitOf: (dimension: Dimension) => string): string {
  const finite = (value: number | undefined): number | null =>
    value === undefined || !Number.isFinite(value) ? null : value
  const slope = needsSlope && {
    name: 'needs-slope',
    owner: part.name,
    value: needsSlope.valueVPerK,
    standard_uncertainty: needsSlope.known ? needsSlope.standardUncertainty : null,
    interval_95: null,
    unit: unitOf('voltage-per-kelvin'),
    fitted: needsSlope.known,
    why: needsSlope.known ? null : needsSlope.why,
  }
  if (!('parameters' in result)) {
    const parameters = slope === undefined ? [] : [slope]
    const nothing = { parameters, residual_sd_w: null, degrees_of_freedom: 0, points: [] }
    return `${JSON.stringify({ version: 1, ...nothing, why: result.why, skipped: result.skipped }, undefined, 2)}\n`
  }
  const fitted = result.parameters.filter(one => one.fitted)
  const parameters = result.parameters.map(
    ({ parameter, value, standardUncertainty, interval, fitted: isFitted, why }) => ({
      name: parameter.name,
      owner: parameter.owner,
      value,
      standard_uncertainty: finite(standardUncertainty),
      interval_95: interval === undefined ? null : interval.map(finite),
      unit: parameter.dimension === undefined ? '' : unitOf(parameter.dimension),
      fitted: isFitted,
      why: why ?? null,
    }),
  )
  if (slope !== undefined) parameters.push(slope)
  const correlations = fitted.flatMap((first, row) =>
    fitted.slice(row + 1).map((second, offset) => ({
      first: first.parameter.name,
      second: second.parameter.name,
      value: result.correlation[row]?.[row + 1 + offset] ?? 0,
    })),
  )
  const points = result.points.map(({ run, measured, predicted }) => ({
    run,
    measured_w: finite(measured.power),
    predicted_w: finite(predicted.power),
    measured_die_c: finite(measured.die),
    predicted_die_c: finite(predicted.die),
  }))
  const whole = {
    version: 1,
    parameters,
    correlations,
    held: result.held.map(({ parameter, value, standardUncertainty }) => ({
      name: parameter.name,
      owner: parameter.owner,
      value,
      standard_uncertainty: finite(standardUncertainty),
      unit: parameter.dimension === undefined ? '' : unitOf(parameter.dimension),
    })),
    residual_sd_w: finite(result.residualSdW),
    residual_sd_k: finite(result.residualSdK),
    degrees_of_freedom: result.degreesOfFreedom,
    points,
    runs: used.map(({ run, settings }) => ({
      run,
      revision: 'revision' in settings ? settings.revision : null,
      settings: settings.from,
      settings_why: settings.from === 'not-had' ? settings.why : null,
    })),
    skipped: result.skipped,
  }
  return `${JSON.stringify(whole, undefined, 2)}\n`
}

const {
  aboutText,
  constantHead,
  constantRow,
  correlationText,
  heldText,
  residualHead,
  residualRow,
  settingsTexts,
  skippedTexts,
  slopeText,
} = fitWords

const cellsOf = (row: readonly string[]): Cell[] => row.map(text => ({ text }))
const linesOf = (texts: readonly (string | undefined)[], width: number): string =>
  texts.map(text => (text === undefined ? '' : wrapped(text, '  ', width))).join('')

export function fitText(fit: RunsFit, io: Io): string {
  const { part, result } = fit
  const width = widthOf(io)
  const lines = (texts: readonly (string | undefined)[]): string => linesOf(texts, width)
  const head = `${paintFor(io, io.out)('bold', `fit of part ${part.name}`)}\n`
  const slope = slopeText(fit)
  const skipped = lines(skippedTexts(fit))
  if (!('parameters' in result)) return `${head}  nothing is fitted: ${result.why}\n${lines([slope])}${skipped}`
  // Of the needs' slope alone there is no table.
  if (result.parameters.length === 0) return `${head}${lines([slope])}${lines(settingsTexts(fit))}${skipped}`
  const constants = tableText(
    constantHead.map((word, index) => ({
      head: word,
      side: index === 0 || word === '' ? 'left' : 'right',
      ...(index === 0 ? { key: true as const } : {}),
    })),
    result.parameters.map(one => cellsOf(constantRow(one))),
    // Why a constant is left alone is a sentence.
    Number.POSITIVE_INFINITY,
  )
  const points = tableText(
    residualHead.map((word, index) =>
      index === 0 ? { head: word, side: 'left', key: true } : { head: word, side: 'right' },
    ),
    result.points.map(one => cellsOf(residualRow(one))),
    width,
  )
  const about = lines([aboutText(result), correlationText(result), heldText(result), slope])
  return `${head}${constants}${about}\n${points}${lines(settingsTexts(fit))}${skipped}`
}
