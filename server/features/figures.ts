import { plain } from '../semantic/plain.ts'

/**
 * How figures are written for people. Predictions keep their full digits; only here are they cut to what a bench
 * can tell apart, and every place that shows a figure shows it through these functions.
 */

/** What stands where a figure does not exist. */
export const noFigure = '-'

export { plain }

type Figure = number | null | undefined

/** A number with this many significant digits, without an exponent; whole digits are never dropped. */
export function significant(value: number, digits: number): string {
  if (value === 0) return '0'
  const magnitude = Math.floor(Math.log10(Math.abs(Number(value.toPrecision(digits)))))
  return fixed(value, Math.max(0, digits - 1 - magnitude))
}

/** A number with this many decimals; never a negative zero. */
export function fixed(value: number, decimals: number): string {
  const text = value.toFixed(decimals)
  return /^-0(?:\.0*)?$/.test(text) ? text.slice(1) : text
}

function written(value: Figure, write: (value: number) => string): string {
  return typeof value === 'number' && Number.isFinite(value) ? write(value) : noFigure
}

/** A clock in MHz as `5.40 GHz`, below one gigahertz as `800 MHz`. */
export function clock(mhz: Figure): string {
  return written(mhz, value =>
    Math.abs(value) >= 999.5 ? `${significant(value / 1000, 3)} GHz` : `${significant(value, 3)} MHz`,
  )
}

/** A ratio as `54x`; a mean between two ratios to four digits. */
export function ratio(value: Figure): string {
  return written(value, number => `${plain(Number(number.toPrecision(4)))}x`)
}

/** A temperature in °C as `71.2 °C`. */
export function temperature(celsius: Figure): string {
  return written(celsius, value => `${fixed(value, 1)} °C`)
}

/** A temperature difference in K as `3.4 K`. */
export function difference(kelvin: Figure): string {
  return written(kelvin, value => `${fixed(value, 1)} K`)
}

/** A power in W as `188 W` or `9.50 W`. */
export function power(watts: Figure): string {
  return written(watts, value => `${Math.abs(value) < 0.005 ? '0' : significant(value, 3)} W`)
}

/** A current in A as `142 A` or `6.50 A`. */
export function current(amperes: Figure): string {
  return written(amperes, value => `${Math.abs(value) < 0.005 ? '0' : significant(value, 3)} A`)
}

/** A voltage in V as `1.225 V`. */
export function voltage(volts: Figure): string {
  return written(volts, value => `${fixed(value, 3)} V`)
}

/** A voltage difference in V as `12 mV`. */
export function millivolts(volts: Figure): string {
  return written(volts, value => `${fixed(value * 1000, Math.abs(value) < 0.00995 ? 1 : 0)} mV`)
}

/** A share in percent as `55 %` or `62.5 %`. */
export function percent(value: Figure): string {
  return written(value, number => `${plain(Number(number.toPrecision(3)))} %`)
}

/** A thermal resistance in K/W as `0.110 K/W`. */
export function thermalResistance(kelvinPerWatt: Figure): string {
  return written(kelvinPerWatt, value => `${value >= 0.01 ? value.toFixed(3) : significant(value, 3)} K/W`)
}

/** Any quantity with a unit to three digits, for figures that appear in one place alone. */
export function quantity(value: Figure, unit: string): string {
  return written(value, number => `${significant(number, 3)} ${unit}`)
}

/** A time as `7:12 min`. */
export function minutes(seconds: number): string {
  const whole = Math.round(seconds)
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')} min`
}

/** A figure in the unit that an expectation counts in, as the predictions give it. */
export function inUnit(value: Figure, unit: string): string {
  switch (unit) {
    case 'GHz':
      return written(value, number => clock(number * 1000))
    case 'MHz':
      return clock(value)
    case '°C':
      return temperature(value)
    case 'K':
      return difference(value)
    case 'W':
      return power(value)
    case 'A':
      return current(value)
    case 'V':
      return voltage(value)
    case '%':
      return percent(value)
    default:
      return quantity(value, unit)
  }
}

/** `1 core`, `3 cores`, `3 to 6 cores`. */
export function cores(from: number, to = from): string {
  if (from !== to) return `${from} to ${to} cores`
  return from === 1 ? '1 core' : `${from} cores`
}
