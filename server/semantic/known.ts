/** What was seen of a part: the rows of `known` as plain points, each reading with its standard uncertainty. */
import { onceFor } from '../../grammar/once.ts'
import type { Match } from '../../grammar/values.ts'
import type { Asked, Part } from '../model/index.ts'
import { type Definition, entry, nameAfter, pureNumber, quantity, rows } from './definitions.ts'
import { coresIn, groupBlocks } from './group-constants.ts'

/** A value in its base unit with one standard uncertainty. */
export interface KnownReading {
  readonly value: number
  readonly standardUncertainty: number
  /** Whether the row states the uncertainty; else it is what memory and sensors are usually worth. */
  readonly isStated: boolean
}

/** The readings that a row can have: in GHz, V, W and °C. */
const knownFigures = ['clock', 'voltage', 'power', 'die', 'plate', 'coolant', 'air'] as const
export type KnownFigure = (typeof knownFigures)[number]

export interface KnownPoint {
  /** Its place among the rows that read, from 0. */
  readonly index: number
  readonly readings: Readonly<Partial<Record<KnownFigure, KnownReading>>>
  /** How many cores were busy; undefined where neither the row nor the part says so. */
  readonly cores: number | undefined
  /** The group that they are all of; undefined: groups are filled in the part's order, to the last core unless said. */
  readonly group: string | undefined
  /** 1 where the row does not say. */
  readonly activity: KnownReading
  readonly vector: boolean
  /** Duty of the fan in %; undefined where it is not said. */
  readonly fan: KnownReading | undefined
  /** Its row in the part's text. */
  readonly match: Match
}

/** Standard uncertainties of what is remembered or read off: absolute, or a share of the value. Engineering judgement. */
const usual: Readonly<Record<KnownFigure | 'fan' | 'activity', readonly [absolute: number, share: number]>> = {
  clock: [0, 0.002],
  voltage: [0.008, 0],
  power: [0, 0.02],
  die: [1.5, 0],
  plate: [1, 0],
  coolant: [1, 0],
  air: [1, 0],
  fan: [3, 0],
  activity: [0, 0],
}

/** One standard uncertainty of a figure that was remembered or read off, where nobody says how well; in its base unit. */
export function usualUncertainty(name: keyof typeof usual, value: number): number {
  const [absolute, share] = usual[name]
  return Math.max(absolute, share * Math.abs(value))
}

function readingOf(row: Match, name: keyof typeof usual): KnownReading | undefined {
  const found = quantity(row, name) ?? pureNumber(row, name)
  if (found === undefined) return undefined
  const { value, uncertainty } = found
  const isStated = uncertainty !== undefined && uncertainty > 0
  return { value, standardUncertainty: isStated ? uncertainty : usualUncertainty(name, value), isStated }
}

function pointOf(row: Match, index: number, partCores: number | undefined): KnownPoint {
  const readings: Partial<Record<KnownFigure, KnownReading>> = {}
  for (const figure of knownFigures) {
    const reading = readingOf(row, figure)
    if (reading !== undefined) readings[figure] = reading
  }
  return {
    index,
    readings,
    cores: pureNumber(row, 'cores')?.value ?? partCores,
    group: nameAfter(row),
    activity: readingOf(row, 'activity') ?? { value: 1, standardUncertainty: 0, isStated: false },
    vector: row.values.has('vector'),
    fan: readingOf(row, 'fan'),
    match: row,
  }
}

/**
 * Every point of a part that reads, in the order of its rows; whether it says anything is `saysSomething`. One of a group
 * that the part does not have says nothing of it and is left out.
 */
export const knownPoints: (part: Definition) => readonly KnownPoint[] = onceFor(({ match }) => {
  const count = coresIn(match)
  const table = entry(match, 'known')
  const groups = groupBlocks(match).map(({ name }) => name)
  const isOfPart = (row: Match): boolean => {
    const group = nameAfter(row)
    return group === undefined || groups.includes(group)
  }
  return table === undefined
    ? []
    : rows(table)
        .filter(isOfPart)
        .map((row, index) => pointOf(row, index, count))
})

/** The group whose clock and voltage a point has: the first with active cores. @param groups of the part, in its order */
export function leadOf<T extends { readonly name: string }>(
  { group }: KnownPoint,
  groups: readonly T[],
): T | undefined {
  return group === undefined ? groups[0] : groups.find(({ name }) => name === group)
}

/** What a point asked of the cores of a part. @returns undefined where nobody says how many they were */
export function askedOf({ cores, group, activity }: KnownPoint, part: Part): Asked | undefined {
  if (cores === undefined) return undefined
  const own = { cores, activity: activity.value }
  if (group === undefined || part.groups === undefined) return own
  const groups = part.groups.map(({ name }) => ({ ...own, cores: name === group ? cores : 0 }))
  return { ...own, groups }
}

/** Whether a point says which voltage was enough for which clock. */
export function hasOperatingPoint({ readings: { clock, voltage } }: KnownPoint): boolean {
  return clock !== undefined && voltage !== undefined
}

/** Whether a point says anything: two of power, die temperature, and voltage together with the clock. */
export function saysSomething(point: KnownPoint): boolean {
  const { power, die } = point.readings
  return [power !== undefined, die !== undefined, hasOperatingPoint(point)].filter(Boolean).length >= 2
}

/** Whether its die temperature tells of the way that heat takes: with an end of it that is cooler. */
export function tellsOfCooling({ readings }: KnownPoint): boolean {
  const { die, plate, coolant, air } = readings
  return die !== undefined && (plate ?? coolant ?? air) !== undefined
}

/** A voltage that was enough at a ratio, as a row of `needs` says it. */
export interface KnownNeed {
  readonly ratio: number
  readonly voltageV: number
  readonly standardUncertaintyV: number
}

/**
 * What stands for `needs` where a part leaves it out: the voltages of its points, each less what temperature and vector
 * load ask for. What was enough at a ratio is enough below it, so no voltage stands that a higher ratio did with less.
 * @param ratioOf the ratio that a clock in GHz comes of; undefined where the part has none that gives it
 * @param beyondV what is needed beyond the rows at a die temperature and under a vector load, in V
 */
export function needsOfKnown(
  points: readonly KnownPoint[],
  ratioOf: (clockGhz: number) => number | undefined,
  beyondV: (dieC: number | undefined, vector: boolean) => number,
): readonly KnownNeed[] {
  const all = points.flatMap(({ readings: { clock, voltage, die }, vector }): KnownNeed[] => {
    const ratio = clock && ratioOf(clock.value)
    if (ratio === undefined || voltage === undefined) return []
    const voltageV = voltage.value - beyondV(die?.value, vector)
    return [{ ratio, voltageV, standardUncertaintyV: voltage.standardUncertainty }]
  })
  const kept: KnownNeed[] = []
  for (const one of all.toSorted((a, b) => b.ratio - a.ratio || a.voltageV - b.voltageV)) {
    const above = kept.at(-1)
    if (above?.ratio === one.ratio) continue
    kept.push(above !== undefined && above.voltageV < one.voltageV ? { ...above, ratio: one.ratio } : one)
  }
  return kept.reverse()
}
