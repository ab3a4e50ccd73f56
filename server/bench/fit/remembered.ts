/** What was known of constants before the runs that their values contain, from what an earlier fit has left. */

import type { Definition } from '../../semantic/definitions.ts'
import { type FittedLine, fittedRecord } from '../../semantic/fitted.ts'
import type { PriorConstant } from '../likelihood/priors.ts'
import { constantKey } from './fit.ts'

/** What a fit starts from, where an earlier one has moved what is stated. */
export interface Remembered {
  readonly before: ReadonlyMap<string, Pick<PriorConstant, 'value' | 'spread' | 'from'>>
  /** Names of constants that a fit wrote and somebody has changed since: they start from what is stated. */
  readonly changed: readonly string[]
}

/** Figures are read back as they were written, but for the last digits of a conversion. */
const SAME = 1e-9
const isSame = (a: number, b: number): boolean => Math.abs(a - b) <= SAME * Math.abs(b)

/** Whether a constant stands as a fit wrote it. */
export const isWritten = ({ value, spread }: Pick<PriorConstant, 'value' | 'spread'>, { after }: FittedLine): boolean =>
  isSame(value, after.value) && isSame(spread, after.standardUncertainty / after.value)

/** What was known of constants before the runs that their values contain. @param constants as they are stated now */
export function remembered(constants: readonly PriorConstant[], companion: Definition | undefined): Remembered {
  const before = new Map<string, Pick<PriorConstant, 'value' | 'spread' | 'from'>>()
  const changed: string[] = []
  const lines = new Map(companion === undefined ? [] : fittedRecord(companion).constants.map(one => [one.key, one]))
  for (const constant of constants) {
    const line = lines.get(constantKey(constant))
    if (line === undefined) continue
    const { before: known, wasUsual } = line
    if (isWritten(constant, line)) {
      const spread = known.standardUncertainty / known.value
      before.set(line.key, { value: known.value, spread, from: wasUsual ? 'usual' : 'stated' })
    } else changed.push(constant.name)
  }
  return { before, changed }
}
