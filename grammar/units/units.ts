/**
 * The unit table: every unit the language knows, with its dimension and its conversion.
 * Units are case-sensitive. Spelling variants are read and formatted to one spelling.
 */

export type Dimension =
  | 'voltage'
  | 'current'
  | 'power'
  | 'temperature'
  | 'temperature-difference'
  | 'frequency'
  | 'resistance'
  | 'capacitance'
  | 'thermal-resistance'
  | 'thermal-conductance'
  | 'heat-capacity'
  | 'voltage-per-kelvin'
  | 'time'
  | 'percent'
  | 'ratio'

export interface Unit {
  /** The one spelling that the formatter writes. */
  readonly symbol: string
  readonly dimension: Dimension
  /** Multiply by this to reach the dimension's base unit. */
  readonly factor: number
}

/** The unit in which the model counts each dimension. */
export const baseUnit: Readonly<Record<Dimension, string>> = {
  voltage: 'V',
  current: 'A',
  power: 'W',
  temperature: '°C',
  'temperature-difference': 'K',
  frequency: 'GHz',
  resistance: 'Ω',
  capacitance: 'nF',
  'thermal-resistance': 'K/W',
  'thermal-conductance': 'W/K',
  'heat-capacity': 'J/K',
  'voltage-per-kelvin': 'V/K',
  time: 's',
  percent: '%',
  ratio: 'x',
}

/** What a dimension is called in a message. */
export const dimensionName: Readonly<Record<Dimension, string>> = {
  voltage: 'a voltage',
  current: 'a current',
  power: 'a power',
  temperature: 'a temperature',
  'temperature-difference': 'a temperature difference',
  frequency: 'a frequency',
  resistance: 'an electrical resistance',
  capacitance: 'a capacitance',
  'thermal-resistance': 'a thermal resistance',
  'thermal-conductance': 'a thermal conductance',
  'heat-capacity': 'a heat capacity',
  'voltage-per-kelvin': 'a voltage per kelvin',
  time: 'a time',
  percent: 'a percentage',
  ratio: 'a ratio',
}

const rows: readonly (readonly [symbol: string, dimension: Dimension, factor: number])[] = [
  ['V', 'voltage', 1],
  ['mV', 'voltage', 1e-3],
  ['µV', 'voltage', 1e-6],
  ['A', 'current', 1],
  ['mA', 'current', 1e-3],
  ['W', 'power', 1],
  ['mW', 'power', 1e-3],
  ['kW', 'power', 1e3],
  ['°C', 'temperature', 1],
  ['K', 'temperature-difference', 1],
  ['mK', 'temperature-difference', 1e-3],
  ['GHz', 'frequency', 1],
  ['MHz', 'frequency', 1e-3],
  ['kHz', 'frequency', 1e-6],
  ['Hz', 'frequency', 1e-9],
  ['Ω', 'resistance', 1],
  ['mΩ', 'resistance', 1e-3],
  ['µΩ', 'resistance', 1e-6],
  ['nF', 'capacitance', 1],
  ['µF', 'capacitance', 1e3],
  ['pF', 'capacitance', 1e-3],
  ['K/W', 'thermal-resistance', 1],
  ['mK/W', 'thermal-resistance', 1e-3],
  ['°C/W', 'thermal-resistance', 1],
  ['W/K', 'thermal-conductance', 1],
  ['W/°C', 'thermal-conductance', 1],
  ['mW/K', 'thermal-conductance', 1e-3],
  ['J/K', 'heat-capacity', 1],
  ['kJ/K', 'heat-capacity', 1e3],
  ['V/K', 'voltage-per-kelvin', 1],
  ['mV/K', 'voltage-per-kelvin', 1e-3],
  ['µV/K', 'voltage-per-kelvin', 1e-6],
  ['s', 'time', 1],
  ['ms', 'time', 1e-3],
  ['min', 'time', 60],
  ['h', 'time', 3600],
  ['%', 'percent', 1],
  ['x', 'ratio', 1],
]

const table = new Map<string, Unit>(rows.map(([symbol, dimension, factor]) => [symbol, { symbol, dimension, factor }]))

/** All units, in the table's order. */
export const units: readonly Unit[] = [...table.values()]

/** What any other spelling of a unit has in it: a text without it is looked up once, as it stands. */
const mayBeVariant = /deg|ohm$|[^\0-\x7f]/i

/** The one spelling of a unit's text: degree, micro and ohm signs are brought to one character. */
export function canonicalUnit(text: string): string {
  if (table.has(text) || !mayBeVariant.test(text)) return text
  return text
    .replace(/deg(?=C)|º/g, '°')
    .replace(/℃/g, '°C')
    .replace(/\u03bc/g, '\u00b5')
    .replace(/\u2126/g, '\u03a9')
    .replace(/ohm$/i, '\u03a9')
}

/** The unit that a text spells, or undefined. Variants are accepted. */
export function findUnit(text: string): Unit | undefined {
  const found = table.get(text)
  if (found !== undefined || !mayBeVariant.test(text)) return found
  return table.get(canonicalUnit(text))
}

const byLowerCase = new Map<string, Unit>()
for (const unit of units) {
  const lower = unit.symbol.toLowerCase()
  if (!byLowerCase.has(lower)) byLowerCase.set(lower, unit)
}

const spoken: Readonly<Record<string, RegExp>> = {
  s: /^sec(ond)?s?$/,
  min: /^min(ute)?s?$/,
  h: /^h(ou)?rs?$/,
  W: /^watts?$/,
  V: /^volts?$/,
  A: /^amp(ere)?s?$/,
  K: /^kelvins?$/,
  '°C': /^(?:deg(?:rees?)?|(?:deg(?:rees?)?|°)? {0,2}celsius|(?:deg(?:rees?)?|°) {0,2}c)$/,
  '%': /^percent$/,
}

/** The unit that was evidently meant by a text that is not a unit: one in the wrong case, `C` for `°C`, or its name. */
export function unitLike(text: string): Unit | undefined {
  const lower = canonicalUnit(text).toLowerCase()
  for (const [symbol, names] of Object.entries(spoken)) if (names.test(lower)) return table.get(symbol)
  // Degrees in a difference are kelvins: `C/W`, `mV/°C`.
  const inKelvin = lower.replace(/\/°?c$/, '/k').replace(/^(m?)°?c\//, '$1k/')
  return byLowerCase.get(lower) ?? byLowerCase.get(`°${lower}`) ?? byLowerCase.get(inKelvin)
}

/** Units of one dimension, the base unit first. */
export function unitsOf(dimension: Dimension): readonly Unit[] {
  const base = baseUnit[dimension]
  return units
    .filter(unit => unit.dimension === dimension)
    .sort((a, b) => Number(b.symbol === base) - Number(a.symbol === base))
}

/**
 * A written number with its unit, in the dimension's base unit.
 * Division is used for sub-multiples so that `10 mV` is the same double as `0.010 V`.
 */
export function toBase(value: number, unit: Unit): number {
  return unit.factor < 1 ? value / Math.round(1 / unit.factor) : value * unit.factor
}

/** A value in the dimension's base unit, expressed in `unit`. */
export function fromBase(value: number, unit: Unit): number {
  return unit.factor < 1 ? value * Math.round(1 / unit.factor) : value / unit.factor
}
