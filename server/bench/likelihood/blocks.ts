/**
 * A log as some dozens of means, in sections of load and rest: short ones where a load begins or ends and much happens,
 * long ones where little does. A linear bench answers to the mean of its power by the mean of its temperatures, so that
 * means keep all that a fit asks for.
 */

import { onceFor } from '../../../grammar/once.ts'
import { finished, resumable } from '../../model/slices.ts'
import { GAP_FACTOR } from '../log/clock.ts'
import type { Figure, FigureKind } from '../log/figures.ts'
import type { LogSeries } from '../log/series.ts'
import { upperMedianOf } from '../statistics/moments.ts'
import { withoutSpikes } from './spikes.ts'
import type { SetVoltage, Work } from './work.ts'

export interface Block {
  readonly fromS: number
  readonly toS: number
  /** Points of the series, from up to but not with. */
  readonly from: number
  readonly to: number
  /** Counted from 0: a gap begins another one, whose first state is unknown again. */
  readonly episode: number
  /** Under the load of the run, not at rest before or after it. */
  readonly isLoaded: boolean
  readonly means: Readonly<Partial<Record<Figure, number>>>
  /** Temperatures at the ends of stages: the means themselves, or for a single point those of the block around it. */
  readonly ends: Readonly<Partial<Record<Figure, number>>>
  /** Readings of each figure that are in its mean. */
  readonly counts: Readonly<Partial<Record<Figure, number>>>
  /** In the log of a course: what was at work. */
  readonly under?: Under
  /** Mean of voltage² · clock, which dynamic power follows; NaN where not both were read. */
  readonly dynamicV2Ghz: number
}

/** What was at work in a block of a course's log, and what stands for figures that were not logged. */
export interface Under {
  /** Undefined at rest. */
  readonly work: Work | undefined
  readonly clockGhz?: number
  readonly voltage?: SetVoltage
  readonly powerW?: number
}

/** Points of a log from up to but not with, and what was at work there. */
interface Stretch {
  readonly from: number
  readonly to: number
  readonly under: Under
}

export interface LogBlocks {
  /** Without spikes. */
  readonly series: LogSeries
  readonly blocks: readonly Block[]
  /** For each point of the series whether it is under the load. */
  readonly loaded: readonly boolean[]
  readonly stepS: number
}

/** Below these spans from low to high load and rest are not told apart: all is one. These limits are engineering judgement. */
const POWER_SPAN_SHARE = 0.35
const DIE_SPAN_K = 10
/** Changes between rest and load that last less than this are the load's own. */
const LASTS_S = 20
const LASTS_POINTS = 5
const SECTIONS = 16
const FIRST_S = 2
const GROWTH = 1.5
/** No block is longer than this share of its section. */
const LONGEST_SHARE = 1 / 8
const MOST_BLOCKS = 64

function usualStepS({ fromS }: LogSeries): number {
  const steps = Array.from(
    { length: Math.max(0, fromS.length - 1) },
    (_, at) => (fromS[at + 1] as number) - (fromS[at] as number),
  )
  return upperMedianOf(steps) ?? 1
}

/** Load is told from rest by the first of these that has two levels; each with how far apart those must be. */
const guides: readonly (readonly [kind: FigureKind, isApart: (low: number, high: number) => boolean])[] = [
  ['power', (low, high) => high - low > POWER_SPAN_SHARE * high],
  // A machine at rest may draw what a light load does.
  ['clock', (low, high) => high - low > POWER_SPAN_SHARE * high],
  ['die', (low, high) => high - low > DIE_SPAN_K],
]

/** A figure, and its level between rest and load; undefined where the log has only one of them. */
function guideOf({ figures }: LogSeries): { readonly values: Float64Array; readonly level: number } | undefined {
  for (const [kind, isApart] of guides) {
    const values = figures[kind]
    const sorted = values?.filter(value => !Number.isNaN(value)).sort()
    if (values === undefined || sorted === undefined || sorted.length === 0) continue
    const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))] as number
    // One reading in a hundred may be a spike.
    const [low, high] = [at(0.02), at(0.95)]
    if (isApart(low, high)) return { values, level: (low + high) / 2 }
    // Where the power was read, a die that warms is not a change of load.
    if (kind === 'power' && figures.clock === undefined) return undefined
    if (kind === 'clock') return undefined
  }
  return undefined
}

/** The flags with runs shorter than `least` turned over, the shortest first, so that each joins its neighbours. */
function steadied(flags: readonly boolean[], least: number): boolean[] {
  const runs: { flag: boolean; count: number }[] = []
  for (const flag of flags) {
    const last = runs.at(-1)
    if (last?.flag === flag) last.count++
    else runs.push({ flag, count: 1 })
  }
  for (;;) {
    let at = 0
    for (let other = 1; other < runs.length; other++)
      if ((runs[other]?.count as number) < (runs[at]?.count as number)) at = other
    const shortest = runs[at]
    if (shortest === undefined || runs.length < 2 || shortest.count >= least) break
    const [before, after] = [runs[at - 1], runs[at + 1]]
    const count = shortest.count + (before?.count ?? 0) + (after?.count ?? 0)
    runs.splice(Math.max(0, at - 1), (before ? 1 : 0) + 1 + (after ? 1 : 0), { flag: !shortest.flag, count })
  }
  return runs.flatMap(({ flag, count }) => new Array<boolean>(count).fill(flag))
}

function loadedPoints(series: LogSeries, load: 'work' | 'idle', stepS: number): boolean[] {
  const guide = guideOf(series)
  let last = true
  const flags = Array.from(series.timeS, (_, at) => {
    const value = guide?.values[at] ?? Number.NaN
    if (guide === undefined) return true
    if (!Number.isNaN(value)) last = load === 'work' ? value >= guide.level : value < guide.level
    return last
  })
  let least = Math.max(LASTS_POINTS, Math.round(LASTS_S / stepS))
  let found = flags
  for (;;) {
    // What was joined stays joined: so all of it together takes no longer than once.
    found = steadied(found, Math.min(least, Math.max(1, flags.length >> 2)))
    const changes = found.filter((flag, at) => at > 0 && flag !== found[at - 1]).length
    if (changes < SECTIONS || least > flags.length) break
    least *= 2
  }
  // Where a load comes and goes too fast to be followed, all of it counts.
  return found.includes(true) ? found : flags.map(() => true)
}

interface Section {
  readonly from: number
  readonly to: number
  readonly episode: number
  readonly isLoaded: boolean
  readonly under?: Under | undefined
}

/** Whether rows are missing before a point. */
function isGap({ fromS, toS }: LogSeries, at: number, stepS: number): boolean {
  return at > 0 && (fromS[at] as number) - (toS[at - 1] as number) > GAP_FACTOR * Math.max(stepS, 1e-3)
}

function sections(series: LogSeries, loaded: readonly boolean[], stepS: number): Section[] {
  const found: Section[] = []
  let [from, episode] = [0, 0]
  const count = series.timeS.length
  for (let at = 1; at <= count; at++) {
    const isEnd = at === count
    const isBehindGap = !isEnd && isGap(series, at, stepS)
    if (!isEnd && !isBehindGap && loaded[at] === loaded[from]) continue
    found.push({ from, to: at, episode, isLoaded: loaded[from] as boolean })
    from = at
    if (isBehindGap) episode++
  }
  return found
}

/** Where the blocks of a section end. */
function ends({ from, to }: Section, stepS: number, most: number): number[] {
  const count = to - from
  const longest = Math.max(1, Math.ceil(count * Math.max(LONGEST_SHARE, 1.5 / most)))
  const found: number[] = []
  let length = Math.max(1, Math.round(FIRST_S / stepS))
  let growth = GROWTH
  // Where there is no room for all, blocks grow faster.
  while (Math.log(longest / length) / Math.log(growth) > most / 2) growth *= 1.3
  for (let at = from; at < to; ) {
    const next = at + Math.min(longest, Math.max(1, Math.round(length)))
    // What is left over joins the last block.
    at = to - next < Math.min(length, longest) / 2 ? to : next
    found.push(at)
    length *= growth
  }
  return found
}

/** Halfway between a point and the one before it; half a step away from it behind a gap and at the ends. */
function edgeS({ fromS, toS }: LogSeries, at: number, stepS: number): number {
  const [before, own] = [toS[at - 1], fromS[at]]
  if (own === undefined) return (before ?? 0) + stepS / 2
  return before === undefined || own - before > GAP_FACTOR * stepS ? own - stepS / 2 : (before + own) / 2
}

function blockOf(series: LogSeries, section: Section, from: number, to: number, stepS: number): Block {
  const means: Partial<Record<Figure, number>> = {}
  const counts: Partial<Record<Figure, number>> = {}
  for (const [kind, values] of Object.entries(series.figures) as [Figure, Float64Array][]) {
    let [sum, count] = [0, 0]
    for (let at = from; at < to; at++) {
      const value = values[at] as number
      if (Number.isNaN(value)) continue
      sum += value
      count++
    }
    if (count === 0) continue
    means[kind] = sum / count
    counts[kind] = count
  }
  const { voltage, clock } = series.figures
  let [sum, count] = [0, 0]
  for (let at = from; at < to; at++) {
    const own = (voltage?.[at] ?? Number.NaN) ** 2 * (clock?.[at] ?? Number.NaN)
    if (Number.isNaN(own)) continue
    sum += own
    count++
  }
  return {
    fromS: edgeS(series, from, stepS),
    toS: Math.min(edgeS(series, to, stepS), (series.toS[to - 1] as number) + stepS),
    from,
    to,
    episode: section.episode,
    isLoaded: section.isLoaded,
    means,
    ends: means,
    counts,
    dynamicV2Ghz: count === 0 ? Number.NaN : sum / count,
    ...(section.under && { under: section.under }),
  }
}

/** @param load whether the run is one of work, or of the machine at rest */
export const logBlocks = (raw: LogSeries, load: 'work' | 'idle'): LogBlocks => finished(logBlocksInSlices(raw, load))

/** The same, one figure of the log at a time. */
export const logBlocksInSlices = (raw: LogSeries, load: 'work' | 'idle'): Generator<undefined, LogBlocks> =>
  madeOf[load](raw)()

const madeOf = {
  work: onceFor((raw: LogSeries) => resumable(makeBlocks(raw, 'work'))),
  idle: onceFor((raw: LogSeries) => resumable(makeBlocks(raw, 'idle'))),
}

function* makeBlocks(raw: LogSeries, load: 'work' | 'idle'): Generator<undefined, LogBlocks> {
  const stepS = usualStepS(raw)
  yield
  const loaded = loadedPoints(raw, load, stepS)
  yield
  return yield* blocksIn(raw, sections(raw, loaded, stepS), loaded, stepS)
}

/** The log of a course. @param stretches in their order; what lies between them does not count */
export function courseBlocks(raw: LogSeries, stretches: readonly Stretch[]): LogBlocks {
  const stepS = usualStepS(raw)
  const loaded = new Array<boolean>(raw.timeS.length).fill(false)
  const all: Section[] = []
  let episode = -1
  for (const { from, to, under } of stretches) {
    const isLoaded = under.work !== undefined
    loaded.fill(isLoaded, from, to)
    let first = from
    for (let at = from; at <= to; at++) {
      if (at < to && (at === from || !isGap(raw, at, stepS))) continue
      if (at === first) continue
      // Behind a gap, or what does not count, the state is unknown again.
      if (all.at(-1)?.to !== first || isGap(raw, first, stepS)) episode++
      all.push({ from: first, to: at, episode, isLoaded, under })
      first = at
    }
  }
  return finished(blocksIn(raw, all, loaded, stepS))
}

function* blocksIn(
  raw: LogSeries,
  all: readonly Section[],
  loaded: readonly boolean[],
  stepS: number,
): Generator<undefined, LogBlocks> {
  const clean: [string, Float64Array][] = []
  for (const [kind, values] of Object.entries(raw.figures)) {
    clean.push([kind, withoutSpikes(values, all)])
    yield
  }
  const series = { ...raw, figures: Object.fromEntries(clean) as LogSeries['figures'] }
  const most = Math.max(3, Math.floor(MOST_BLOCKS / Math.max(1, all.length)))
  const blocks = all.flatMap(section => {
    let from = section.from
    return ends(section, stepS, most).map(to => {
      const block = blockOf(series, section, from, to, stepS)
      from = to
      return block
    })
  })
  return { series, blocks, loaded, stepS }
}

/**
 * Each point of the series as a block of its own, its ends on straight lines between the middles of the blocks: from these
 * the correlation of residuals is estimated. Evicted with the blocks.
 */
export const pointBlocks = onceFor(({ series, blocks, loaded, stepS }: LogBlocks): readonly Block[] => {
  const middles = blocks.map(({ fromS, toS }) => (fromS + toS) / 2)
  return blocks.flatMap((block, own) =>
    Array.from({ length: block.to - block.from }, (_, index) => {
      const at = block.from + index
      const { episode, under } = block
      const section = { from: at, to: at + 1, episode, isLoaded: loaded[at] as boolean, under }
      const point = blockOf(series, section, at, at + 1, stepS)
      const time = series.timeS[at] as number
      const other = own + (time < (middles[own] as number) ? -1 : 1)
      const near = blocks[other]
      const isOne =
        near !== undefined && near.episode === episode && near.isLoaded === block.isLoaded && near.under === under
      return {
        ...point,
        ends: isOne ? between(block, near, time, middles[own] as number, middles[other] as number) : block.ends,
      }
    }),
  )
})

function between(own: Block, near: Block, time: number, from: number, to: number): Block['ends'] {
  const share = (time - from) / (to - from)
  const found: Partial<Record<Figure, number>> = { ...own.ends }
  for (const kind of ['plate', 'coolant'] as const) {
    const [value, other] = [own.means[kind], near.means[kind]]
    if (value !== undefined && other !== undefined) found[kind] = value + share * (other - value)
  }
  return found
}

/** When the load begins, in s since the log's first row; 0 where it is on from the first. */
export function loadStartS(series: LogSeries, load: 'work' | 'idle'): number {
  const first = loadedPoints(series, load, usualStepS(series)).indexOf(true)
  return series.fromS[Math.max(0, first)] ?? 0
}
