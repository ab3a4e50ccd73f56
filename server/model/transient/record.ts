/** Keeps what a transient run is asked for: the series, the events, the means and the sliding second. */

import { type ClockOverTime, type ClockSetup, createClock, lateFrom, type RunClock, timeOf } from './clock.ts'
import type { Decision, GivenBack } from './control.ts'
import { DIE, type Network, PLATE } from './network.ts'

/** The clock of one group of cores over time. */
interface GroupSeries {
  readonly group: string
  /** Not a number while it is idle. */
  readonly clockMhz: number[]
}

/** Clock and power are means since the sample before; temperatures and current are those of the instant. */
export interface Series {
  readonly timeS: number[]
  /** Of the first group that has active cores. */
  readonly clockMhz: number[]
  readonly powerW: number[]
  readonly dieC: number[]
  readonly plateC: number[]
  readonly coolantC: number[]
  readonly driveA: number[]
  /** In the part's order; absent where all cores are alike. */
  readonly groups?: readonly GroupSeries[]
}

/** Nothing measured yet. @param groups names of the part's groups; absent where all cores are alike */
export function emptySeries(groups: readonly string[] | undefined): Series {
  const figures = { timeS: [], clockMhz: [], powerW: [], dieC: [], plateC: [], coolantC: [], driveA: [] }
  return groups === undefined ? figures : { ...figures, groups: groups.map(group => ({ group, clockMhz: [] })) }
}

/** Adds a sample, but for the clocks of groups. @param clockMhz not a number where no core was at work */
export function addSample(
  series: Series,
  timeS: number,
  { state, network }: Place,
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

interface TransientEvent {
  readonly timeS: number
  readonly kind: 'band' | 'die-limit' | 'sustained-power' | 'trip'
  readonly what: string
}

/** What a run comes to for one of several groups of cores. */
interface TransientGroup extends ClockOverTime {
  readonly group: string
  /** Mean over the last fifth of the time asked for; null where the machine stopped before. */
  readonly lateMhz: number | null
}

/** Clocks are those of the first group that has active cores. */
export interface Transient extends ClockOverTime {
  readonly series: Series
  readonly events: readonly TransientEvent[]
  /** When the run ended: the time asked for, or the trip. */
  readonly endS: number
  readonly tripped: boolean
  /** First time that ratio was given back; null where it never was. */
  readonly firstDropS: number | null
  /** First time that the hottest core reached the die ceiling; null where it never did. */
  readonly dieLimitS: number | null
  /** Means over the last fifth of the time asked for; null where the machine stopped before. */
  readonly late: { readonly clockMhz: number; readonly powerW: number; readonly dieC: number } | null
  /** The groups that have active cores, in the part's order; absent where all cores are alike. */
  readonly groups?: readonly TransientGroup[]
}

/** The machine at an instant. */
export interface Place {
  readonly state: Float64Array
  readonly network: Network
}

interface Moment extends Place {
  readonly decision: Decision
}

export interface Recorder {
  start(moment: Moment): void
  /** One tick has passed at these ratios, drawing this energy, ending at this temperature. */
  tick(ratios: readonly number[], energyJ: number, hottestC: number): void
  /** Several ticks have passed at these ratios, without an event; `hottestSumC` is the sum of the hottest core over them. */
  pass(count: number, ratios: readonly number[], energyJ: number, hottestSumC: number): void
  /** At most so many ticks may pass at once. */
  mostAtOnce(): number
  /** Looks at the figures after the tick just passed, where what passes at one is kept. */
  watch?(state: Float64Array, hottestC: number): void
  /** Whether the tick just passed is one of the series. */
  wantsSample(): boolean
  /** The controller has looked. */
  look(decision: Decision): void
  sample(place: Place): void
  trip(tripC: number): void
}

/** The recorder of a load from idle. */
interface LoadRecorder extends Recorder {
  /** The slowest full second so far; infinite before the first is over. @param group undefined: the first that is busy */
  lowestSecondMhz(group?: string): number
  finish(): Transient
}

export interface RecorderSetup extends ClockSetup {
  readonly sampleTicks: number
  /** Names of the part's groups in its order; absent where all cores are alike. */
  readonly groups: readonly string[] | undefined
  /** Which of them have active cores. */
  readonly busy: readonly number[]
}

const reasons = {
  band: (above: number | null) => `band above ${above} °C`,
  'die-limit': () => 'die limit',
  'sustained-power': () => 'sustained power',
}

/** What happens when a ratio is given back, in words. */
export function givenBackText({ by, aboveC, group }: GivenBack): string {
  return `ratio ${group === undefined ? '' : `of ${group} `}given back: ${reasons[by](aboveC)}`
}

export function createRecorder(setup: RecorderSetup, ceilingC: number): LoadRecorder {
  const { referenceMhz, tickS, ticks, sampleTicks, groups: names, busy } = setup
  const series = emptySeries(names)
  const events: TransientEvent[] = []
  const seen = new Set<string>()
  const clocks = busy.map(() => createClock(setup))
  const first = clocks[0] as RunClock
  const from = lateFrom(ticks)
  const late = { energyJ: 0, hottest: 0, ticks: 0 }
  let passed = 0
  let sinceEnergy = 0
  let sinceTicks = 0
  let firstDropS: number | null = null
  let dieLimitS: number | null = null
  let tripped = false
  let noted: readonly GivenBack[] | undefined

  const note = (timeS: number, kind: TransientEvent['kind'], what: string): void => {
    if (seen.has(what)) return
    seen.add(what)
    events.push({ timeS, kind, what })
  }
  const look = (decision: Decision): void => {
    const { givenBack } = decision
    if (givenBack.length === 0 || givenBack === noted) return
    noted = givenBack
    for (const why of givenBack) {
      const timeS = timeOf(passed, tickS)
      firstDropS ??= timeS
      note(timeS, why.by, givenBackText(why))
    }
  }
  /** @param clocksMhz of the groups that have active cores */
  const push = (place: Place, clocksMhz: readonly number[], powerW: number): void => {
    addSample(series, timeOf(passed, tickS), place, clocksMhz[0] as number, powerW)
    for (const [index, { clockMhz }] of (series.groups ?? []).entries()) {
      clockMhz.push(clocksMhz[busy.indexOf(index)] ?? Number.NaN)
    }
  }
  const ofGroups = (): readonly TransientGroup[] =>
    busy.map((index, at) => {
      const clock = clocks[at] as RunClock
      const lateMhz = late.ticks === 0 ? null : clock.lateMhz()
      return { group: names?.[index] ?? '', ...clock.finish(), lateMhz }
    })

  return {
    start: moment => {
      const { decision, network, state } = moment
      look(decision)
      const { powerW } = network.powerAt(state[DIE] as number)
      push(
        moment,
        decision.ratios.map(ratio => ratio * referenceMhz),
        powerW,
      )
    },
    tick: (ratios, energyJ, hottestC) => {
      for (let at = 0; at < clocks.length; at++) (clocks[at] as RunClock).tick(ratios[at] as number)
      passed++
      sinceEnergy += energyJ
      sinceTicks++
      if (passed > from) {
        late.energyJ += energyJ
        late.hottest += hottestC
        late.ticks++
      }
      if (dieLimitS === null && hottestC >= ceilingC) {
        dieLimitS = timeOf(passed, tickS)
        note(dieLimitS, 'die-limit', 'die limit reached')
      }
    },
    pass: (count, ratios, energyJ, hottestSumC) => {
      for (let at = 0; at < clocks.length; at++) (clocks[at] as RunClock).pass(ratios[at] as number, count)
      sinceEnergy += energyJ
      sinceTicks += count
      if (passed >= from) {
        late.energyJ += energyJ
        late.hottest += hottestSumC
        late.ticks += count
      }
      passed += count
    },
    mostAtOnce: () => Math.min(sampleTicks - (passed % sampleTicks), passed < from ? from - passed : sampleTicks),
    wantsSample: () => passed % sampleTicks === 0,
    lowestSecondMhz: group => {
      const at = group === undefined ? 0 : busy.findIndex(index => names?.[index] === group)
      return clocks[at]?.lowestSecondMhz() ?? Number.POSITIVE_INFINITY
    },
    look,
    sample: place => {
      if (sinceTicks === 0) return
      push(
        place,
        clocks.map(clock => clock.sinceMhz()),
        sinceEnergy / (sinceTicks * tickS),
      )
      sinceEnergy = sinceTicks = 0
    },
    trip: tripC => {
      tripped = true
      note(timeOf(passed, tickS), 'trip', `the machine stops: trip at ${tripC} °C`)
    },
    finish: () => {
      const { ticks: lateTicks } = late
      return {
        series,
        events,
        endS: timeOf(passed, tickS),
        tripped,
        firstDropS,
        dieLimitS,
        ...first.finish(),
        late:
          lateTicks === 0
            ? null
            : {
                clockMhz: first.lateMhz(),
                powerW: late.energyJ / (lateTicks * tickS),
                dieC: late.hottest / lateTicks,
              },
        ...(names === undefined ? {} : { groups: ofGroups() }),
      }
    },
  }
}
