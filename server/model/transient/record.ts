/** Keeps what a transient run is asked for: the series, the events, the means and the sliding second. */

import type { Decision } from './control.ts'
import { DIE, type Network, PLATE } from './network.ts'

/** Clock and power are means since the sample before; temperatures and current are those of the instant. */
export interface Series {
  readonly timeS: number[]
  readonly clockMhz: number[]
  readonly powerW: number[]
  readonly dieC: number[]
  readonly plateC: number[]
  readonly coolantC: number[]
  readonly driveA: number[]
}

export function emptySeries(): Series {
  return { timeS: [], clockMhz: [], powerW: [], dieC: [], plateC: [], coolantC: [], driveA: [] }
}

/** Adds a sample. @param clockMhz not a number where no core was at work */
export function addSample(
  series: Series,
  timeS: number,
  { state, network }: Moment,
  clockMhz: number,
  powerW: number,
): void {
  series.timeS.push(timeS)
  series.clockMhz.push(clockMhz)
  series.powerW.push(powerW)
  series.dieC.push(network.hottestC(state[DIE] as number))
  series.plateC.push(state[PLATE] as number)
  series.coolantC.push(network.coolantC(state))
  series.driveA.push(network.driveA())
}

/** How long so many ticks take, in s: to the nanosecond, so that the third tick of 0.1 s is 0.3 s and not a trace beside it. */
export function ticksS(ticks: number, tickS: number): number {
  return Math.round(ticks * tickS * 1e9) / 1e9
}

interface TransientEvent {
  readonly timeS: number
  readonly kind: 'band' | 'die-limit' | 'sustained-power' | 'trip'
  readonly what: string
}

export interface Transient {
  readonly series: Series
  readonly events: readonly TransientEvent[]
  /** When the run ended: the time asked for, or the trip. */
  readonly endS: number
  readonly tripped: boolean
  /** First time that ratio was given back; null where it never was. */
  readonly firstDropS: number | null
  /** First time that the hottest core reached the die ceiling; null where it never did. */
  readonly dieLimitS: number | null
  /** Lowest mean clock over any full second, in MHz; the whole run where it is shorter. */
  readonly lowestSecondMhz: number
  /** When that second ended. */
  readonly lowestSecondS: number
  /** Each second that was slower than all before it: when it ended, and its mean clock in MHz. */
  readonly slowerSeconds: readonly { readonly timeS: number; readonly clockMhz: number }[]
  /** Means over the last fifth of the time asked for; null where the machine stopped before. */
  readonly late: { readonly clockMhz: number; readonly powerW: number; readonly dieC: number } | null
}

export interface Moment {
  readonly decision: Decision
  readonly bandAboveC: number | null
  readonly state: Float64Array
  readonly network: Network
}

export interface Recorder {
  start(moment: Moment): void
  /** One tick has passed at this ratio, drawing this energy, ending at this temperature. */
  tick(ratio: number, energyJ: number, hottestC: number): void
  /** Whether the tick just passed is one of the series. */
  wantsSample(): boolean
  look(moment: Moment): void
  sample(moment: Moment): void
  trip(tripC: number): void
}

/** The recorder of a load from idle. */
interface LoadRecorder extends Recorder {
  /** The slowest full second so far; infinite before the first is over. */
  lowestSecondMhz(): number
  finish(): Transient
}

export interface RecorderSetup {
  readonly referenceMhz: number
  readonly tickS: number
  readonly ticks: number
  readonly sampleTicks: number
}

export const reasons = {
  band: (above: number | null) => `ratio given back: band above ${above} °C`,
  'die-limit': () => 'ratio given back: die limit',
  'sustained-power': () => 'ratio given back: sustained power',
}

/** The sliding second that a clock is held over. */
export const WINDOW_S = 1

export function createRecorder(setup: RecorderSetup, ceilingC: number): LoadRecorder {
  const { referenceMhz, tickS, ticks, sampleTicks } = setup
  const series = emptySeries()
  const events: TransientEvent[] = []
  const seen = new Set<string>()
  const windowTicks = Math.max(1, Math.min(ticks, Math.round(WINDOW_S / tickS)))
  const ring = new Float64Array(windowTicks)
  const lateFrom = ticks - Math.max(1, Math.round(ticks / 5))
  const late = { ratio: 0, energyJ: 0, hottest: 0, ticks: 0 }
  let passed = 0
  let windowSum = 0
  let lowest = Number.POSITIVE_INFINITY
  let lowestTick = 0
  const slowerSeconds: { timeS: number; clockMhz: number }[] = []
  let sinceRatio = 0
  let sinceEnergy = 0
  let sinceTicks = 0
  let firstDropS: number | null = null
  let dieLimitS: number | null = null
  let tripped = false

  const timeOf = (ticksPassed: number): number => ticksS(ticksPassed, tickS)
  const note = (timeS: number, kind: TransientEvent['kind'], what: string): void => {
    if (seen.has(what)) return
    seen.add(what)
    events.push({ timeS, kind, what })
  }
  const look = ({ decision, bandAboveC }: Moment): void => {
    if (decision.by === 'none') return
    const timeS = timeOf(passed)
    firstDropS ??= timeS
    note(timeS, decision.by, reasons[decision.by](bandAboveC))
  }
  const push = (moment: Moment, clockMhz: number, powerW: number): void => {
    addSample(series, timeOf(passed), moment, clockMhz, powerW)
  }

  return {
    start: moment => {
      look(moment)
      push(moment, moment.decision.ratio * referenceMhz, moment.network.powerAt(moment.state[DIE] as number).powerW)
    },
    tick: (ratio, energyJ, hottestC) => {
      const slot = passed % windowTicks
      windowSum += ratio - (ring[slot] as number)
      ring[slot] = ratio
      passed++
      sinceRatio += ratio
      sinceEnergy += energyJ
      sinceTicks++
      if (passed >= windowTicks && windowSum < lowest) {
        // Sums of ratios carry rounding noise; a second that is slower by that alone is not.
        if (windowSum < lowest - 1e-6) {
          slowerSeconds.push({ timeS: timeOf(passed), clockMhz: (windowSum / windowTicks) * referenceMhz })
        }
        lowest = windowSum
        lowestTick = passed
      }
      if (passed > lateFrom) {
        late.ratio += ratio
        late.energyJ += energyJ
        late.hottest += hottestC
        late.ticks++
      }
      if (dieLimitS === null && hottestC >= ceilingC) {
        dieLimitS = timeOf(passed)
        note(dieLimitS, 'die-limit', 'die limit reached')
      }
    },
    wantsSample: () => passed % sampleTicks === 0,
    lowestSecondMhz: () => (lowest / windowTicks) * referenceMhz,
    look,
    sample: moment => {
      if (sinceTicks === 0) return
      push(moment, (sinceRatio / sinceTicks) * referenceMhz, sinceEnergy / (sinceTicks * tickS))
      sinceRatio = sinceEnergy = sinceTicks = 0
    },
    trip: tripC => {
      tripped = true
      note(timeOf(passed), 'trip', `the machine stops: trip at ${tripC} °C`)
    },
    finish: () => {
      const full = Number.isFinite(lowest)
      const { ticks: lateTicks } = late
      return {
        series,
        events,
        endS: timeOf(passed),
        tripped,
        firstDropS,
        dieLimitS,
        lowestSecondMhz: (full ? lowest / windowTicks : windowSum / Math.max(1, passed)) * referenceMhz,
        slowerSeconds,
        lowestSecondS: timeOf(full ? lowestTick : passed),
        late:
          lateTicks === 0
            ? null
            : {
                clockMhz: (late.ratio / lateTicks) * referenceMhz,
                powerW: late.energyJ / (lateTicks * tickS),
                dieC: late.hottest / lateTicks,
              },
      }
    },
  }
}
