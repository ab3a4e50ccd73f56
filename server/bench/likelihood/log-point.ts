/** A log as it goes into a fit: its blocks, and what is known of the sitting beside them. */
import type { FanPoint } from '../../model/types.ts'
import type { Reading } from '../log/figures.ts'
import { EVEN_DEVIATION } from '../statistics/moments.ts'
import type { LogBlocks } from './blocks.ts'
import { type Scatter, usualScatter } from './sitting.ts'
import type { SetVoltage, Work } from './work.ts'

/** The temperatures that are followed, from the die to the air. */
export const levels = ['die', 'plate', 'coolant'] as const
export type Level = (typeof levels)[number]
/** Behind the last of them. */
export const AIR = 3

/** What has residuals: the temperatures, the power beside its law, the voltage of a driven plate beside its modules'. */
export const sensors = ['die', 'plate', 'coolant', 'power', 'drive-voltage'] as const
export type Sensor = (typeof sensors)[number]

export interface LogPoint {
  readonly blocks: LogBlocks
  /** Undefined for a machine at rest. */
  readonly work: Work | undefined
  readonly air: Reading
  /** The fan's table, for where its duty was not measured. */
  readonly fan: readonly FanPoint[]
  /** The error that each sensor may have over the whole log: kelvins, volts; shares of power, drive and its voltage. */
  readonly offsets: Readonly<Record<Level | 'voltage', number>> & {
    readonly powerShare: number
    readonly driveShare: number
  }
  /** Where a figure was not logged: what stands for it. */
  readonly instead: {
    readonly clockGhz?: number
    readonly voltage?: SetVoltage
    readonly powerW?: number
    /** Of each module, where it is the same at any heat. */
    readonly driveA?: number
    /** A plate that is held at a temperature. */
    readonly plate?: Reading
  }
}

/**
 * `off-set`: by how many volts the die is above what set voltage and load line leave it, where its voltage stands for the
 * clock.
 */
type SingleError = 'power' | 'voltage' | 'off-set' | 'clock' | 'air' | 'warming' | 'law' | 'drive' | 'drive-voltage'
/** The error of a sensor; what this sitting has of its own at the stage below; how much later it follows the power. */
const levelErrors = ['sensor', 'stage', 'time'] as const
type LevelError = (typeof levelErrors)[number]

/** What all readings of a log, or all of one episode, share; each counted in its own standard deviations. */
export type SharedError =
  | { readonly of: SingleError; readonly sd: number }
  | { readonly of: LevelError; readonly level: number; readonly sd: number }
  | { readonly of: 'state'; readonly level: number; readonly episode: number; readonly sd: number }

/** The first state is as it was read within this; engineering judgement. */
const FIRST_STATE_K = 8
/** By so much more or less than the others does a room warm over one log; engineering judgement. */
const OWN_WARMING_K = 0.5
/** A sensor follows so much earlier or later than the power; engineering judgement. */
const LAG_S = 1

/** How well a predicted clock is known; engineering judgement. */
export const PREDICTED_CLOCK_SHARE = 0.01

/** Whether what the plate is held at stands for its temperature: neither that nor the drive was logged. */
export function isHeldPlate({ blocks: { series }, instead }: LogPoint): boolean {
  return instead.plate !== undefined && series.figures.plate === undefined && series.figures.drive === undefined
}

/** Whether heat through a driven plate can be followed: the current was logged, or is the same at any heat. */
export function isDriveKnown({ blocks: { series }, instead }: LogPoint): boolean {
  return instead.driveA !== undefined || series.figures.drive !== undefined
}

/** The shared errors of a log, without those that are zero. @param seen levels that were measured */
export function sharedErrors(point: LogPoint, seen: readonly number[], episodes: number): readonly SharedError[] {
  const { offsets, instead, air, blocks } = point
  const isLogged = blocks.series.figures.voltage !== undefined
  const isClockLogged = blocks.series.figures.clock !== undefined
  const heldK = isHeldPlate(point) ? (instead.plate?.standardUncertainty ?? 0) : 0
  const all: readonly SharedError[] = [
    { of: 'power', sd: offsets.powerShare },
    { of: 'voltage', sd: isLogged ? offsets.voltage : (instead.voltage?.standardUncertainty ?? 0) },
    { of: 'off-set', sd: isClockLogged || !isLogged ? 0 : (instead.voltage?.standardUncertainty ?? 0) },
    { of: 'clock', sd: isClockLogged ? 0 : PREDICTED_CLOCK_SHARE },
    { of: 'air', sd: air.standardUncertainty },
    { of: 'warming', sd: OWN_WARMING_K },
    { of: 'law', sd: usualScatter.powerShare },
    { of: 'drive', sd: offsets.driveShare },
    { of: 'drive-voltage', sd: offsets.driveShare },
    { of: 'sensor', level: 1, sd: heldK },
    ...seen.flatMap((level): SharedError[] => [
      { of: 'sensor', level, sd: offsets[levels[level] as Level] },
      { of: 'stage', level, sd: usualScatter.temperatureK },
      // And it is read at some moment of its step.
      { of: 'time', level, sd: Math.hypot(LAG_S, EVEN_DEVIATION * blocks.stepS) },
    ]),
    ...Array.from({ length: episodes }, (_, episode) =>
      [0, 1, 2].map((level): SharedError => ({ of: 'state', level, episode, sd: FIRST_STATE_K })),
    ).flat(),
  ]
  return all.filter(({ sd }) => sd > 0)
}

/** The shared errors at some values, by what they are of; 0 where there is none. */
export interface ErrorsAt {
  of(kind: SingleError): number
  at(kind: LevelError, level: number): number
  state(level: number, episode: number): number
  /** Takes other values, in standard deviations. */
  set(values: ArrayLike<number>): void
  /** From now on sittings differ by this. */
  scatterBy(scatter: Scatter): void
}

export function errorsAt(errors: readonly SharedError[]): ErrorsAt {
  const single = new Map<string, number>()
  const byLevel = new Map<string, number>()
  const states = new Map<number, number>()
  errors.forEach((error, index) => {
    if (error.of === 'state') states.set(error.episode * AIR + error.level, index)
    else if ('level' in error) byLevel.set(`${error.of} ${error.level}`, index)
    else single.set(error.of, index)
  })
  const sds = Float64Array.from(errors, ({ sd }) => sd)
  let own: ArrayLike<number> = new Float64Array(errors.length)
  const value = (index: number | undefined): number =>
    index === undefined ? 0 : (own[index] as number) * (sds[index] as number)
  /** By kind and level, so that no name is put together while a course is followed. */
  const places = Object.fromEntries(
    levelErrors.map(kind => [kind, [0, 1, 2].map(level => byLevel.get(`${kind} ${level}`))]),
  ) as Record<LevelError, (number | undefined)[]>
  return {
    of: kind => value(single.get(kind)),
    at: (kind, level) => value(places[kind][level]),
    state: (level, episode) => value(states.get(episode * AIR + level)),
    set: values => {
      own = values
    },
    scatterBy: ({ powerShare, temperatureK }) => {
      errors.forEach((error, index) => {
        if (error.of === 'law') sds[index] = powerShare
        else if (error.of === 'stage') sds[index] = temperatureK
      })
    },
  }
}
