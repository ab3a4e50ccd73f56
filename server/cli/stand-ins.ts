/** The option `--with`. */

import { InvalidArgumentError, Option } from 'commander'
import type { StandInNames } from '../service.ts'

const standInKinds: readonly string[] = ['part', 'cooler', 'room', 'board']

function withStandIn(argument: string, before: StandInNames): StandInNames {
  const [kind = '', name = '', ...rest] = argument.split('=')
  if (rest.length > 0 || name === '' || !standInKinds.includes(kind)) {
    throw new InvalidArgumentError(`Write it as kind=name, the kind one of ${standInKinds.join(', ')}.`)
  }
  return { ...before, [kind]: name }
}

/** `--with kind=name`, as often as wanted: definitions that take the place of those a profile names. */
export function standInOption(): Option {
  return new Option(
    '--with <kind=name>',
    'as if the profiles named another part, cooler, room or board; may be repeated',
  )
    .argParser(withStandIn)
    .default({}, 'as they stand')
}
