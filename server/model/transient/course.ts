/**
 * A whole evening on one bench in one corner: load after load, faults between them, all states going on from step to
 * step (model section 10, and the chapter on courses).
 *
 * A step that waits for a temperature looks at it as the tick before has left it, from the step's own first tick on. The
 * controller looks once at each tick, under the load that is then at work.
 */

import { type Faults, noFaults } from '../cooler/faults.ts'
import { createDrive, driveLagS, faultyCooler, isDrivenOff } from '../cooler/index.ts'
import { noDrive } from '../cooler/kind.ts'
import { isOn, isWork, restPowerW } from '../loads.ts'
import { type PreparedBench, type PreparedCorner, prepareBench, prepareCorner, prepareLoad } from '../prepare.ts'
import type { Bench, Corner, Load } from '../types.ts'
import { createRestingController } from './control.ts'
import { createCourseRecorder, joined } from './course-record.ts'
import { courseStart } from './course-start.ts'
import type { Course, CourseNotRun, CourseOptions, CourseRun, FaultLine, StepEnded, StepUntil } from './course-types.ts'
import { followStretch } from './follow.ts'
import { COOLANT, createNetwork, HOT, type Network, PLATE, STATE_SIZE } from './network.ts'
import type { Place } from './record.ts'
import { DEFAULT_SAMPLE_S, DEFAULT_TICK_S, forgetOf, tripOf, workController } from './simulate.ts'
import type { Machine, Stretch } from './stretch.ts'

/** A temperature that is waited for counts as reached this near: a drive that holds its target only approaches it. */
const REACHED_WITHIN_K = 0.1

/** The faults with one more line. */
function withFault(faults: Faults, line: FaultLine): Faults {
  switch (line.word) {
    case 'pump':
      return { ...faults, pumpPct: line.pct }
    case 'fan': {
      const { fanPct: _before, ...others } = faults
      return line.pct === 100 ? others : { ...others, fanPct: line.pct }
    }
    case 'chiller':
      return { ...faults, chillerPct: line.pct }
    case 'radiator':
      return { ...faults, radiatorPct: line.pct }
    case 'drive':
      return { ...faults, driveIsOn: line.isOn }
  }
}

/** The faults that are at work at one of a course's lines. */
export function faultsAt({ lines }: Course, line: number): Faults {
  return lines
    .slice(0, line)
    .reduce((faults, one) => (one.kind === 'fault' ? withFault(faults, one) : faults), noFaults)
}

/** The bench as it is with these faults under a load: the cooler with what is left of it, no current where none flows. */
export function faultyBench(bench: Bench, load: Load, faults: Faults): Bench {
  const cooler = faults === noFaults ? bench.cooler : faultyCooler(bench.cooler, faults)
  const isDriven = faults.driveIsOn && (isOn(load) || isDrivenOff(bench.cooler))
  if (cooler === bench.cooler && isDriven) return bench
  return { ...bench, cooler, profile: isDriven ? bench.profile : { ...bench.profile, drive: { kind: 'off' } } }
}

const faultText = (line: FaultLine): string =>
  line.word === 'drive' ? `drive ${line.isOn ? 'on' : 'off'}` : `${line.word} at ${line.pct} %`

/** Whether a temperature is reached. */
const isReachedAt = (
  valueC: number,
  { compare, temperatureC }: Extract<StepUntil, { kind: 'temperature' }>,
): boolean => (compare === '<=' ? valueC <= temperatureC + REACHED_WITHIN_K : valueC >= temperatureC - REACHED_WITHIN_K)

/** Follows a course to its end, for those who have something else to do meanwhile: each slice takes well below a millisecond. */
export function* followCourseInSlices(
  bench: Bench,
  course: Course,
  corner: Corner,
  options: CourseOptions = {},
): Generator<undefined, CourseRun | CourseNotRun, undefined> {
  const prepared = prepareBench(bench)
  const cornered = prepareCorner(prepared, corner)
  for (const line of course.lines) {
    if (line.kind === 'step' && isWork(line.load) && prepareLoad(prepared, line.load).ladder.at(0) === undefined) {
      return { undecided: 'steps', load: line.load }
    }
  }
  const begun = courseStart(prepared, cornered, course.start, corner)
  if ('undecided' in begun) return begun
  const { machine, controls } = begun
  const tickS = options.tickS ?? DEFAULT_TICK_S
  const sampleTicks = Math.max(1, Math.round((options.sampleS ?? DEFAULT_SAMPLE_S) / tickS))
  const recorder = createCourseRecorder(bench.part, tickS, sampleTicks, prepared.ceilingC)
  const { endsAt } = options
  const isEnough = (): boolean => endsAt !== undefined && recorder.isAt(endsAt)
  const coolingOf = coolings(prepared, cornered, corner)
  let faults = noFaults
  let hotStores = false
  let faultS: number | null = null
  let trippedS: number | null = null
  /** Of the step before: what the hot side begins with once it stores heat. */
  let before: Network | undefined
  let last: Place | undefined

  for (const [index, line] of course.lines.entries()) {
    if (line.kind === 'fault') {
      faults = withFault(faults, line)
      faultS = recorder.nowS()
      recorder.note('fault', index, faultText(line))
      if (line.word === 'pump' && !hotStores) {
        hotStores = storesHot(machine, before ?? createNetwork(bench, { kind: 'idle' }, corner))
      }
      continue
    }
    const ticks = ticksOf(line.until, tickS)
    const cooling = coolingOf(line.load, faults)
    const network = createNetwork(cooling.bench, line.load, corner, hotStores)
    const { until } = line
    const coolantC = network.coolantC(machine.y)
    if (
      until.kind === 'temperature' &&
      isReachedAt(figureC(until.figure, machine.hottestC, machine.y, coolantC), until)
    ) {
      recorder.skip(index, line, { dieC: machine.hottestC, plateC: machine.y[PLATE] as number, coolantC })
      continue
    }
    const stretch: Stretch = {
      // The cap is that of the bench without faults.
      ...(isWork(line.load)
        ? workController(prepared, line.load, cornered, corner, controls)
        : {
            controller: createRestingController(prepared, controls, restPowerW(line.load, bench.part)),
            setVsOf: () => [],
          }),
      ...cooling,
      packageKPerW: bench.part.packageResistanceKPerW,
      tripC: tripOf(prepared),
      ceilingC: prepared.ceilingC,
      network,
      ticks,
      tickS,
      forget: forgetOf(bench, tickS),
      isEnough,
      isReached: (state, hottestC) =>
        until.kind === 'temperature' &&
        isReachedAt(figureC(until.figure, hottestC, state, network.coolantC(state)), until),
    }
    recorder.begin(index, line, network)
    const following = followStretch(machine, stretch, recorder)
    let slice = following.next()
    for (; slice.done !== true; slice = following.next()) {
      options.passed?.(recorder.nowS())
      yield
    }
    const how = slice.value
    before = network
    const ended: StepEnded = how === 'time' && until.kind === 'temperature' ? 'waited' : how
    if (ended === 'waited' && until.kind === 'temperature') {
      recorder.note('waited', index, `${until.figure} ${until.compare} ${until.temperatureC} °C is not reached`)
    }
    recorder.end(ended, machine.y, machine.hottestC)
    last = { state: machine.y, network }
    if (how === 'trip') {
      trippedS = recorder.nowS()
      break
    }
    if (isEnough()) break
  }
  if (last !== undefined) recorder.sample(last)
  const { steps, events, series } = recorder
  return { endS: recorder.nowS(), tripS: trippedS, faultS, steps, events, ...joined(steps), series }
}

function ticksOf(until: StepUntil, tickS: number): number {
  return Math.max(1, Math.round((until.kind === 'time' ? until.forS : until.withinS) / tickS))
}

function figureC(figure: 'die' | 'plate' | 'coolant', dieC: number, state: Float64Array, coolantC: number): number {
  return figure === 'die' ? dieC : figure === 'plate' ? (state[PLATE] as number) : coolantC
}

/** From here on the modules' hot side stores heat of its own, beginning where it is. Whether there is one. */
function storesHot(machine: Machine, before: Network): boolean {
  if (!before.hasModules) return false
  const { y } = machine
  const grown = new Float64Array(STATE_SIZE + 1)
  grown.set(y)
  before.holdCurrent(machine.currentA)
  grown[HOT] = before.quasiHotC(y[PLATE] as number, y[COOLANT] as number)
  machine.y = grown
  return true
}

/** A bench with what is left of it, and its drive. */
interface Cooling extends Pick<Stretch, 'drive' | 'lagS'> {
  readonly bench: Bench
}

/** The bench and its drive under each load and with each fault of a course, made once. */
function coolings(prepared: PreparedBench, cornered: PreparedCorner, corner: Corner) {
  const { bench } = prepared
  const made = new Map<string, Cooling>()
  return (load: Load, faults: Faults): Cooling => {
    const isDriven = faults.driveIsOn && (isOn(load) || isDrivenOff(bench.cooler))
    const key = JSON.stringify([faults, isDriven])
    const known = made.get(key)
    if (known !== undefined) return known
    const now = faultyBench(bench, load, faults)
    const curve = now === bench ? cornered.curve : prepareCorner(prepareBench(now), corner).curve
    const cooling = {
      bench: now,
      drive: isDriven ? createDrive(now.cooler, now.profile, corner, curve) : noDrive,
      // What is switched off has no current at once.
      lagS: isDriven ? driveLagS(bench.cooler) : 0,
    }
    made.set(key, cooling)
    return cooling
  }
}
