import { fromBase, type Unit } from '../../../grammar/units/units.ts'
import type { Corner, Limiter, Load } from '../../model/types.ts'
import type { EnvelopePoint } from '../../semantic/envelope.ts'

/** Figures and places as the messages of the checks write them: cut to what a bench can tell apart. */

/** A number with at most this many decimals, without trailing zeros; two significant digits where none would be left. */
export function figure(value: number, decimals: number): string {
  const cut = value.toFixed(decimals)
  const text = Number(cut) === 0 && value !== 0 ? String(Number(value.toPrecision(2))) : cut
  if (text.includes('e')) return '0'
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text
}

/** Watts and amperes: whole ones from 100 on. */
const coarse = (value: number): string => figure(value, Math.abs(value) >= 99.95 ? 0 : 1)

export const watts = (value: number): string => `${coarse(value)} W`
export const amperes = (value: number): string => `${coarse(value)} A`
export const celsius = (value: number): string => `${figure(value, 1)} °C`
export const kelvin = (value: number): string => `${figure(value, 1)} K`
export const ratioOf = (value: number): string => `${figure(value, 2)}x`
export const millivolts = (value: number): string => `${figure(value * 1000, 1)} mV`
export const volts = (value: number): string => `${value.toFixed(3)} V`
/** What is needed is told upwards, what there is downwards, so that whoever enters the figure leaves no gap. */
export const neededVolts = (value: number): string => `${rounded(value, 3, 'up')} V`
export const givenVolts = (value: number): string => `${rounded(value, 3, 'down')} V`
export const percent = (value: number): string => `${figure(value, 1)} %`

/** A number in steps of 10^-decimals, up, down or to the nearest, as digits without an exponent. */
export function rounded(value: number, decimals: number, direction: 'up' | 'down' | 'nearest'): string {
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

/** A number of base units with its unit as the language writes it, at least with the decimals given. */
export function inUnit(
  baseValue: number,
  unit: Unit,
  decimals: number,
  direction: 'up' | 'down' | 'nearest' = 'nearest',
): string {
  const digits = rounded(fromBase(baseValue, unit), decimals, direction)
  return unit.symbol === 'x' ? `${digits}x` : `${digits} ${unit.symbol}`
}

/** `at 24 °C air and 55 % humidity`. */
export function cornerWords({ airC, humidityPct }: Corner): string {
  return `at ${figure(airC, 1)} °C air and ${figure(humidityPct, 1)} % humidity`
}

/** `12 active cores`. */
export function coreWords(cores: number): string {
  return cores === 1 ? '1 active core' : `${cores} active cores`
}

function caseWords(name: string, load: Load): string {
  return load.kind === 'work' ? `\`${name}\` on ${coreWords(load.cores)}` : `\`${name}\``
}

/** `` `render` on 5 active cores (declared as 1 to 4; the scheduler may keep any number busy) at 24 °C air and 55 % humidity``. */
export function pointWords(point: EnvelopePoint): string {
  const { name, load, declared, corner } = point
  let undeclared = ''
  if (load.kind === 'work' && declared !== undefined) {
    const { from, to } = declared
    if (load.cores < from || load.cores > to)
      undeclared = ` (declared as ${from === to ? from : `${from} to ${to}`}; the scheduler may keep any number busy)`
  }
  return `${caseWords(name, load)}${undeclared} ${cornerWords(corner)}`
}

/** What holds the clock, in words. */
export function limiterWords(limiter: Limiter): string {
  switch (limiter) {
    case 'step':
      return 'the step itself'
    case 'vector':
      return 'the step with what `vector` gives back'
    case 'band':
      return 'a temperature band'
    case 'sustained-power':
      return '`sustained-power`'
    case 'burst-power':
      return '`burst-power`'
    case 'current':
      return 'the limit `current`'
    case 'die-limit':
      return 'the die limit'
    case 'none':
      return 'nothing'
  }
}

/** `7 min 12 s`; seconds with a decimal only below ten. */
export function durationWords(seconds: number): string {
  if (seconds < 10) return `${figure(seconds, 1)} s`
  const whole = Math.floor(seconds)
  const minutes = Math.floor(whole / 60)
  const rest = whole % 60
  if (minutes === 0) return `${rest} s`
  return rest === 0 ? `${minutes} min` : `${minutes} min ${rest} s`
}
