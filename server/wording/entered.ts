/** Figures that somebody will enter: rounded to the side that serves, and with a unit as the language writes it. */

import { fromBase, type Unit } from '../../grammar/units/units.ts'

export type Direction = 'up' | 'down' | 'nearest'

/** A number in steps of 10^-decimals, up, down or to the nearest, as digits without an exponent. */
export function rounded(value: number, decimals: number, direction: Direction): string {
  const scale = 10 ** decimals
  // What is left of a step by binary noise decides nothing.
  const noise = 1e-9 * (1 + Math.abs(value * scale))
  const steps =
    direction === 'up'
      ? Math.ceil(value * scale - noise)
      : direction === 'down'
        ? Math.floor(value * scale + noise)
        : Math.round(value * scale)
  return (steps / scale).toFixed(decimals)
}

/** A number of base units with its unit as the language writes it, with the decimals given. */
export function inUnit(baseValue: number, unit: Unit, decimals: number, direction: Direction = 'nearest'): string {
  const digits = rounded(fromBase(baseValue, unit), decimals, direction)
  return unit.symbol === 'x' ? `${digits}x` : `${digits} ${unit.symbol}`
}

/** What is needed is rounded upwards, what there is downwards, so that the entered figure leaves no gap. */
export const neededVolts = (value: number): string => `${rounded(value, 3, 'up')} V`
export const givenVolts = (value: number): string => `${rounded(value, 3, 'down')} V`
