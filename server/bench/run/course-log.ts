/**
 * Which rows of a log belong to which step of a course. An evening at the bench keeps no stopwatch: the order of the steps
 * is the course's, their ends are where the measured power changes as the loads' settled powers do.
 */

import type { Course, Load, StepLine } from '../../model/index.ts'
import type { LogSeries } from '../log/series.ts'

/** The points of a step, from up to but not with. */
export interface LoggedStep {
  /** Which of the course's lines. */
  readonly line: number
  readonly load: Load
  readonly from: number
  readonly to: number
}

/** Steps whose powers are within this share are not told apart by power, but by their times; engineering judgement. */
const SAME_POWER = 0.1

/** A step, or what comes before the first and behind the last. */
interface Part {
  readonly line: number | undefined
  readonly step: StepLine | undefined
  readonly powerW: number
}

/** Neighbours of about one power. */
interface Level {
  readonly powerW: number
  readonly parts: readonly Part[]
}

/**
 * The steps of a course in a log, those without a row left out.
 * @param powerOf what a load settles at in W; undefined where it does not
 * @returns a sentence where they cannot be told apart
 */
export function loggedSteps(
  series: LogSeries,
  course: Course,
  powerOf: (load: Load) => number | undefined,
): readonly LoggedStep[] | string {
  const power = series.figures.power
  if (power === undefined || !power.some(value => !Number.isNaN(value)))
    return 'its log has no power, by which the steps of the course are told apart'
  const restW = powerOf({ kind: 'idle' }) ?? 0
  const { start, lines } = course
  const around = (powerW: number): Part => ({ line: undefined, step: undefined, powerW })
  const parts = [
    around(start.kind === 'room' ? restW : (powerOf(start.load) ?? restW)),
    ...lines.flatMap((step, line): Part[] =>
      step.kind === 'step' ? [{ line, step, powerW: powerOf(step.load) ?? restW }] : [],
    ),
    around(restW),
  ]
  const found = levelsOf(parts)
  const ends = levelEnds(power, found)
  return found.flatMap(({ parts: own }, index) =>
    split(series, own, index === 0 ? 0 : (ends[index - 1] as number), ends[index] as number),
  )
}

function levelsOf(parts: readonly Part[]): readonly Level[] {
  const found: { powerW: number; parts: Part[] }[] = []
  for (const part of parts) {
    const last = found.at(-1)
    const [low, high] = [part.powerW, last?.powerW ?? Number.NaN].sort((a, b) => a - b) as [number, number]
    if (last !== undefined && high - low <= SAME_POWER * high) last.parts.push(part)
    else found.push({ powerW: part.powerW, parts: [part] })
  }
  return found
}

/** Where each level ends: the rows in the order of the levels with the least sum of distances from them. */
function levelEnds(power: Float64Array, levels: readonly Level[]): readonly number[] {
  const [n, count] = [power.length, levels.length]
  const came = new Uint16Array(n * count)
  let sums = new Float64Array(count)
  for (let at = 0; at < n; at++) {
    const next = new Float64Array(count)
    let best = 0
    for (let level = 0; level < count; level++) {
      if ((sums[level] as number) < (sums[best] as number)) best = level
      const value = power[at] as number
      const off = Number.isNaN(value) ? 0 : Math.abs(value - (levels[level] as Level).powerW)
      next[level] = (sums[best] as number) + off
      came[at * count + level] = best
    }
    sums = next
  }
  let level = 0
  for (let other = 1; other < count; other++) if ((sums[other] as number) < (sums[level] as number)) level = other
  const ends = new Array<number>(count).fill(0)
  ends.fill(n, level)
  for (let at = n - 1; at >= 0; at--) {
    const before = came[at * count + level] as number
    // Levels between the two have no row: they end where they begin.
    if (before < level) ends.fill(at, before, level)
    level = before
  }
  return ends
}

/**
 * Steps of one level share its rows by their times: one that waits for a temperature takes what is left, else what comes
 * before the course or behind it.
 */
function split(series: LogSeries, parts: readonly Part[], from: number, to: number): LoggedStep[] {
  if (to <= from) return []
  const wholeS = (series.fromS[to] ?? (series.toS[to - 1] as number)) - (series.fromS[from] as number)
  const stated = parts.map(({ step }) => (step?.until.kind === 'time' ? step.until.forS : 0))
  const sumS = stated.reduce((sum, one) => sum + one, 0)
  const waits = parts.flatMap(({ step }, index) => (step?.until.kind === 'temperature' ? [index] : []))
  const outer = parts.flatMap(({ step }, index) => (step === undefined ? [index] : []))
  const open = waits.length > 0 ? waits : outer
  const leftS = Math.max(0, wholeS - sumS)
  const share = open.length === 0 || sumS > wholeS ? wholeS / (sumS || 1) : 1
  let [endS, first] = [series.fromS[from] as number, from]
  return parts.flatMap(({ line, step }, index): LoggedStep[] => {
    endS += (stated[index] as number) * share + (open.includes(index) ? leftS / open.length : 0)
    let end = first
    while (end < to && (series.timeS[end] as number) < endS) end++
    if (index === parts.length - 1) end = to
    const own = { from: first, to: end }
    first = end
    return line === undefined || step === undefined || own.to <= own.from ? [] : [{ line, load: step.load, ...own }]
  })
}

/**
 * The course as the log lived through it: each step for as long as its rows last, up to the last one that was logged.
 * Without a step that has no row; faults stay where they are.
 */
export function asLogged(course: Course, steps: readonly LoggedStep[], series: LogSeries): Course {
  const last = steps.at(-1)?.line ?? -1
  return {
    start: course.start,
    lines: course.lines.flatMap((line, index): Course['lines'][number][] => {
      if (index > last) return []
      if (line.kind === 'fault') return [line]
      const at = steps.findIndex(one => one.line === index)
      const step = steps[at]
      if (step === undefined) return []
      const beginS = series.fromS[step.from] as number
      const endS = series.fromS[steps[at + 1]?.from ?? -1] ?? (series.toS[step.to - 1] as number)
      return [{ ...line, until: { kind: 'time', forS: Math.max(1, endS - beginS) } }]
    }),
  }
}
