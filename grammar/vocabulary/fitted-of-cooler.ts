/** The constants of a cooler that a fit moves, and the pairs of them whose errors may be correlated. */

import type { Dimension } from '../units/units.ts'
import { choice, rowOf } from './slots.ts'
import type { Form } from './types.ts'

interface Fitted {
  readonly dimension: Dimension
  /** There is one for each row of its table, named by the duty. */
  readonly rows?: true
  /** What a load settles at depends on it so much that a `correlated` line may name it. */
  readonly correlates?: true
}

/** Those that a fit writes as a line of their own. */
export const fittedOfCooler = {
  'block-resistance': { dimension: 'thermal-resistance', correlates: true },
  radiator: { dimension: 'thermal-resistance', rows: true, correlates: true },
  'plate-heat': { dimension: 'heat-capacity' },
  'coolant-heat': { dimension: 'heat-capacity' },
  'plate-leak': { dimension: 'thermal-conductance' },
  leads: { dimension: 'resistance' },
} as const satisfies Readonly<Record<string, Fitted>>

export type FittedOfCooler = keyof typeof fittedOfCooler

export interface FittedConstant extends Fitted {
  readonly word: string
}

export const fittedConstants: readonly FittedConstant[] = Object.entries<Fitted>(fittedOfCooler).map(
  ([word, fitted]) => ({ word, ...fitted }),
)

const correlating = fittedConstants.filter(one => one.correlates)

/** Whether a `correlated` line may name it. */
export const correlates = (word: string): boolean => correlating.some(one => one.word === word)

/** A constant of a cooler as the second of a pair: each that may be. */
export const secondOfCooler: readonly Form[] = correlating.map(({ word, rows }) => [
  choice('second', word),
  ...(rows ? [rowOf('duty')] : []),
])

/** Two constants of one cooler, or two rows of one table. */
export const pairsOfCooler: readonly Form[] = correlating.flatMap(({ word, rows }, at) =>
  secondOfCooler
    .slice(rows ? at : at + 1)
    .map(second => [choice('first', word), ...(rows ? [rowOf('first-duty')] : []), ...second]),
)
