/**
 * One load on one state of the bench, from tick to tick: the integration, the drive and the looks of the controller
 * (model section 10). What goes on to the next load is the machine's.
 */

import type { Decision } from './control.ts'
import { createExplicitStepper } from './explicit.ts'
import { createLeaps } from './leaps.ts'
import { DIE, ENERGY, HOT, PLATE, SENSED } from './network.ts'
import type { Recorder } from './record.ts'
import { createStepper, nextStep } from './rodas.ts'
import type { Machine, Stretch, StretchEnd } from './stretch.ts'

const tolerances = { relative: 1e-9, absolute: 1e-9 }
/** While nothing changes a step may span this many ticks. */
const MOST_TICKS = 2000
/** After so many ticks without a change of ratio, steps over several ticks are tried. */
const RESTING_TICKS = 12

/** A run may be left for a while after so many steps, or after so many ticks in fewer steps. */
const STEPS_A_SLICE = 64
/** What a try to leap counts for, whether it passes or not: it asks the tick, its slopes and powers of them. */
const STEPS_A_TRY = 32
const TICKS_A_SLICE = 4000

/** A current that lags is where it is heading once it is as near as this, in A. */
const LAST_LAG_A = 1e-10

/** Follows a stretch to its end. A slice takes a tenth of a millisecond, and hardly ever more than one. */
export function* followStretch(
  machine: Machine,
  stretch: Stretch,
  recorder: Recorder,
): Generator<undefined, StretchEnd, undefined> {
  const { network, controller, drive, packageKPerW, tripC, tickS, forget, ticks, setVsOf, isReached, isEnough } =
    stretch
  const { y } = machine
  const { size } = network
  const stepper = createStepper(network, tolerances)
  const explicit = createExplicitStepper(network, [ENERGY])
  const within = new Float64Array(size)
  const lagShare = stretch.lagS > 0 ? -Math.expm1(-tickS / stretch.lagS) : 1

  const hold = (decision: Decision): void => {
    network.holdRatios(decision.ratios, setVsOf(decision.ratios))
    network.holdCurrent(machine.currentA)
    stepper.restart()
  }
  const ruledA = (state: Float64Array): number => {
    const heatW = ((state[DIE] as number) - (state[PLATE] as number)) / packageKPerW
    const [plateC, coolantC] = [state[PLATE] as number, network.coolantC(state)]
    return size > HOT && drive.currentBesideA !== undefined
      ? drive.currentBesideA(heatW, plateC, coolantC, state[HOT] as number)
      : drive.currentA(heatW, plateC, coolantC)
  }
  let isThere = true
  /** The current a tick on; `isThere` says afterwards whether that is what its rule says. */
  const nextA = (state: Float64Array, currentA: number): number => {
    const wantedA = ruledA(state)
    const leftA = wantedA - currentA
    isThere = lagShare === 1 || Number.isNaN(leftA) || Math.abs(leftA) <= LAST_LAG_A
    return isThere ? wantedA : currentA + leftA * lagShare
  }
  /** Moves the current on by a tick; whether it moves at the next one too. */
  const driveOn = (): boolean => {
    machine.currentA = nextA(y, machine.currentA)
    return drive.isMoving || !isThere
  }

  /** Steps a state exactly `span` s on, in as many parts as the tolerance asks. Returns the step it would take next. */
  const advance = (state: Float64Array, span: number): number => {
    let done = 0
    let h = span
    while (done < span) {
      const last = h >= span - done
      if (last) h = span - done
      const error = stepper.tryStep(state, h)
      if (error <= 1) {
        state.set(stepper.end)
        done = last ? span : done + h
        h = nextStep(h, error)
      } else {
        const next = nextStep(h, error)
        if (!(next > 1e-12)) {
          // Past any temperature a bench can reach the numbers themselves end; the machine has stopped long before.
          state[DIE] = Number.NaN
          return span
        }
        h = next
      }
    }
    return h
  }

  let tick = 0
  let decision = controller.look(y[SENSED] as number, machine.meanW, y[DIE] as number)
  let everyTick = driveOn()
  hold(decision)
  const suitsExplicit = explicit.suits(y, tickS)
  recorder.start({ decision, state: y, network })
  const step = (state: Float64Array): number => {
    state[ENERGY] = 0
    if (!suitsExplicit) {
      if (everyTick) stepper.restart()
      return advance(state, tickS)
    }
    explicit.step(state, tickS)
    return tickS
  }
  const leaps = createLeaps(stretch, {
    step,
    nextA,
    isMoving: () => everyTick,
    passed: (count, energyJ, hottestSumC) => {
      recorder.pass(count, decision.ratios, energyJ, hottestSumC)
      recorder.watch?.(y, machine.hottestC)
    },
  })
  let free = tickS
  let quiet = 0
  let steps = 0
  let sliceTick = 0
  while (tick < ticks && isEnough?.() !== true) {
    if (++steps >= STEPS_A_SLICE || tick - sliceTick >= TICKS_A_SLICE) {
      yield
      steps = 0
      sliceTick = tick
    }
    // The last tick is looked at by itself: another may look there.
    const isTried = leaps.suits(quiet)
    if (isTried) steps += STEPS_A_TRY
    const leapt = isTried ? leaps.from(machine, ticks - tick - 1) : 0
    for (let left = leapt; left > 0; ) {
      const count = Math.min(left, recorder.mostAtOnce())
      left -= count
      leaps.pass(machine, count)
      if (left > 0 && recorder.wantsSample()) recorder.sample({ state: y, network })
    }
    if (leapt > 0) {
      tick += leapt
      quiet += leapt
      free = Math.max(free, leapt * tickS)
      controller.look(y[SENSED] as number, machine.meanW, y[DIE] as number)
      if (recorder.wantsSample()) recorder.sample({ state: y, network })
      continue
    }
    y[ENERGY] = 0
    const wanted = everyTick ? 1 : Math.min(MOST_TICKS, ticks - tick, Math.max(1, Math.floor(free / tickS)))
    const span = wanted * tickS
    const error = wanted === 1 ? Number.NaN : stepper.tryStep(y, span)
    if (wanted > 1 && !(error <= 1)) {
      free = Math.max(tickS, Math.min(span / 2, nextStep(span, error)))
      continue
    }
    let passed = wanted
    let next = decision
    let trips = false
    let reached = false
    let ends = false
    if (wanted > 1) {
      // All ticks inside the step are looked at on the continuous solution; the first that changes the ratio ends it.
      stepper.prepareDense(y)
      let energy = 0
      for (let inside = 1; inside <= wanted; inside++) {
        const s = inside / wanted
        const drawn = stepper.at(ENERGY, s)
        machine.meanW += ((drawn - energy) / tickS - machine.meanW) * forget
        const dieC = stepper.at(DIE, s)
        const hottestC = network.hottestC(dieC)
        machine.hottestC = hottestC
        recorder.tick(decision.ratios, drawn - energy, hottestC)
        energy = drawn
        trips = !(hottestC < tripC)
        if (isReached !== undefined) {
          for (let index = 0; index < size; index++) within[index] = stepper.at(index, s)
          recorder.watch?.(within, hottestC)
          reached = isReached(within, hottestC)
          ends = reached || tick + inside === ticks
        }
        if (!ends) next = controller.look(stepper.at(SENSED, s), machine.meanW, dieC)
        if (next.ratios !== decision.ratios || trips || ends) {
          passed = inside
          break
        }
        if (inside < wanted && recorder.wantsSample()) {
          for (let index = 0; index < size; index++) within[index] = stepper.at(index, s)
          recorder.sample({ state: within, network })
        }
      }
      if (passed === wanted) y.set(stepper.end)
      else advance(y, passed * tickS)
      quiet += passed
      free = nextStep(span, error)
    } else {
      free = step(y)
      quiet++
      // Long steps pay only once the controller has come to rest.
      if (suitsExplicit) free = quiet < RESTING_TICKS ? tickS : quiet * tickS
      const drawn = y[ENERGY] as number
      machine.meanW += (drawn / tickS - machine.meanW) * forget
      const hottestC = network.hottestC(y[DIE] as number)
      machine.hottestC = hottestC
      recorder.tick(decision.ratios, drawn, hottestC)
      trips = !(hottestC < tripC)
      if (isReached !== undefined) {
        recorder.watch?.(y, hottestC)
        reached = isReached(y, hottestC)
        ends = reached || tick + 1 === ticks
      }
      if (!ends) next = controller.look(y[SENSED] as number, machine.meanW, y[DIE] as number)
    }
    tick += passed
    if (trips) {
      recorder.trip(tripC)
      if (Number.isFinite(y[DIE])) recorder.sample({ state: y, network })
      return 'trip'
    }
    if (ends) {
      return reached ? 'reached' : 'time'
    }
    const moves = everyTick
    if (moves) everyTick = driveOn()
    const changed = next.ratios !== decision.ratios
    if (changed) {
      free = tickS
      quiet = 0
    }
    decision = next
    if (changed) hold(decision)
    else if (moves) network.holdCurrent(machine.currentA)
    recorder.look(decision)
    if (recorder.wantsSample() || tick === ticks) recorder.sample({ state: y, network })
  }
  return 'time'
}
