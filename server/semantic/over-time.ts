/**
 * Runs of loads over time, kept. One run takes from tens of milliseconds to a second, so nobody waits for one: who
 * asks gets what is there or `pending`, and has the runs made when there is time for it. A command makes them all at
 * once; an editor makes them little by little whenever it has nothing better to do, and asks again.
 */

import {
  type Bench,
  type ClockOverTime,
  type Corner,
  type Course,
  type CourseEnd,
  type CourseNotRun,
  type CourseRun,
  followCourseInSlices,
  isWork,
  type Load,
  simulateInSlices,
  type Transient,
  type Work,
} from '../model/index.ts'
import { mindsHumidity } from './drives.ts'

/** A run in slices, whatever it comes to. */
type Slices = Generator<undefined, unknown, undefined>

interface Wanted {
  readonly bench: Bench
  readonly key: string
  readonly begin: () => Slices
}

/** What is made while a person waits is made for so many milliseconds at a time, with messages let in between. */
export const overTimeSliceMs = 4

/** The runs over time of one service: what is made, what is asked for, and the one that is being made. */
export interface RunsOverTime {
  /** The run of a load from steady idle, or `pending`; undefined where the load cannot be run at all. */
  run(bench: Bench, load: Load, corner: Corner, seconds: number): Transient | undefined | 'pending'
  /**
   * The same run, made in slices: `slower` where it has a second slower than this, in MHz. It is left there and not kept; one
   * that was kept before stays.
   * @param group whose clock; undefined: the first that is busy
   */
  runUnlessSlower(
    bench: Bench,
    load: Work,
    corner: Corner,
    seconds: number,
    least: { readonly clockMhz: number; readonly group: string | undefined },
  ): Generator<undefined, Transient | undefined | 'slower', undefined>
  /** A course from its start to its end, or `pending`. */
  course(bench: Bench, course: Course, corner: Corner): CourseRun | CourseNotRun | 'pending'
  /** The same, made in slices: `left` where a figure comes to an end there, and not kept then. */
  courseUnless(
    bench: Bench,
    course: Course,
    corner: Corner,
    endsAt: CourseEnd,
  ): Generator<undefined, CourseRun | CourseNotRun | 'left', undefined>
  /** How many runs were asked for and not made. */
  pending(): number
  /** Works on the pending runs for about so many milliseconds; one that is not done by then goes on next time. */
  makeSome(forMs: number): void
  /** Makes all pending runs. */
  makeAll(): void
  /** Drops what is pending; whoever still needs a run asks for it again, and one that was begun goes on where it was. */
  forget(): void
}

export function createRunsOverTime(): RunsOverTime {
  /** Evicted with the bench's input, which a changed constant or setting replaces. */
  const made = new WeakMap<Bench, Map<string, { readonly found: unknown }>>()
  /** Evicted likewise. */
  const benchNumbers = new WeakMap<Bench, number>()
  /** Asked for and not made; emptied by `forget`. */
  const wanted = new Map<string, Wanted>()
  let benches = 0
  /** The run that is being made; let go when it is done or another is begun. */
  let begun: { readonly key: string; readonly slices: Slices } | undefined

  const numberOf = (bench: Bench): number => {
    let number = benchNumbers.get(bench)
    if (number === undefined) {
      number = benches++
      benchNumbers.set(bench, number)
    }
    return number
  }

  const keep = (bench: Bench, key: string, found: unknown): void => {
    wanted.delete(key)
    if (begun?.key === key) begun = undefined
    const runs = made.get(bench) ?? new Map<string, { readonly found: unknown }>()
    runs.set(key, { found })
    made.set(bench, runs)
  }

  /** What was made under a key, which only one kind of run has; else it is asked for. */
  const ask = <T>(bench: Bench, key: string, begin: () => Generator<undefined, T, undefined>): T | 'pending' => {
    const known = made.get(bench)?.get(key)
    if (known !== undefined) return known.found as T
    wanted.set(key, { bench, key, begin })
    return 'pending'
  }

  const makeSome = (forMs: number): void => {
    const end = performance.now() + forMs
    for (const next of wanted.values()) {
      if (begun?.key !== next.key) begun = { key: next.key, slices: next.begin() }
      for (;;) {
        const { done, value } = begun.slices.next()
        if (done === true) {
          keep(next.bench, next.key, value)
          break
        }
        if (performance.now() >= end) return
      }
      if (performance.now() >= end) return
    }
  }

  const keyOf = (bench: Bench, load: Work, { airC, humidityPct }: Corner, seconds: number): string => {
    const { cores, activity, vector, uneven = 1, groups } = load
    const spread = groups === undefined ? '' : groups.map(own => `${own.cores}×${own.activity}`).join('+')
    return [numberOf(bench), cores, activity, vector, uneven, airC, humidityPct, seconds, spread].join(' ')
  }

  const courseKeyOf = (bench: Bench, course: Course, { airC, humidityPct }: Corner): string =>
    `${numberOf(bench)} course ${airC} ${humidityPct} ${JSON.stringify(course)}`

  return {
    run: (bench, load, corner, seconds) =>
      isWork(load)
        ? ask(bench, keyOf(bench, load, corner, seconds), () =>
            simulateInSlices(bench, load, corner, { overS: seconds }),
          )
        : undefined,
    *runUnlessSlower(bench, load, corner, seconds, { clockMhz, group }) {
      const key = keyOf(bench, load, corner, seconds)
      const known = made.get(bench)?.get(key)
      const ofGroup = group === undefined ? {} : { ofGroup: group }
      const found =
        known === undefined
          ? yield* simulateInSlices(bench, load, corner, { overS: seconds, endsBelowMhz: clockMhz, ...ofGroup })
          : (known.found as Transient | undefined)
      if (found !== undefined && (clockOf(found, group)?.lowestSecondMhz ?? 0) < clockMhz) return 'slower'
      if (known === undefined) keep(bench, key, found)
      return found
    },
    course: (bench, course, corner) =>
      ask(bench, courseKeyOf(bench, course, corner), () => followCourseInSlices(bench, course, corner)),
    *courseUnless(bench, course, corner, endsAt) {
      const key = courseKeyOf(bench, course, corner)
      const known = made.get(bench)?.get(key)?.found as CourseRun | CourseNotRun | undefined
      const found = known ?? (yield* followCourseInSlices(bench, course, corner, { endsAt }))
      if (!('undecided' in found) && isBeyond(found, endsAt)) return 'left'
      if (known === undefined) keep(bench, key, found)
      return found
    },
    pending: () => wanted.size,
    makeSome,
    makeAll: () => makeSome(Number.POSITIVE_INFINITY),
    forget: () => wanted.clear(),
  }
}

/** Whether a figure of a course ever came to where it is left. */
export function isBeyond({ extremes }: CourseRun, { figure, side, value }: CourseEnd): boolean {
  const reached = extremes.get(figure)?.[side].value
  return reached !== undefined && (side === 'low' ? reached < value : reached > value)
}

/** The clock of a group of cores in a run; undefined where it is idle. @param group undefined: the first that is busy */
export function clockOf(transient: Transient, group: string | undefined): ClockOverTime | undefined {
  return group === undefined ? transient : transient.groups?.find(one => one.group === group)
}

/**
 * The corners that a load over time is judged at: those of the warmest air, since a warmer room never makes a clock
 * faster; both humidities only where the plate is driven by the dew point.
 */
export function warmCorners(bench: Bench, corners: readonly Corner[]): readonly Corner[] {
  const warmest = Math.max(...corners.map(corner => corner.airC))
  const warm = corners.filter(corner => corner.airC === warmest)
  return mindsHumidity(bench) ? warm : warm.slice(0, 1)
}
