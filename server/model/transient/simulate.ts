/** A load from the moment it starts on an idle bench: clock, power and temperatures over time (model section 10). */

import { createDrive } from '../cooler/index.ts'
import { prepareBench, prepareCorner, prepareLoad, ratioSource, type WorkLoad } from '../prepare.ts'
import { settle } from '../settle.ts'
import { finished } from '../slices.ts'
import type { Bench, Corner } from '../types.ts'
import { createController, type Decision } from './control.ts'
import { createExplicitStepper } from './explicit.ts'
import { COOLANT, createNetwork, DIE, ENERGY, PLATE, SENSED, STATE_SIZE } from './network.ts'
import { createRecorder, type Transient } from './record.ts'
import { createStepper, nextStep } from './rodas.ts'

export interface TransientOptions {
  /** How long to look, in s. */
  readonly overS: number
  /** How often the controller looks; 10 ms unless said otherwise. */
  readonly tickS?: number
  /** Distance of the samples of the series; 1 s unless said otherwise. */
  readonly sampleS?: number
}

const DEFAULT_TICK_S = 0.01
const DEFAULT_SAMPLE_S = 1

const tolerances = { relative: 1e-9, absolute: 1e-9 }
/** While nothing changes a step may span this many ticks. */
const MOST_TICKS = 2000
/** After so many ticks without a change of ratio, steps over several ticks are tried. */
const RESTING_TICKS = 12

/** A run may be left for a while after so many steps, or after so many ticks in fewer steps. */
const STEPS_A_SLICE = 64
const TICKS_A_SLICE = 4000

/**
 * Follows a load from steady idle.
 * @returns undefined where no step row covers the load's active cores, or where idle itself has no steady state
 */
export function simulate(
  bench: Bench,
  load: WorkLoad,
  corner: Corner,
  options: TransientOptions,
): Transient | undefined {
  return finished(simulateInSlices(bench, load, corner, options))
}

/** As `simulate`, for those who have something else to do meanwhile: each slice takes well below a millisecond. */
export function* simulateInSlices(
  bench: Bench,
  load: WorkLoad,
  corner: Corner,
  options: TransientOptions,
): Generator<undefined, Transient | undefined, undefined> {
  const prepared = prepareBench(bench)
  const cornered = prepareCorner(prepared, corner)
  const loaded = prepareLoad(prepared, load)
  const idle = settle(bench, { kind: 'idle' }, corner)
  if (loaded.levels.length === 0 || idle === null || idle.dieC === null || idle.plateC === null) return undefined
  const tickS = options.tickS ?? DEFAULT_TICK_S
  const ticks = Math.max(1, Math.round(options.overS / tickS))
  const network = createNetwork(bench, load, corner)
  const probe = createNetwork(bench, load, corner)
  const setVOf = (ratio: number): number => ratioSource(prepared, loaded, [ratio]).setV
  const powerAtRatio = (ratio: number, dieAndLidC: number): number => {
    probe.holdRatio(ratio, setVOf(ratio))
    return probe.powerAt(dieAndLidC).powerW
  }
  const controller = createController(prepared, loaded, cornered, powerAtRatio)
  const stepper = createStepper(network, tolerances)
  const explicit = createExplicitStepper(network, [ENERGY])
  const drive = createDrive(bench.cooler, bench.profile, corner, cornered.curve)
  const tripC = bench.part.tripC ?? prepared.ceilingC + 10
  const overS = bench.profile.limits.sustainedOverS ?? 30
  const forget = -Math.expm1(-tickS / overS)
  const everyTick = drive.isMoving
  const packageKPerW = bench.part.packageResistanceKPerW

  const y = new Float64Array(STATE_SIZE)
  const within = new Float64Array(STATE_SIZE)
  y[DIE] = idle.dieC
  y[PLATE] = idle.plateC
  y[COOLANT] = idle.coolantC ?? idle.plateC
  y[SENSED] = idle.dieC
  let meanW = bench.part.idlePowerW
  const start = {
    referenceMhz: bench.part.referenceGhz * 1000,
    tickS,
    ticks,
    sampleTicks: Math.max(1, Math.round((options.sampleS ?? DEFAULT_SAMPLE_S) / tickS)),
  }
  const recorder = createRecorder(start, prepared.ceilingC)

  const hold = (decision: Decision, currentA: number): void => {
    network.holdRatio(decision.ratio, setVOf(decision.ratio))
    network.holdCurrent(currentA)
    stepper.restart()
  }
  const currentNow = (): number =>
    drive.currentA(((y[DIE] as number) - (y[PLATE] as number)) / packageKPerW, y[PLATE] as number, network.coolantC(y))

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
  let decision = controller.look(y[SENSED] as number, meanW, y[DIE] as number)
  let currentA = currentNow()
  hold(decision, currentA)
  const suitsExplicit = explicit.suits(y, tickS)
  recorder.start({ decision, bandAboveC: controller.bandAboveC(), state: y, network })
  let free = tickS
  let quiet = 0
  let steps = 0
  let sliceTick = 0
  while (tick < ticks) {
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
    if (wanted > 1) {
      // All ticks inside the step are looked at on the continuous solution; the first that changes the ratio ends it.
      stepper.prepareDense(y)
      let energy = 0
      for (let inside = 1; inside <= wanted; inside++) {
        const s = inside / wanted
        const drawn = stepper.at(ENERGY, s)
        meanW += ((drawn - energy) / tickS - meanW) * forget
        const dieC = stepper.at(DIE, s)
        next = controller.look(stepper.at(SENSED, s), meanW, dieC)
        const hottestC = network.hottestC(dieC)
        recorder.tick(decision.ratio, drawn - energy, hottestC)
        energy = drawn
        trips = !(hottestC < tripC)
        if (next.ratio !== decision.ratio || trips) {
          passed = inside
          break
        }
        if (inside < wanted && recorder.wantsSample()) {
          for (let index = 0; index < STATE_SIZE; index++) within[index] = stepper.at(index, s)
          recorder.sample({ decision, bandAboveC: controller.bandAboveC(), state: within, network })
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
      meanW += (drawn / tickS - meanW) * forget
      next = controller.look(y[SENSED] as number, meanW, y[DIE] as number)
      const hottestC = network.hottestC(y[DIE] as number)
      recorder.tick(decision.ratio, drawn, hottestC)
      trips = !(hottestC < tripC)
    }
    tick += passed
    if (trips) {
      recorder.trip(tripC)
      if (Number.isFinite(y[DIE])) recorder.sample({ decision, bandAboveC: null, state: y, network })
      break
    }
    if (everyTick) currentA = currentNow()
    const changed = next.ratio !== decision.ratio
    if (changed) {
      free = tickS
      quiet = 0
    }
    decision = next
    if (changed || everyTick) hold(decision, currentA)
    const now = { decision, bandAboveC: controller.bandAboveC(), state: y, network }
    recorder.look(now)
    if (recorder.wantsSample() || tick === ticks) recorder.sample(now)
  }
  return recorder.finish()
}
