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

/** A figure of one group of cores, by its name: `clock small`. */
export type GroupFigure = `clock ${string}` | `voltage ${string}`
/** Without a name a figure is that of the first group that has active cores, or of the whole part. */
export type Figure = FigureKind | GroupFigure
/** Something of each figure that is there. */
export type ByFigure<T> = { [Kind in FigureKind]?: T } & { [Of in GroupFigure]: T }

/** What a figure is of, whatever group it is of. */
export function kindOfFigure(figure: Figure): FigureKind {
  const [kind] = figure.split(' ', 1)
  return kind as FigureKind
}

/** The group that a figure is of; undefined where it names none. */
export function groupOfFigure(figure: Figure): string | undefined {
  const at = figure.indexOf(' ')
  return at < 0 ? undefined : figure.slice(at + 1)
}

/** The figures among some, in the order in which they are shown: each kind, and behind it those of single groups. */
export function figuresIn(some: Iterable<string>): readonly Figure[] {
  const all = [...new Set(some)]
  const ofKind = (kind: FigureKind): readonly string[] => [
    ...all.filter(one => one === kind),
    ...all.filter(one => one.startsWith(`${kind} `)),
  ]
  return figureKinds.flatMap(ofKind) as readonly Figure[]
}

/** The base unit of each kind: that of records, logs and comparisons. */
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

export type Readings = Readonly<ByFigure<Reading>>
