/** Keeps what a course is asked for: each step's figures, what happens, and one series over all of it. */

import type { CourseEvent, CourseFigure, CourseStep, Extreme, Extremes, StepEnded, StepLine } from './course-types.ts'
import { DIE, type Network, PLATE } from './network.ts'
import { addSample, emptySeries, type Moment, type Recorder, reasons, type Series, ticksS, WINDOW_S } from './record.ts'

/** What the drive takes is looked at so often: it takes a search, and changes slowly. */
const DRIVE_EVERY_S = 0.1

type Kept = Map<CourseFigure | 'clock', { low: Extreme; high: Extreme }>

function keep(into: Kept, figure: CourseFigure | 'clock', value: number, timeS: number): void {
  const known = into.get(figure)
  if (known === undefined) {
    const at = { value, timeS }
    into.set(figure, { low: at, high: at })
    return
  }
  if (value < known.low.value) known.low = { value, timeS }
  if (value > known.high.value) known.high = { value, timeS }
}

/** The extremes of all steps together. */
export function joined(steps: readonly CourseStep[]): Extremes {
  const all: Kept = new Map()
  for (const { extremes } of steps) {
    for (const [figure, { low, high }] of extremes) {
      keep(all, figure, low.value, low.timeS)
      keep(all, figure, high.value, high.timeS)
    }
  }
  return all
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
  pass(
    line: number,
    step: StepLine,
    now: { readonly dieC: number; readonly plateC: number; readonly coolantC: number },
  ): void
  /** Time passed since the course began, in s. */
  nowS(): number
  readonly steps: readonly CourseStep[]
  readonly events: readonly CourseEvent[]
  readonly series: Series
}

/** The sliding second over one step. */
interface Second {
  readonly ring: Float64Array
  sum: number
  passed: number
}

export function createCourseRecorder(
  referenceMhz: number,
  tickS: number,
  sampleTicks: number,
  ceilingC: number,
): CourseRecorder {
  const series = emptySeries()
  const steps: CourseStep[] = []
  const events: CourseEvent[] = []
  const windowTicks = Math.max(1, Math.round(WINDOW_S / tickS))
  const driveTicks = Math.max(1, Math.round(DRIVE_EVERY_S / tickS))
  let passed = 0
  let since = { ratio: 0, workTicks: 0, energyJ: 0, ticks: 0 }
  let seen = new Set<string>()
  let current: { line: number; step: StepLine; network: Network; startS: number; kept: Kept } | undefined
  let second: Second = { ring: new Float64Array(windowTicks), sum: 0, passed: 0 }

  const nowS = (): number => ticksS(passed, tickS)
  const note = (kind: CourseEvent['kind'], line: number, what: string): void => {
    // Within a step each thing is said once; a fault is said whenever it is stated.
    if (kind !== 'fault' && seen.has(what)) return
    seen.add(what)
    events.push({ timeS: nowS(), line, kind, what })
  }
  const push = (moment: Moment, clockMhz: number, powerW: number): void => {
    addSample(series, nowS(), moment, clockMhz, powerW)
  }
  const sample = (moment: Moment): void => {
    if (since.ticks === 0) return
    push(moment, (since.ratio / since.workTicks) * referenceMhz, since.energyJ / (since.ticks * tickS))
    since = { ratio: 0, workTicks: 0, energyJ: 0, ticks: 0 }
  }
  const watch = (state: Float64Array, hottestC: number): void => {
    if (current === undefined) return
    const { kept, network, step } = current
    const timeS = nowS()
    const point = network.powerAt(state[DIE] as number)
    keep(kept, 'die', hottestC, timeS)
    keep(kept, 'plate', state[PLATE] as number, timeS)
    keep(kept, 'coolant', network.coolantC(state), timeS)
    keep(kept, 'power', point.powerW, timeS)
    if (step.load.kind === 'work') {
      keep(kept, 'voltage', point.voltageV, timeS)
      keep(kept, 'current', point.currentA, timeS)
    }
    if (network.hasModules && passed % driveTicks === 0) keep(kept, 'drive-power', network.driveW(state), timeS)
  }
  const keepClock = (): void => {
    if (current === undefined || current.step.load.kind !== 'work' || second.passed === 0) return
    const ticks = Math.min(second.passed, windowTicks)
    keep(current.kept, 'clock', (second.sum / ticks) * referenceMhz, nowS())
  }

  return {
    steps,
    events,
    series,
    nowS,
    note,
    begin: (line, step, network) => {
      seen = new Set()
      second = { ring: new Float64Array(windowTicks), sum: 0, passed: 0 }
      current = { line, step, network, startS: nowS(), kept: new Map() }
    },
    start: moment => {
      const { state, network } = moment
      const dieC = state[DIE] as number
      watch(state, network.hottestC(dieC))
      lookAt(moment)
      // The tick at which one step ends and the next begins is the next one's.
      if (passed % sampleTicks === 0) sample(moment)
      if (passed === 0 && series.timeS.length === 0) {
        const isWork = current?.step.load.kind === 'work'
        push(moment, isWork ? moment.decision.ratio * referenceMhz : Number.NaN, network.powerAt(dieC).powerW)
      }
    },
    tick: (ratio, energyJ, hottestC) => {
      const slot = second.passed % windowTicks
      second.sum += ratio - (second.ring[slot] as number)
      second.ring[slot] = ratio
      second.passed++
      passed++
      since.ratio += ratio
      if (current?.step.load.kind === 'work') since.workTicks++
      since.energyJ += energyJ
      since.ticks++
      if (second.passed >= windowTicks) keepClock()
      if (hottestC >= ceilingC) note('die-limit', current?.line ?? 0, 'die limit reached')
    },
    watch,
    wantsSample: () => passed % sampleTicks === 0,
    look: lookAt,
    sample,
    trip: tripC => note('trip', current?.line ?? 0, `the machine stops: trip at ${tripC} °C`),
    end: (ended, state, hottestC) => {
      if (current === undefined) return
      // A step shorter than a second is its own second.
      if (second.passed < windowTicks) keepClock()
      const { line, step, network, startS, kept } = current
      if (network.hasModules && Number.isFinite(state[DIE])) keep(kept, 'drive-power', network.driveW(state), nowS())
      steps.push({
        line,
        load: step.load,
        startS,
        endS: nowS(),
        ended,
        extremes: kept,
        endDieC: hottestC,
        endPlateC: state[PLATE] as number,
        endCoolantC: network.coolantC(state),
      })
    },
    pass: (line, { load }, { dieC, plateC, coolantC }) => {
      const timeS = nowS()
      const kept: Kept = new Map()
      keep(kept, 'die', dieC, timeS)
      keep(kept, 'plate', plateC, timeS)
      keep(kept, 'coolant', coolantC, timeS)
      const ends = { endDieC: dieC, endPlateC: plateC, endCoolantC: coolantC }
      steps.push({ line, load, startS: timeS, endS: timeS, ended: 'reached', extremes: kept, ...ends })
    },
  }

  function lookAt({ decision, bandAboveC }: Moment): void {
    if (decision.by !== 'none') note(decision.by, current?.line ?? 0, reasons[decision.by](bandAboveC))
  }
}
