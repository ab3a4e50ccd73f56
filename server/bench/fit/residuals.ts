/** What each run and point reads beside what the fitted bench gives for it, and which readings are odd. */
import type { LogEvidence } from '../likelihood/log.ts'
import { endMean, lastLevel } from '../likelihood/log-settled.ts'
import type { ResidualKind } from '../likelihood/seen-point.ts'
import { likeliestErrors } from '../likelihood/whitening.ts'
import type { Posterior } from '../statistics/posterior.ts'
import type { Sitting } from './sittings.ts'

export interface SittingResidual {
  readonly run: string
  /** Measured, and as the fitted constants give it from the other readings; undefined where it was not measured. */
  readonly powerW: Pair | undefined
  readonly dieC: Pair | undefined
}

interface Pair {
  readonly measured: number
  readonly fitted: number
}

/** A reading that the fitted bench does not explain; it counts for little. */
export interface OddReading {
  readonly run: string
  readonly figure: ResidualKind
  /** Measured less fitted: a share of power, current and drive voltage, kelvins of temperatures. */
  readonly difference: number
  readonly unit: '%' | 'K'
}

/** A reading is odd beyond so many of its standard deviations; engineering judgement. */
const ODD = 3

const isShare = (figure: ResidualKind): boolean =>
  figure === 'power' || figure === 'current' || figure === 'drive-voltage'

export function residualOf(sitting: Sitting, { mode }: Posterior): SittingResidual {
  const { name, evidence } = sitting
  const residuals = new Float64Array(evidence.size)
  const run = { run: name, powerW: undefined, dieC: undefined }
  if (!evidence.residuals(mode, residuals)) return run
  if (sitting.kind === 'point') {
    const at = (kind: ResidualKind): number => sitting.evidence.kinds.indexOf(kind)
    const { power, die } = sitting.point.readings
    const [ofPower, ofDie] = [residuals[at('power')], residuals[at('die')]]
    return {
      run: name,
      powerW: power && pair(power.value, ofPower === undefined ? undefined : power.value * Math.exp(-ofPower)),
      dieC: die && pair(die.value, ofDie === undefined ? undefined : die.value - ofDie),
    }
  }
  const power = endOf(sitting.evidence, 'power', residuals)
  const die = endOf(sitting.evidence, 'die', residuals)
  return {
    run: name,
    powerW: power && pair(power.measured, power.measured * Math.exp(-power.residual)),
    dieC: die && pair(die.measured, die.measured - die.residual),
  }
}

const pair = (measured: number, fitted: number | undefined): Pair => ({ measured, fitted: fitted ?? Number.NaN })

/** What the end of a log reads of a figure, and the residual there. */
function endOf(
  { blocks, rows }: LogEvidence,
  figure: 'power' | 'die',
  residuals: Float64Array,
): { readonly measured: number; readonly residual: number } | undefined {
  const measured = endMean(blocks, figure)
  if (measured === undefined) return undefined
  const from = lastLevel(blocks)[0]?.index ?? 0
  let [sum, count] = [0, 0]
  rows.forEach(({ sensor, last: end }, index) => {
    if (sensor !== figure || end < from) return
    sum += residuals[index] as number
    count++
  })
  return { measured, residual: count === 0 ? Number.NaN : sum / count }
}

/** The readings that the fitted bench does not explain. */
export function oddReadings(sitting: Sitting, independent: Float64Array, posterior: Posterior): readonly OddReading[] {
  return sitting.kind === 'point'
    ? oddOfPoint(sitting, independent, posterior)
    : oddOfLog(sitting.name, sitting.evidence, posterior)
}

function oddOfPoint(
  sitting: Extract<Sitting, { kind: 'point' }>,
  independent: Float64Array,
  { mode }: Posterior,
): readonly OddReading[] {
  const { evidence, name } = sitting
  const residuals = new Float64Array(evidence.size)
  if (!evidence.residuals(mode, residuals)) return []
  return evidence.kinds.flatMap((figure, index): OddReading[] =>
    Math.abs(independent[index] as number) > ODD ? [odd(name, figure, residuals[index] as number)] : [],
  )
}

function odd(run: string, figure: ResidualKind, residual: number): OddReading {
  return isShare(figure)
    ? { run, figure, difference: 100 * Math.expm1(residual), unit: '%' }
    : { run, figure, difference: residual, unit: 'K' }
}

/** Odd figures of a log: those whose shared errors, of the sensor and of the sitting, are together too large. */
function oddOfLog(run: string, evidence: LogEvidence, { mode }: Posterior): readonly OddReading[] {
  const found = likeliestErrors(evidence, mode)
  if (found === undefined) return []
  const sums = new Map<ResidualKind, { by: number; square: number }>()
  const add = (figure: ResidualKind, value: number, sd: number): void => {
    const before = sums.get(figure) ?? { by: 0, square: 0 }
    sums.set(figure, { by: before.by + value, square: before.square + sd * sd })
  }
  const levels = ['die', 'plate', 'coolant'] as const
  evidence.errors.forEach((error, index) => {
    const { sd } = error
    const value = (found.values[index] as number) * sd
    if (error.of === 'law') add('power', value, sd)
    else if (error.of === 'power') add('power', -value, sd)
    else if (error.of === 'sensor' || error.of === 'stage') add(levels[error.level] as ResidualKind, value, sd)
  })
  return [...sums].flatMap(([figure, { by, square }]) =>
    Math.abs(by) > ODD * Math.sqrt(square) ? [odd(run, figure, by)] : [],
  )
}
