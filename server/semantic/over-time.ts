import { type Bench, type Corner, type Load, simulate, type Transient } from '../model/index.ts'

/**
 * Runs of loads over time, kept. One run takes from tens of milliseconds to a second, so nobody waits for one: who
 * asks gets what is there or `pending`, and has the runs made when there is time for it. A command makes them all at
 * once; an editor makes one whenever it has nothing better to do, and asks again.
 */

type WorkLoad = Extract<Load, { kind: 'work' }>

interface Wanted {
  readonly bench: Bench
  readonly load: WorkLoad
  readonly corner: Corner
  readonly seconds: number
  readonly key: string
}

/** Evicted with the bench's input, which a changed constant or setting replaces. */
const made = new WeakMap<Bench, Map<string, { readonly transient: Transient | undefined }>>()

/** Runs asked for and not made; emptied by `forgetPendingRuns` when what asked for them is out of date. */
const wanted = new Map<string, Wanted>()
const benchNumbers = new WeakMap<Bench, number>()
let benches = 0

function keyOf(bench: Bench, load: WorkLoad, corner: Corner, seconds: number): string {
  let number = benchNumbers.get(bench)
  if (number === undefined) {
    number = benches++
    benchNumbers.set(bench, number)
  }
  return [number, load.cores, load.activity, load.vector, corner.airC, corner.humidityPct, seconds].join(' ')
}

/** The run of a load from steady idle, or `pending`; undefined where the load cannot be run at all. */
export function runOverTime(
  bench: Bench,
  load: Load,
  corner: Corner,
  seconds: number,
): Transient | undefined | 'pending' {
  if (load.kind !== 'work') return undefined
  const key = keyOf(bench, load, corner, seconds)
  const known = made.get(bench)?.get(key)
  if (known !== undefined) return known.transient
  wanted.set(key, { bench, load, corner, seconds, key })
  return 'pending'
}

/** How many runs were asked for and not made. */
export function pendingRuns(): number {
  return wanted.size
}

/** Makes one pending run; nothing where none is pending. */
export function makeOneRun(): void {
  const next = wanted.values().next().value
  if (next === undefined) return
  wanted.delete(next.key)
  let runs = made.get(next.bench)
  if (runs === undefined) {
    runs = new Map()
    made.set(next.bench, runs)
  }
  runs.set(next.key, { transient: simulate(next.bench, next.load, next.corner, { overS: next.seconds }) })
}

/** Makes all pending runs. */
export function makeAllRuns(): void {
  while (wanted.size > 0) makeOneRun()
}

/** Drops what is pending; whoever still needs a run asks for it again. */
export function forgetPendingRuns(): void {
  wanted.clear()
}

/**
 * The corners that a load over time is judged at: those of the warmest air, since a warmer room never makes a clock
 * faster; both humidities only where the plate is driven by the dew point.
 */
export function warmCorners(bench: Bench, corners: readonly Corner[]): readonly Corner[] {
  const warmest = Math.max(...corners.map(corner => corner.airC))
  const warm = corners.filter(corner => corner.airC === warmest)
  const byDew = bench.cooler.kind === 'thermoelectric' && bench.profile.drive.kind === 'dew'
  return byDew ? warm : warm.slice(0, 1)
}
