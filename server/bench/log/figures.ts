/** The figures that a run measures, their units, and what was read of each. */

/** The figures that are measured, in the order in which they are shown. */
export const figureKinds = [
  'clock',
  'voltage',
  'power',
  'current',
  'die',
  'plate',
  'coolant',
  'drive',
  'drive-voltage',
  'fan',
] as const

export type FigureKind = (typeof figureKinds)[number]

/** The base unit of each figure: that of records, logs and comparisons. */
export const figureUnit: Readonly<Record<FigureKind, string>> = {
  clock: 'GHz',
  voltage: 'V',
  power: 'W',
  current: 'A',
  die: '°C',
  plate: '°C',
  coolant: '°C',
  drive: 'A',
  'drive-voltage': 'V',
  fan: '%',
}

/** A value in its base unit with one standard uncertainty. */
export interface Reading {
  readonly value: number
  readonly standardUncertainty: number
}

export type Readings = Readonly<Partial<Record<FigureKind, Reading>>>
