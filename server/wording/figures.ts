/**
 * How figures are written for people. Predictions keep their full digits; only here are they cut to what a bench can
 * tell apart, and every place that shows a figure shows it through these functions. A predicted figure keeps its zeros,
 * since they say how far it is known; a stated one is written as it stands in the file (`stated`).
 */

/** What stands where a figure does not exist. */
export const noFigure = '–'

type Figure = number | null | undefined

/** A number with this many significant digits, without an exponent; whole digits are never dropped. */
export function significant(value: number, digits: number): string {
  if (value === 0) return '0'
  const magnitude = Math.floor(Math.log10(Math.abs(Number(value.toPrecision(digits)))))
  return fixed(value, Math.max(0, digits - 1 - magnitude))
}

/** A number with this many decimals; never a negative zero, which would read as a finding. */
export function fixed(value: number, decimals: number): string {
  const text = value.toFixed(decimals)
  return /^-0(?:\.0*)?$/.test(text) ? text.slice(1) : text
}

function written(value: Figure, write: (value: number) => string): string {
  return typeof value === 'number' && Number.isFinite(value) ? write(value) : noFigure
}

/** Digits without the zeros that end their decimals, and without a point that then ends them. */
export function withoutZeros(digits: string): string {
  if (!digits.includes('.')) return digits
  let end = digits.length
  while (digits.charAt(end - 1) === '0') end--
  return digits.slice(0, digits.charAt(end - 1) === '.' ? end - 1 : end)
}

/** A number with at most this many decimals, for a figure that stands beside a stated one in its unit. */
export function trimmed(value: number, decimals: number): string {
  const text = fixed(value, decimals)
  return withoutZeros(text)
}

/** A figure of a column whose head names the unit. */
export function column(value: Figure, decimals: number): string {
  return written(value, number => fixed(number, decimals))
}

/** A difference with its sign, since it says which way; zero has none. */
export function signed(value: number, decimals: number): string {
  const text = fixed(value, decimals)
  return Number(text) > 0 ? `+${text}` : text
}

/** A number with at most so many significant digits. */
export function rounded(value: number, digits: number): string {
  return plain(Number(value.toPrecision(digits)))
}

/** Decimals that a standard uncertainty leaves a meaning: to its second digit, and no more than `most`. */
export function decimalsKnown(standardUncertainty: number, most: number): number {
  return Math.max(0, Math.min(most, 1 - Math.floor(Math.log10(standardUncertainty))))
}

/** A number that was written by a person, without digits that only binary arithmetic put there. */
export function plain(value: number): string {
  const text = String(Number(value.toPrecision(12)))
  return text.includes('e') ? significant(value, 3) : text
}

/** A stated number with its unit, as the language writes it: `95 °C`, `54x`. */
export function statedText(value: number, unit: string): string {
  return unit === 'x' ? `${plain(value)}x` : unit === '' ? plain(value) : `${plain(value)} ${unit}`
}

/** A clock in MHz as `5.40 GHz`, below one gigahertz as `800 MHz`. */
export function clockText(mhz: Figure): string {
  return written(mhz, value =>
    Math.abs(value) >= 999.5 ? `${significant(value / 1000, 3)} GHz` : `${significant(value, 3)} MHz`,
  )
}

/** A ratio as `54x`; a mean between two ratios to four digits. */
export function ratioText(value: Figure): string {
  return written(value, number => `${rounded(number, 4)}x`)
}

/** A temperature in °C as `71.2 °C`. */
export function temperatureText(celsius: Figure): string {
  return written(celsius, value => `${fixed(value, 1)} °C`)
}

/** A temperature difference in K as `3.4 K`; one that would read as zero and is not, to its first digit: `0.02 K`. */
export function differenceText(kelvin: Figure): string {
  return written(kelvin, value => {
    const text = fixed(value, 1)
    return `${Number(text) === 0 && Math.abs(value) > 1e-6 ? significant(value, 1) : text} K`
  })
}

/** Three digits, at most two behind the point: what a wall meter or a clamp shows. */
function electric(value: number): string {
  const size = Math.abs(value)
  return size < 0.005 ? '0' : fixed(value, size >= 99.95 ? 0 : size >= 9.995 ? 1 : 2)
}

/** A power in W as `188 W` or `9.50 W`. */
export function powerText(watts: Figure): string {
  return written(watts, value => `${electric(value)} W`)
}

/** A current in A as `142 A` or `6.50 A`. */
export function currentText(amperes: Figure): string {
  return written(amperes, value => `${electric(value)} A`)
}

/** A voltage in V as `1.225 V`. */
export function voltageText(volts: Figure): string {
  return written(volts, value => `${fixed(value, 3)} V`)
}

/** A voltage difference in V as `12 mV`. */
export function millivoltsText(volts: Figure): string {
  return written(volts, value => `${fixed(value * 1000, Math.abs(value) < 0.00995 ? 1 : 0)} mV`)
}

/** A share in percent as `55 %` or `62.5 %`. */
export function percentText(value: Figure): string {
  return written(value, number => `${rounded(number, 3)} %`)
}

/** A thermal resistance in K/W as `0.110 K/W`. */
export function thermalResistanceText(kelvinPerWatt: Figure): string {
  return written(kelvinPerWatt, value => `${value >= 0.01 ? value.toFixed(3) : significant(value, 3)} K/W`)
}

/** Any quantity with a unit to three digits, for figures that appear in one place alone. */
export function quantityText(value: Figure, unit: string): string {
  return written(value, number => `${significant(number, 3)} ${unit}`)
}

/** A predicted figure in the unit that is asked for, as the predictions give it. */
export function predictedIn(value: Figure, unit: string): string {
  switch (unit) {
    case 'GHz':
      return written(value, number => clockText(number * 1000))
    case 'MHz':
      return clockText(value)
    case '°C':
      return temperatureText(value)
    case 'K':
      return differenceText(value)
    case 'W':
      return powerText(value)
    case 'A':
      return currentText(value)
    case 'V':
      return voltageText(value)
    case '%':
      return percentText(value)
    default:
      return quantityText(value, unit)
  }
}

const measuredDecimals: Readonly<Record<string, number>> = { GHz: 3, V: 3, W: 1, A: 1, '°C': 1 }

/** Decimals of a measured figure beside a predicted one. */
export function decimalsOfUnit(unit: string): number {
  return measuredDecimals[unit] ?? 2
}

/** Both ends of an interval as `71.2 °C to 74.0 °C`, once where they read alike; an end that is not there has no balance. */
export function rangeText(
  ends: readonly [low: number | null, high: number | null] | null | undefined,
  write: (value: number) => string,
): string {
  if (!ends) return noFigure
  const [low = '', high = ''] = ends.map(end => (end === null ? 'no balance' : write(end)))
  return low === high ? low : `${low} to ${high}`
}

/** Two figures that differ, with as many more decimals as it takes to show that. @param text what each is written as usually */
export function apartTexts(
  value: number,
  other: number,
  text: (value: number) => string,
  unit: string,
): readonly [string, string] {
  if (text(value) !== text(other) || value === other) return [text(value), text(other)]
  for (let decimals = 1; decimals <= 6; decimals++) {
    const [one, two] = [fixed(value, decimals), fixed(other, decimals)]
    if (one !== two) return [`${one} ${unit}`, `${two} ${unit}`]
  }
  return [text(value), text(other)]
}
