/** The unit that was probably meant behind a number: the one with which it is usual. */

import { type Dimension, toBase, type Unit, unitsOf } from '../../../grammar/units/units.ts'
import type { Usual } from '../../../grammar/vocabulary/index.ts'

const isWithin = (value: number, { low, high }: Usual): boolean =>
  value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9)

/** How far from the middle of the range, in factors. */
function distance(value: number, { low, high }: Usual): number {
  return low > 0 ? Math.abs(Math.log(value / Math.sqrt(low * high))) : Math.abs(value - (low + high) / 2)
}

/** Units of a dimension in which a written number lies in the usual range, the likeliest first; °C/W and K/W are one. */
export function probableUnits(written: number, dimension: Dimension, usual: Usual): readonly Unit[] {
  const fitting = unitsOf(dimension).filter(unit => isWithin(Math.abs(toBase(written, unit)), usual))
  const once = fitting.filter((unit, index) => fitting.findIndex(({ factor }) => factor === unit.factor) === index)
  const far = (unit: Unit): number => distance(Math.abs(toBase(written, unit)), usual)
  return once.sort((a, b) => far(a) - far(b))
}
