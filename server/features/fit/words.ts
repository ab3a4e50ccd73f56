import type { FitResult, PointResidual } from '../../bench/fit.ts'
import type { RunsFit } from '../../bench/fit-runs.ts'
import { settingsText } from '../../bench/wording.ts'

/** A fit in words and cells, for the terminal and for the paper. */

export const constantHead = ['constant', 'stated', 'fitted', '±', ''] as const
export const residualHead = ['run', 'measured W', 'fitted W', 'measured die °C', 'fitted die °C'] as const

const digits = (value: number, count: number): string => String(Number(value.toPrecision(count)))
const none = '–'

/** Name, stated, fitted, one standard uncertainty; or why it was left alone. */
export function constantRow({
  parameter,
  stated,
  value,
  standardUncertainty,
  fitted,
  why,
}: FitResult['parameters'][number]): readonly string[] {
  return [
    parameter.name,
    digits(stated, 4),
    fitted ? digits(value, 4) : '',
    standardUncertainty === undefined ? '' : digits(standardUncertainty, 2),
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
    return `${to >= from ? '+' : ''}${(to - from).toFixed(2)}`
  })
}

export function aboutText({ degreesOfFreedom, residualSdW }: FitResult): string {
  const spread = Number.isFinite(residualSdW) ? `; residuals of power spread by ${digits(residualSdW, 2)} W` : ''
  return `in base units (W, °C, K, nF, K/W); ${degreesOfFreedom} degrees of freedom${spread}`
}

/** What the ends of the runs say of the needs; undefined where it was not asked for. */
export function slopeText({ needsSlope }: RunsFit): string | undefined {
  if (needsSlope === undefined) return undefined
  if (!needsSlope.known) return `needs-slope is left alone: ${needsSlope.why}`
  const { valueVPerK, standardUncertainty } = needsSlope
  return `needs-slope ${digits(valueVPerK * 1000, 3)} mV/K ± ${digits(standardUncertainty * 1000, 2)} mV/K, from how runs ended`
}

/** The runs that are held against other settings than those of now, and why. */
export function settingsTexts({ used }: RunsFit): readonly string[] {
  return used.flatMap(({ run, settings }) =>
    settings.from === 'revision' || settings.from === 'not-had' ? `${run}: ${settingsText(settings)}` : [],
  )
}

export function skippedTexts({ result }: RunsFit): readonly string[] {
  return result.skipped.map(({ run, why }) => `${run} is left out: ${why}`)
}

/** How many constants were fitted, to how many runs. */
export function countText({ result, used }: RunsFit): string {
  const fitted = 'parameters' in result ? result.parameters.filter(one => one.fitted).length : 0
  return `${fitted} constant${fitted === 1 ? '' : 's'} fitted to ${used.length} run${used.length === 1 ? '' : 's'}`
}
