/** A value with its uncertainty, as one writes them down. */

import { fromBase, type Unit } from '../../grammar/units/units.ts'
import { decimalsKnown } from './figures.ts'

/**
 * A value with its uncertainty as one writes them down: two digits of the uncertainty, the value to the same place.
 * @param unit undefined for a pure number
 * Errors: what is not a number is never written.
 */
export function withUncertainty(value: number, standardUncertainty: number, unit: Unit | undefined): string {
  const [own, spread] =
    unit === undefined ? [value, standardUncertainty] : [fromBase(value, unit), fromBase(standardUncertainty, unit)]
  if (!Number.isFinite(own) || !Number.isFinite(spread))
    throw new RangeError(`${own} ± ${spread} is no figure to write`)
  const symbol = unit === undefined ? '' : ` ${unit.symbol}`
  const digits = spread > 0 ? decimalsKnown(spread, 12) : 6
  // Rounding up may bring one digit more than two; that does no harm.
  return `${own.toFixed(digits)}${symbol} ± ${spread.toFixed(digits)}${symbol}`
}
