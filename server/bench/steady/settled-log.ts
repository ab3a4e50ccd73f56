/** A run's log brought to what it settles at, on the bench that the run was predicted on. */

import { resumable } from '../../model/slices.ts'
import type { Bench } from '../../model/types.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { type Block, logBlocks } from '../likelihood/blocks.ts'
import { benchOf, warms } from '../likelihood/constants.ts'
import type { LogPoint } from '../likelihood/log-point.ts'
import { lastLevel, lastLoaded } from '../likelihood/log-settled.ts'
import { coolerPriors, type PriorConstant, partPriors } from '../likelihood/priors.ts'
import { type ByFigure, figuresIn, type Reading, type Readings } from '../log/figures.ts'
import type { LogSeries } from '../log/series.ts'
import type { Slices } from '../statistics/independent.ts'
import { meanOfSeries } from '../statistics/series-mean.ts'
import { fitLogInSlices, type LogFit, settledFigures } from './settled.ts'
import { secondsToHalve, secondsToSettle } from './wait.ts'

export interface SettledLog {
  /** The last stretch under the load, in s since the log's first row. */
  readonly fromS: number
  readonly toS: number
  readonly figures: Readings
  /** By how much the die's reading has still to rise or fall; undefined where no die was logged or nothing is known of it. */
  readonly toGoK: number | undefined
  /** How many more seconds would halve the die's uncertainty. Undefined where nothing would. */
  secondsToHalve(): number | undefined
  /** How many more seconds bring the die within `SETTLED_K` of where it settles. Undefined where that is not known. */
  secondsToSettle(): number | undefined
}

/** A die that has less than this to go has settled. */
const SETTLED_K = 0.5

/** Whether the die has come to where it settles, as well as that is known. */
export function hasSettled({ toGoK, figures: { die } }: Pick<SettledLog, 'toGoK' | 'figures'>): boolean {
  return toGoK !== undefined && Math.abs(toGoK) < Math.max(SETTLED_K, die?.standardUncertainty ?? 0)
}

/** Fewer readings of the load's end than this say nothing. */
const LEAST_READINGS = 4

/** Means over the end of the log: of figures that do not warm up, and of all where no bench is known. */
function endMeans(series: LogSeries, blocks: readonly Block[]): Readings {
  const found: ByFigure<Reading> = {}
  const last = lastLevel(blocks)
  const [first, end] = [blocks[last[0]?.index ?? -1], blocks[last.at(-1)?.index ?? -1]]
  if (first === undefined || end === undefined) return {}
  for (const kind of figuresIn(Object.keys(series.figures))) {
    const values = series.figures[kind]?.subarray(first.from, end.to).filter(value => !Number.isNaN(value))
    if (values === undefined || values.length < LEAST_READINGS) continue
    const mean = meanOfSeries(values)
    // Where readings are too few or too even for an uncertainty, their spread stands for it.
    const own = Number.isNaN(mean.standardUncertainty) ? mean.sd : mean.standardUncertainty
    found[kind] = { value: mean.mean, standardUncertainty: own }
  }
  return found
}

/** The stretch under the load that the log ends with. */
function lastStretch(blocks: readonly Block[]): { readonly fromS: number; readonly toS: number } | undefined {
  const found = lastLoaded(blocks)
  if (found === undefined) return undefined
  const [first, last] = [blocks[found.start] as Block, blocks[found.end] as Block]
  return { fromS: Math.max(0, first.fromS), toS: last.toS }
}

/** Where a run was made: its bench as the model counts it, and the definitions that say what is known of it. */
export interface LoggedOn {
  readonly point: LogPoint
  readonly bench: Bench
  readonly part: Definition
  readonly cooler: Definition
}

interface Known {
  readonly key: string
  readonly work: () => Slices<SettledLog | undefined>
}

/** Evicted with the log's series; replaced when anything that it rests on is another. What was begun is gone on with. */
const known = new WeakMap<LogSeries, Known>()

/**
 * What a log settles at, a few looks at a time.
 * @param series without figures that cannot be
 * @param on undefined where the run cannot be predicted: then what the end of the log reads counts
 */
export function* settledLogInSlices(
  series: LogSeries,
  load: 'work' | 'idle',
  on: LoggedOn | undefined,
): Slices<SettledLog | undefined> {
  const constants = on === undefined ? [] : [...partPriors(on.part), ...coolerPriors(on.cooler, 'plain')]
  const { blocks: _, ...rest } = on?.point ?? { blocks: undefined }
  const { board, profile } = on?.bench ?? {}
  const key = JSON.stringify([
    load,
    Object.keys(series.figures),
    rest,
    constants.map(({ value, spread }) => [value, spread]),
    on?.bench.part,
    on?.bench.cooler,
    // What stands for a voltage that was not logged is in none of the above.
    board,
    profile?.voltage,
    profile?.groups?.map(({ voltage }) => voltage),
  ])
  const before = known.get(series)
  const work = before?.key === key ? before.work : resumable(find(series, load, on, constants))
  known.set(series, { key, work })
  return yield* work()
}

function* find(
  series: LogSeries,
  load: 'work' | 'idle',
  on: LoggedOn | undefined,
  constants: readonly PriorConstant[],
): Slices<SettledLog | undefined> {
  const { blocks, series: clean } = on?.point.blocks ?? logBlocks(series, load)
  const stretch = lastStretch(blocks)
  if (stretch === undefined) return undefined
  const means = endMeans(clean, blocks)
  if (Object.keys(means).length === 0) return undefined
  const fit = on && (yield* fitOf(on, constants))
  const settled = fit && settledFigures(fit)
  if (fit === undefined || settled === undefined)
    return { ...stretch, figures: means, toGoK: undefined, secondsToHalve: nothing, secondsToSettle: nothing }
  const figures: ByFigure<Reading> = { ...means }
  for (const kind of ['die', 'plate', 'coolant'] as const) if (means[kind] !== undefined) figures[kind] = settled[kind]
  if (means.power !== undefined)
    figures.power = {
      value: settled.power.value,
      standardUncertainty: Math.hypot(settled.power.standardUncertainty, means.power.standardUncertainty),
    }
  const end = blocks.findLast(({ isLoaded }) => isLoaded)?.means.die
  return {
    ...stretch,
    figures: figures as Readings,
    toGoK: means.die === undefined || end === undefined ? undefined : settled.die.value - end,
    secondsToHalve: once(() => secondsToHalve(fit)),
    secondsToSettle: once(() => secondsToSettle(fit, SETTLED_K)),
  }
}

const nothing = (): undefined => undefined

/** The same answer every time, found when it is first asked for. */
function once<T>(find: () => T): () => T {
  let found: { readonly answer: T } | undefined
  return () => {
    found ??= { answer: find() }
    return found.answer
  }
}

function* fitOf({ point, bench }: LoggedOn, constants: readonly PriorConstant[]): Slices<LogFit | undefined> {
  const own = constants.filter(warms)
  const benchAt = benchOf(
    bench.part,
    bench.cooler,
    own.map((place, at) => ({ place, at })),
  )
  const unknowns = own.map(({ value, spread }) => ({ mean: Math.log(value), sd: spread }))
  return yield* fitLogInSlices(
    point,
    { cooler: bench.cooler, benchAt, unknowns: own.map((_, index) => index) },
    unknowns,
  )
}
