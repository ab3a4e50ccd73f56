/**
 * One load on one state of the bench, from tick to tick: the integration, the drive and the looks of the controller
 * (model section 10). What goes on to the next load is the machine's.
 */

import type { DriveRule } from '../cooler/kind.ts'
import type { Controller, Decision } from './control.ts'
import { createExplicitStepper } from './explicit.ts'
import { DIE, ENERGY, HOT, type Network, PLATE, SENSED } from './network.ts'
import type { Recorder } from './record.ts'
import { createStepper, nextStep } from './rodas.ts'

const tolerances = { relative: 1e-9, absolute: 1e-9 }
/** While nothing changes a step may span this many ticks. */
const MOST_TICKS = 2000
/** After so many ticks without a change of ratio, steps over several ticks are tried. */
const RESTING_TICKS = 12

/** A run may be left for a while after so many steps, or after so many ticks in fewer steps. */
const STEPS_A_SLICE = 64
const TICKS_A_SLICE = 4000

/** A current that lags is where it is heading once it is as near as this, in A. */
const LAST_LAG_A = 1e-10

/** What goes on from one load to the next. */
export interface Machine {
  /** The states of the network; one more once the hot side stores heat. */
  y: Float64Array
  /** The running mean power E. */
  meanW: number
  /** Current through the modules; not a number where it is yet what its rule says. */
  currentA: number
}

/** One load on one state of the bench. */
export interface Stretch {
  readonly network: Network
  readonly controller: Controller
  readonly drive: DriveRule
  /** How slowly the current follows its rule, in s; 0 where at once. */
  readonly lagS: number
  readonly packageKPerW: number
  readonly tripC: number
  readonly tickS: number
  /** Share of the way that the running mean goes to a tick's own mean power. */
  readonly forget: number
  /** At most so many ticks. */
  readonly ticks: number
  /** Set voltage of each supply rail at the ratios of the groups that have active cores. */
  readonly setVsOf: (ratios: readonly number[]) => ArrayLike<number>
  /**
   * Asked at every tick after the first; true ends the stretch there. Where it is given the controller does not look at
   * the last tick: the next stretch does.
   */
  readonly isReached?: (state: Float64Array, hottestC: number) => boolean
  /** Asked between steps; true leaves the stretch there, because what comes after it is not asked for. */
  readonly isEnough?: () => boolean
}

export type StretchEnd = 'time' | 'reached' | 'trip'

/** Follows a stretch to its end. Each slice takes well below a millisecond. */
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
  const ruledA = (): number => {
    const heatW = ((y[DIE] as number) - (y[PLATE] as number)) / packageKPerW
    const [plateC, coolantC] = [y[PLATE] as number, network.coolantC(y)]
    return size > HOT && drive.currentBesideA !== undefined
      ? drive.currentBesideA(heatW, plateC, coolantC, y[HOT] as number)
      : drive.currentA(heatW, plateC, coolantC)
  }
  /** Moves the current on by a tick; whether it moves at the next one too. */
  const driveOn = (): boolean => {
    const wantedA = ruledA()
    const leftA = wantedA - machine.currentA
    const isThere = lagShare === 1 || Number.isNaN(leftA) || Math.abs(leftA) <= LAST_LAG_A
    machine.currentA = isThere ? wantedA : machine.currentA + leftA * lagShare
    return drive.isMoving || !isThere
  }

  /** Steps exactly `span` s on, in as many parts as the tolerance asks. Returns the step it would take next. */
  const advance = (span: number): number => {
    let done = 0
    let h = span
    while (done < span) {
      const last = h >= span - done
      if (last) h = span - done
      const error = stepper.tryStep(y, h)
      if (error <= 1) {
        y.set(stepper.end)
        done = last ? span : done + h
        h = nextStep(h, error)
      } else {
        const next = nextStep(h, error)
        if (!(next > 1e-12)) {
          // Past any temperature a bench can reach the numbers themselves end; the machine has stopped long before.
          y[DIE] = Number.NaN
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
        recorder.tick(decision.ratios, drawn - energy, hottestC)
        energy = drawn
        trips = !(hottestC < tripC)
        if (isReached !== undefined) {
          for (let index = 0; index < size; index++) within[index] = stepper.at(index, s)
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
      else advance(passed * tickS)
      free = nextStep(span, error)
    } else {
      if (suitsExplicit) {
        explicit.step(y, tickS)
        // Long steps pay only once the controller has come to rest.
        quiet++
        free = quiet < RESTING_TICKS ? tickS : quiet * tickS
      } else free = advance(tickS)
      const drawn = y[ENERGY] as number
      machine.meanW += (drawn / tickS - machine.meanW) * forget
      const hottestC = network.hottestC(y[DIE] as number)
      recorder.tick(decision.ratios, drawn, hottestC)
      trips = !(hottestC < tripC)
      if (isReached !== undefined) {
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
    if (changed || moves) hold(decision)
    recorder.look(decision)
    if (recorder.wantsSample() || tick === ticks) recorder.sample({ state: y, network })
  }
  return 'time'
}
