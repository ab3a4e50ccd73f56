/** A course followed tick by tick by the reference (planning.md's *How long*, section 10), nothing kept that can be found again. */
import type { Corner } from '../../../server/model/types.ts'
import type { Chip, Ratios } from '../chip.ts'
import { dieCeilingC } from '../levels.ts'
import { Controller } from './control.ts'
import {
  type Course,
  type Doing,
  type FaultLine,
  type Faults,
  faultedBench,
  type StepLine,
  soundBench,
} from './course.ts'
import { fedBy } from './drive.ts'
import { chilledC, coreAt, type Fed, hotSide, overTick, type Temperatures, zeroC } from './network.ts'
import { begun } from './start.ts'

/** One tick's end. */
interface Tick {
  readonly timeS: number
  /** The ratios held during the tick; empty without work. */
  readonly ratios: Ratios
  readonly meanW: number
  readonly dieC: number
  readonly plateC: number
  readonly coolantC: number
  /** Of modules whose hot side stores heat; null where it follows at once. */
  readonly hotC: number | null
  /** Mean current through one module during the tick. */
  readonly currentA: number
}

interface StepEnd {
  readonly startS: number
  readonly endS: number
  readonly ended: 'time' | 'reached' | 'waited' | 'trip'
}

export interface CourseRun {
  readonly ticks: readonly Tick[]
  readonly steps: readonly StepEnd[]
  readonly tripS: number | null
}

/** A step that waits is over this near its temperature. */
const reachedWithinK = 0.1

class CourseReference {
  readonly #chip: Chip
  readonly #corner: Corner
  readonly #tickS: number
  readonly #lagS: number
  readonly #controller: Controller
  readonly #ticks: Tick[] = []
  #t: Temperatures
  #averageW: number
  #currentA: number
  #faults: Faults = soundBench
  #left: Chip
  #storesHot = false
  #fed: Fed = { i: 0, duty: 1 }

  constructor(chip: Chip, corner: Corner, start: NonNullable<ReturnType<typeof begun>>, tickS: number, lagS: number) {
    this.#chip = chip
    this.#left = chip
    this.#corner = corner
    this.#tickS = tickS
    this.#lagS = lagS
    this.#t = start.t
    this.#averageW = start.averageW
    this.#currentA = start.currentA
    this.#controller = new Controller(chip, corner, start.inForce)
  }

  get ticks(): readonly Tick[] {
    return this.#ticks
  }

  /** The temperatures of the instant, the load of before still there. */
  now(): Pick<Tick, 'dieC' | 'plateC' | 'coolantC'> {
    const dieC = this.#ticks.at(-1)?.dieC ?? this.#t.sensed
    return { dieC, plateC: this.#t.plate, coolantC: this.#coolantC() }
  }

  #coolantC(): number {
    const { bench } = this.#left
    return bench.cooler.kind === 'chilled' ? chilledC(bench, this.#t.plate) : this.#t.coolant
  }

  fail({ what, pct }: FaultLine): void {
    const { cooler } = this.#chip.bench
    if (what === 'pump' && cooler.kind === 'thermoelectric' && !this.#storesHot) {
      // Until now the hot side followed at once: it begins to store heat where it is.
      if (this.#ticks.length > 0) {
        const { plate, coolant } = this.#t
        const now = this.#left.bench.cooler
        if (now.kind === 'thermoelectric')
          this.#t = { ...this.#t, hot: hotSide(now, this.#fed, plate + zeroC, coolant + zeroC) - zeroC }
      }
      this.#storesHot = true
    }
    this.#faults = { ...this.#faults, [what]: pct }
    this.#left = { ...this.#chip, bench: faultedBench(this.#chip.bench, this.#faults) }
  }

  #feed(doing: Doing): Fed {
    const { bench } = this.#left
    const { cooler } = bench
    if (cooler.kind !== 'thermoelectric') return { i: 0, duty: 1 }
    const isDriven = this.#faults.drive > 0 && (doing.kind !== 'off' || cooler.driveWhenOff)
    if (!isDriven) {
      this.#currentA = 0
      return { i: 0, duty: 1 }
    }
    const heatW = (this.#t.die - this.#t.plate) / bench.part.packageResistanceKPerW
    const asked = fedBy(bench, this.#corner, heatW, {
      plateC: this.#t.plate,
      coolantC: this.#coolantC(),
      hotC: this.#storesHot ? this.#t.hot : undefined,
    })
    const share = this.#lagS > 0 ? 1 - Math.exp(-this.#tickS / this.#lagS) : 1
    this.#currentA += (asked.i - this.#currentA) * share
    return { i: this.#currentA, duty: asked.duty }
  }

  /** One tick of a load: the controller looks, the drive follows, the temperatures go on. */
  tick(doing: Doing): Tick {
    const ratios = this.#controller.look(doing, {
      sensedC: this.#t.sensed,
      averageW: this.#averageW,
      powerAt: at => coreAt(this.#left, doing, at, this.#t.die).powerW,
    })
    this.#fed = this.#feed(doing)
    const held = {
      chip: this.#left,
      corner: this.#corner,
      doing,
      ratios,
      fed: this.#fed,
      storesHot: this.#storesHot,
    }
    const { t, meanW } = overTick(held, this.#t, this.#tickS)
    this.#t = t
    const { sustainedOverS = 30 } = this.#chip.bench.profile.limits
    this.#averageW += (meanW - this.#averageW) * (1 - Math.exp(-this.#tickS / sustainedOverS))
    const done = {
      timeS: (this.#ticks.length + 1) * this.#tickS,
      ratios,
      meanW,
      dieC: coreAt(this.#left, doing, ratios, t.die).hottestC,
      plateC: t.plate,
      coolantC: this.#coolantC(),
      hotC: this.#storesHot ? t.hot : null,
      currentA: this.#fed.duty * this.#fed.i,
    }
    this.#ticks.push(done)
    return done
  }
}

const isReached = ({ until }: StepLine, at: Pick<Tick, 'dieC' | 'plateC' | 'coolantC'>): boolean => {
  if (!until) return false
  const now = { die: at.dieC, plate: at.plateC, coolant: at.coolantC }[until.of]
  return until.direction === 'at-most' ? now <= until.targetC + reachedWithinK : now >= until.targetC - reachedWithinK
}

/** Follows a course to its end or to a trip; undefined where what it starts from does not settle. */
export const courseRun = (
  chip: Chip,
  corner: Corner,
  course: Course,
  { tickS = 0.01, lagS = 0 }: { readonly tickS?: number; readonly lagS?: number } = {},
): CourseRun | undefined => {
  const start = begun(chip, corner, course.start)
  if (!start) return undefined
  const { part } = chip.bench
  const tripC = part.tripC ?? dieCeilingC(chip.bench) + 10
  const reference = new CourseReference(chip, corner, start, tickS, lagS)
  const steps: StepEnd[] = []
  for (const line of course.lines) {
    if (line.kind === 'fault') {
      reference.fail(line)
      continue
    }
    const from = reference.ticks.length
    const most = Math.round(line.lastsS / tickS)
    // It is looked at from the first tick on: what is there already takes no time.
    const isThere = isReached(line, reference.now())
    let ended: StepEnd['ended'] = isThere ? 'reached' : line.until ? 'waited' : 'time'
    for (let count = 0; count < most && !isThere; count++) {
      const tick = reference.tick(line.doing)
      if (tick.dieC >= tripC) ended = 'trip'
      else if (isReached(line, tick)) ended = 'reached'
      else continue
      break
    }
    steps.push({ startS: from * tickS, endS: reference.ticks.length * tickS, ended })
    if (ended === 'trip') break
  }
  const tripped = steps.at(-1)?.ended === 'trip'
  return { ticks: reference.ticks, steps, tripS: tripped ? (steps.at(-1)?.endS ?? 0) : null }
}
