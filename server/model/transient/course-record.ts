/** Keeps what a course is asked for: each step's figures, what happens, and one series over all of it. */

import { activeGroups } from '../groups.ts'
import { isWork } from '../loads.ts'
import type { Part } from '../types.ts'
import { timeOf, WINDOW_S } from './clock.ts'
import type { Decision } from './control.ts'
import {
  type CourseEnd,
  type CourseEvent,
  type CourseFigure,
  type CourseStep,
  courseFigures,
  type Extreme,
  type Extremes,
  type GroupExtremes,
  type StepEnded,
  type StepLine,
} from './course-types.ts'
import { DIE, type Network, PLATE } from './network.ts'
import { addSample, emptySeries, givenBackText, type Place, type Recorder, type Series } from './record.ts'
import { Second } from './second.ts'

/** What the drive takes is looked at so often: it takes a search, and changes slowly. */
const DRIVE_EVERY_S = 0.1

/** Places in `courseFigures`. */
const places = Object.fromEntries(courseFigures.map((figure, place) => [figure, place])) as Record<CourseFigure, number>

/** The extremes of all figures: looked at every tick, so that nothing is looked up by name until they are asked for. */
class Kept {
  private readonly low = new Float64Array(courseFigures.length).fill(Number.POSITIVE_INFINITY)
  private readonly high = new Float64Array(courseFigures.length).fill(Number.NEGATIVE_INFINITY)
  private readonly lowS = new Float64Array(courseFigures.length)
  private readonly highS = new Float64Array(courseFigures.length)

  add(figure: number, value: number, timeS: number): void {
    if (value < (this.low[figure] as number)) {
      this.low[figure] = value
      this.lowS[figure] = timeS
    }
    if (value > (this.high[figure] as number)) {
      this.high[figure] = value
      this.highS[figure] = timeS
    }
  }

  isAt({ figure, side, value }: CourseEnd): boolean {
    const place = places[figure]
    return side === 'low' ? (this.low[place] as number) < value : (this.high[place] as number) > value
  }

  /** Those of figures that never were are absent. */
  extremes(): Extremes {
    const at = (values: Float64Array, times: Float64Array, index: number): Extreme => ({
      value: values[index] as number,
      timeS: times[index] as number,
    })
    return new Map(
      courseFigures.flatMap((name, index) =>
        (this.low[index] as number) <= (this.high[index] as number)
          ? [[name, { low: at(this.low, this.lowS, index), high: at(this.high, this.highS, index) }] as const]
          : [],
      ),
    )
  }
}

/** Puts extremes into others. */
function joinInto(all: Kept, extremes: Extremes): void {
  for (const [figure, { low, high }] of extremes) {
    all.add(places[figure], low.value, low.timeS)
    all.add(places[figure], high.value, high.timeS)
  }
}

/** The extremes of all steps together, and those of each group of cores that was at work. */
export function joined(steps: readonly CourseStep[]): {
  readonly extremes: Extremes
  readonly groups?: readonly GroupExtremes[]
} {
  const all = new Kept()
  const ofGroups = new Map<string, Kept>()
  let hasGroups = false
  for (const { extremes, groups } of steps) {
    joinInto(all, extremes)
    if (groups === undefined) continue
    hasGroups = true
    for (const { group, extremes: own } of groups) {
      const kept: Kept = ofGroups.get(group) ?? new Kept()
      ofGroups.set(group, kept)
      joinInto(kept, own)
    }
  }
  if (!hasGroups) return { extremes: all.extremes() }
  return {
    extremes: all.extremes(),
    groups: [...ofGroups].map(([group, own]) => ({ group, extremes: own.extremes() })),
  }
}

export interface CourseRecorder extends Recorder {
  /** A step begins. */
  begin(line: number, step: StepLine, network: Network): void
  /** Looks at the figures at a tick. */
  watch(state: Float64Array, hottestC: number): void
  /** The step ends as the machine now is. */
  end(ended: StepEnded, state: Float64Array, hottestC: number): void
  /** Something happens that is not the controller's. */
  note(kind: CourseEvent['kind'], line: number, what: string): void
  /** A step that was over before its first tick. */
  skip(
    line: number,
    step: StepLine,
    now: { readonly dieC: number; readonly plateC: number; readonly coolantC: number },
  ): void
  /** Whether the step now, or the one that has just ended, came to it. */
  isAt(end: CourseEnd): boolean
  /** Time passed since the course began, in s. */
  nowS(): number
  readonly steps: readonly CourseStep[]
  readonly events: readonly CourseEvent[]
  readonly series: Series
}

/** A group that the step keeps busy: its place in the part, its sliding second and its own extremes. */
interface BusyClock {
  readonly index: number
  readonly second: Second
  readonly kept: Kept
}

interface CurrentStep {
  readonly line: number
  readonly step: StepLine
  readonly network: Network
  readonly startS: number
  readonly kept: Kept
  /** In the part's order; empty where no core is at work. */
  readonly busy: readonly BusyClock[]
}

/** A mean clock since the sample before, over the ticks in which there was one. */
interface SinceSample {
  ratio: number
  ticks: number
}

export function createCourseRecorder(part: Part, tickS: number, sampleTicks: number, ceilingC: number): CourseRecorder {
  const referenceMhz = part.referenceGhz * 1000
  const names = part.groups?.map(({ name }) => name)
  const series = emptySeries(names)
  const steps: CourseStep[] = []
  const events: CourseEvent[] = []
  const windowTicks = Math.max(1, Math.round(WINDOW_S / tickS))
  const driveTicks = Math.max(1, Math.round(DRIVE_EVERY_S / tickS))
  const since = { ratio: 0, ticks: 0 }
  const groupsSince: SinceSample[] = (names ?? []).map(() => ({ ratio: 0, ticks: 0 }))
  let passed = 0
  let sinceEnergyJ = 0
  let sinceTicks = 0
  let seen = new Set<string>()
  let current: CurrentStep | undefined
  let noted: Decision['givenBack'] | undefined
  /** Many ticks have passed at once. */
  let hasLeapt = false

  const nowS = (): number => timeOf(passed, tickS)
  const note = (kind: CourseEvent['kind'], line: number, what: string): void => {
    // Within a step each thing is said once; a fault is said whenever it is stated.
    if (kind !== 'fault' && seen.has(what)) return
    seen.add(what)
    events.push({ timeS: nowS(), line, kind, what })
  }
  const busyOf = ({ load }: StepLine): readonly BusyClock[] =>
    isWork(load)
      ? activeGroups(part, load).map(({ index }) => ({
          index,
          second: new Second(windowTicks),
          kept: new Kept(),
        }))
      : []
  /** Not a number where no core was at work; what is counted begins again. */
  const meanMhz = (one: SinceSample): number => {
    const mean = (one.ratio / one.ticks) * referenceMhz
    one.ratio = one.ticks = 0
    return mean
  }
  const push = (place: Place, clockMhz: number, powerW: number): void => {
    addSample(series, nowS(), place, clockMhz, powerW)
  }
  const sample = (place: Place): void => {
    if (sinceTicks === 0) return
    push(place, meanMhz(since), sinceEnergyJ / (sinceTicks * tickS))
    for (const [index, { clockMhz }] of (series.groups ?? []).entries()) {
      clockMhz.push(meanMhz(groupsSince[index] as SinceSample))
    }
    sinceEnergyJ = sinceTicks = 0
  }
  const watch = (state: Float64Array, hottestC: number): void => {
    if (current === undefined) return
    const { kept, network, busy } = current
    const timeS = nowS()
    const point = network.powerAt(state[DIE] as number)
    kept.add(places.die, hottestC, timeS)
    kept.add(places.plate, state[PLATE] as number, timeS)
    kept.add(places.coolant, network.coolantC(state), timeS)
    kept.add(places.power, point.powerW, timeS)
    if (busy.length > 0) {
      kept.add(places.voltage, point.voltageV, timeS)
      kept.add(places.current, point.currentA, timeS)
    }
    if (names !== undefined) {
      for (let at = 0; at < busy.length; at++) {
        const { kept: own } = busy[at] as BusyClock
        const { voltageV, currentA } = network.supplyOf(at)
        own.add(places.voltage, voltageV, timeS)
        own.add(places.current, currentA, timeS)
      }
    }
    if (network.hasModules && (hasLeapt || passed % driveTicks === 0))
      kept.add(places['drive-power'], network.driveW(state), timeS)
  }
  const keepClock = (into: Kept, second: Second): void => {
    if (second.passed > 0) into.add(places.clock, second.mean * referenceMhz, nowS())
  }
  /** The sliding seconds of the step now, of the first group with active cores and of each. */
  const keepClocks = ({ kept, busy }: CurrentStep): void => {
    const [first] = busy
    if (first === undefined) return
    keepClock(kept, first.second)
    if (names !== undefined) for (const { kept: own, second } of busy) keepClock(own, second)
  }
  const tickClocks = (at: CurrentStep, ratios: readonly number[]): void => {
    const { busy } = at
    for (let place = 0; place < busy.length; place++) {
      const { index, second } = busy[place] as BusyClock
      const ratio = ratios[place] as number
      second.tick(ratio)
      const own = groupsSince[index]
      if (own === undefined) continue
      own.ratio += ratio
      own.ticks++
    }
    const [first] = busy
    if (first === undefined) return
    since.ratio += ratios[0] as number
    since.ticks++
    if (first.second.isFull) keepClocks(at)
  }

  /** Seconds at one ratio are as slow at their end as a tick before: they are only counted. */
  const passClocks = (at: CurrentStep, ratios: readonly number[], count: number): void => {
    let left = count
    const isEven = (): boolean => at.busy.every(({ second }, place) => second.isEvenAt(ratios[place] as number))
    for (; left > 0 && !isEven(); left--) {
      passed++
      tickClocks(at, ratios)
    }
    passed += left
    for (let place = 0; place < at.busy.length; place++) {
      const { index, second } = at.busy[place] as BusyClock
      second.pass(left)
      const own = groupsSince[index]
      if (own === undefined) continue
      own.ratio += (ratios[place] as number) * left
      own.ticks += left
    }
    if (at.busy.length === 0) return
    since.ratio += (ratios[0] as number) * left
    since.ticks += left
  }

  return {
    steps,
    events,
    series,
    nowS,
    isAt: end => current?.kept.isAt(end) === true,
    note,
    begin: (line, step, network) => {
      seen = new Set()
      noted = undefined
      current = { line, step, network, startS: nowS(), kept: new Kept(), busy: busyOf(step) }
    },
    start: moment => {
      const { state, network, decision } = moment
      const dieC = state[DIE] as number
      watch(state, network.hottestC(dieC))
      lookAt(decision)
      // The tick at which one step ends and the next begins is the next one's.
      if (passed % sampleTicks === 0) sample(moment)
      if (passed === 0 && series.timeS.length === 0) {
        const mhz = (ratio = Number.NaN): number => ratio * referenceMhz
        push(moment, mhz(decision.ratios[0]), network.powerAt(dieC).powerW)
        series.groups?.forEach(({ clockMhz }, index) => {
          clockMhz.push(mhz(decision.ratios[current?.busy.findIndex(one => one.index === index) ?? -1]))
        })
      }
    },
    tick: (ratios, energyJ, hottestC) => {
      hasLeapt = false
      passed++
      sinceEnergyJ += energyJ
      sinceTicks++
      if (current !== undefined) tickClocks(current, ratios)
      if (hottestC >= ceilingC) note('die-limit', current?.line ?? 0, 'die limit reached')
    },
    pass: (count, ratios, energyJ) => {
      hasLeapt = true
      if (current === undefined) passed += count
      else passClocks(current, ratios, count)
      sinceEnergyJ += energyJ
      sinceTicks += count
    },
    mostAtOnce: () => sampleTicks - (passed % sampleTicks),
    watch,
    wantsSample: () => passed % sampleTicks === 0,
    look: lookAt,
    sample,
    trip: tripC => note('trip', current?.line ?? 0, `the machine stops: trip at ${tripC} °C`),
    end: (ended, state, hottestC) => {
      if (current === undefined) return
      const { line, step, network, startS, kept, busy } = current
      // A step shorter than a second is its own second.
      if (busy[0]?.second.isFull === false) keepClocks(current)
      if (network.hasModules && Number.isFinite(state[DIE]))
        kept.add(places['drive-power'], network.driveW(state), nowS())
      const ofGroups =
        names && busy.map(({ index, kept: own }) => ({ group: names[index] ?? '', extremes: own.extremes() }))
      steps.push({
        line,
        load: step.load,
        startS,
        endS: nowS(),
        ended,
        extremes: kept.extremes(),
        ...(ofGroups === undefined ? {} : { groups: ofGroups }),
        endDieC: hottestC,
        endPlateC: state[PLATE] as number,
        endCoolantC: network.coolantC(state),
      })
    },
    skip: (line, { load }, { dieC, plateC, coolantC }) => {
      const timeS = nowS()
      const kept = new Kept()
      kept.add(places.die, dieC, timeS)
      kept.add(places.plate, plateC, timeS)
      kept.add(places.coolant, coolantC, timeS)
      const ends = { endDieC: dieC, endPlateC: plateC, endCoolantC: coolantC }
      const noGroups = names === undefined ? {} : { groups: [] }
      steps.push({
        line,
        load,
        startS: timeS,
        endS: timeS,
        ended: 'reached',
        extremes: kept.extremes(),
        ...noGroups,
        ...ends,
      })
    },
  }

  function lookAt(decision: Decision): void {
    const { givenBack } = decision
    if (givenBack.length === 0 || givenBack === noted) return
    noted = givenBack
    for (const why of givenBack) note(why.by, current?.line ?? 0, givenBackText(why))
  }
}
