/** A fit in words and cells, for the terminal and for the paper. */

import type { FitResult, PointResidual } from '../../bench/fit/fit.ts'
import type { RunsFit } from '../../bench/fit/runs.ts'
import { settingsText } from '../../bench/run/wording.ts'
import { fixed } from '../../wording/figures.ts'

export const constantHead = ['constant', 'stated', 'fitted', '±', '95 % interval', ''] as const
export const residualHead = ['run', 'measured W', 'fitted W', 'measured die °C', 'fitted die °C'] as const

const digits = (value: number, count: number): string => String(Number(value.toPrecision(count)))
const none = '–'

/** As far as its standard uncertainty gives digits a meaning: two of those. */
function meaningful(value: number, standardUncertainty: number): string {
  if (!(standardUncertainty > 0)) return digits(value, 4)
  return fixed(value, Math.max(0, Math.min(12, 1 - Math.floor(Math.log10(standardUncertainty)))))
}

/** Name, stated, fitted, one standard uncertainty, the interval; or why it was left alone. */
export function constantRow({
  parameter,
  stated,
  value,
  standardUncertainty,
  interval,
  fitted,
  why,
}: FitResult['parameters'][number]): readonly string[] {
  return [
    parameter.name,
    digits(stated, 4),
    fitted ? digits(value, 4) : '',
    standardUncertainty === undefined ? '' : digits(standardUncertainty, 2),
    interval === undefined ? '' : interval.map(end => meaningful(end, standardUncertainty ?? 0)).join(' to '),
    fitted ? '' : (why ?? ''),
  ]
}

export function residualRow({ run, measured, predicted }: PointResidual): readonly string[] {
  const figures = [measured.power, predicted.power, measured.die, predicted.die]
  return [run, ...figures.map(value => (value === undefined ? none : value.toFixed(1)))]
}

/** Measured less fitted: W of power, K of the die. */
export function differences({ measured, predicted }: PointResidual): readonly string[] {
  return (['power', 'die'] as const).map(kind => {
    const [from, to] = [predicted[kind], measured[kind]]
    if (from === undefined || to === undefined) return none
    const text = fixed(to - from, 2)
    return Number(text) > 0 ? `+${text}` : text
  })
}

export function aboutText({ degreesOfFreedom, residualSdW }: FitResult): string {
  const spread = Number.isFinite(residualSdW) ? `; residuals of power spread by ${digits(residualSdW, 2)} W` : ''
  return `in base units (W, °C, K, nF, K/W); ${degreesOfFreedom} degree${degreesOfFreedom === 1 ? '' : 's'} of freedom${spread}`
}

/** Constants are strongly correlated from here on. */
const STRONG = 0.5

/** Pairs of fitted constants by how strongly their errors are correlated. */
export function correlations({ parameters, correlation }: FitResult): readonly (readonly [string, string, number])[] {
  const names = parameters.filter(one => one.fitted).map(({ parameter }) => parameter.name)
  const pairs = names.flatMap((first, row) =>
    names.slice(row + 1).map((second, offset) => [first, second, correlation[row]?.[row + 1 + offset] ?? 0] as const),
  )
  return pairs.toSorted((a, b) => Math.abs(b[2]) - Math.abs(a[2]))
}

/** Those pairs that are strongly correlated; undefined where there is no pair. */
export function correlationText(result: FitResult): string | undefined {
  const all = correlations(result)
  const strong = all.filter(([, , r]) => Math.abs(r) >= STRONG)
  if (all.length === 0) return undefined
  if (strong.length === 0) return `no two of them are strongly correlated (|r| of ${STRONG} or more)`
  const list = strong.map(([first, second, r]) => `${first} and ${second} ${fixed(r, 3)}`).join(', ')
  return `correlations of ${STRONG} or more: ${list}; all ${all.length} are in JSON`
}

/** What was not fitted, with which the rest holds; undefined where all was. */
export function heldText({ parameters, held }: FitResult): string | undefined {
  const names = [...parameters.filter(one => !one.fitted), ...held].map(({ parameter }) => parameter.name)
  return names.length === 0
    ? undefined
    : `held at their stated values, on which the fitted ones rest: ${names.join(', ')}`
}

/** What the ends of the runs say of the needs; undefined where it was not asked for. */
export function slopeText({ needsSlope, noEvidence }: RunsFit): string | undefined {
  if (needsSlope === undefined) return undefined
  const list = noEvidence.map(({ run, why }) => `${run} (${why})`).join(', ')
  const also = list === '' ? '' : `; not counted: ${list}`
  if (!needsSlope.known) return `needs-slope is left alone: ${needsSlope.why}${also}`
  const { valueVPerK, standardUncertainty } = needsSlope
  return `needs-slope ${digits(valueVPerK * 1000, 3)} mV/K ± ${digits(standardUncertainty * 1000, 2)} mV/K, from how runs ended${also}`
}

/** The runs that are compared with other settings than those of now, and why. */
export function settingsTexts({ used }: RunsFit): readonly string[] {
  return used.flatMap(({ run, settings }) =>
    settings.from === 'revision' || settings.from === 'not-had' ? `${run}: ${settingsText(settings)}` : [],
  )
}

export function skippedTexts({ result }: RunsFit): readonly string[] {
  return result.skipped.map(({ run, why }) => `${run} is left out: ${why}`)
}

/** How many constants were fitted, to how many runs. */
export function countText({ result, used, needsSlope }: RunsFit): string {
  const ofRuns = 'parameters' in result ? result.parameters.filter(one => one.fitted).length : 0
  const fitted = ofRuns + (needsSlope?.known === true ? 1 : 0)
  return `${fitted} constant${fitted === 1 ? '' : 's'} fitted to ${used.length} run${used.length === 1 ? '' : 's'}`
}
