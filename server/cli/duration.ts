/** Times on the command line. */

import { InvalidArgumentError } from 'commander'
import { findUnit, toBase } from '../service.ts'

/** As long as an `expect … for` may be. */
const mostS = 24 * 3600

/** A time on the command line, as the language writes it: `15 min`, `90s`, `1 h`. In seconds. */
export function durationS(argument: string): number {
  const parts = /^\s*(\d+(?:\.\d+)?)\s*([a-z]+)\s*$/.exec(argument)
  const unit = findUnit(parts?.[2] ?? '')
  if (parts === null || unit?.dimension !== 'time')
    throw new InvalidArgumentError('Write a time with its unit, such as 15min or 90s.')
  const seconds = toBase(Number(parts[1]), unit)
  if (!(seconds > 0)) throw new InvalidArgumentError('The time must be longer than zero.')
  if (seconds > mostS) throw new InvalidArgumentError('Loads are followed for a day at the most.')
  return seconds
}
