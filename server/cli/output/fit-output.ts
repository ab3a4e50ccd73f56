import { type RunsFit, settingsText } from '../../service.ts'
import { paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { tableText, wrapped } from './table.ts'

/** A fit for reading and for scripts. */

type Dimension = NonNullable<
  Extract<RunsFit['result'], { parameters: unknown }>['parameters'][number]['parameter']['dimension']
>

/** Values are in base units, as the model counts them; figures that do not exist are null. */
export function fitJson({ result, needsSlope, used }: RunsFit, unitOf: (dimension: Dimension) => string): string {
  const finite = (value: number | undefined): number | null =>
    value === undefined || !Number.isFinite(value) ? null : value
  if (!('parameters' in result)) {
    const nothing = { parameters: [], residual_sd_w: null, degrees_of_freedom: 0, points: [] }
    return `${JSON.stringify({ version: 1, ...nothing, why: result.why, skipped: result.skipped }, undefined, 2)}\n`
  }
  const fitted = result.parameters.filter(one => one.fitted)
  const parameters = result.parameters.map(({ parameter, value, standardUncertainty, fitted: isFitted, why }) => ({
    name: parameter.name,
    owner: parameter.owner,
    value,
    standard_uncertainty: finite(standardUncertainty),
    unit: parameter.dimension === undefined ? '' : unitOf(parameter.dimension),
    fitted: isFitted,
    why: why ?? null,
  }))
  if (needsSlope?.known === true) {
    parameters.push({
      name: 'needs-slope',
      owner: parameters[0]?.owner ?? '',
      value: needsSlope.valueVPerK,
      standard_uncertainty: needsSlope.standardUncertainty,
      unit: unitOf('voltage-per-kelvin'),
      fitted: true,
      why: null,
    })
  }
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

const digits = (value: number, count: number): string => String(Number(value.toPrecision(count)))

export function fitText({ part, result, needsSlope, used }: RunsFit, io: Io): string {
  const paint = paintFor(io, io.out)
  const head = `${paint('bold', `fit of part ${part.name}`)}\n`
  const skipped = result.skipped.map(({ run, why }) => wrapped(`${run} is left out: ${why}`, '  ', 100)).join('')
  if (!('parameters' in result)) return `${head}  nothing is fitted: ${result.why}\n${skipped}`
  const table = tableText(
    [
      { head: 'constant', side: 'left' },
      { head: 'stated', side: 'right' },
      { head: 'fitted', side: 'right' },
      { head: '±', side: 'right' },
      { head: '', side: 'left' },
    ],
    result.parameters.map(({ parameter, stated, value, standardUncertainty, fitted, why }) => [
      { text: parameter.name },
      { text: digits(stated, 4) },
      { text: fitted ? digits(value, 4) : '' },
      { text: standardUncertainty === undefined ? '' : digits(standardUncertainty, 2) },
      { text: fitted ? '' : (why ?? '') },
    ]),
  )
  const points = tableText(
    [
      { head: 'run', side: 'left' },
      { head: 'measured W', side: 'right' },
      { head: 'fitted W', side: 'right' },
      { head: 'measured die °C', side: 'right' },
      { head: 'fitted die °C', side: 'right' },
    ],
    result.points.map(({ run, measured, predicted }) => [
      { text: run },
      ...[measured.power, predicted.power, measured.die, predicted.die].map(value => ({
        text: value === undefined ? '–' : value.toFixed(1),
      })),
    ]),
  )
  const spread = Number.isFinite(result.residualSdW)
    ? `; residuals of power spread by ${digits(result.residualSdW, 2)} W`
    : ''
  const slope =
    needsSlope === undefined
      ? ''
      : needsSlope.known
        ? `  needs-slope ${digits(needsSlope.valueVPerK * 1000, 3)} mV/K ± ${digits(needsSlope.standardUncertainty * 1000, 2)} mV/K, from how runs ended\n`
        : wrapped(`needs-slope is left alone: ${needsSlope.why}`, '  ', 100)
  const about = `  in base units (W, °C, K, nF, K/W); ${result.degreesOfFreedom} degrees of freedom${spread}\n`
  const settings = used
    .flatMap(({ run, settings }) =>
      settings.from === 'revision' || settings.from === 'not-had'
        ? wrapped(`${run}: ${settingsText(settings)}`, '  ', 100)
        : [],
    )
    .join('')
  return `${head}${table}${about}${slope}\n${points}${settings}${skipped}`
}
