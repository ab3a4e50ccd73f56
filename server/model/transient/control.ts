/**
 * The controller as it looks at the machine once a tick: each group's bands by the sensed temperature, the die ceiling
 * and the power ceiling, each moving one ratio-step at a time (model section 10).
 */

import { capLevels } from '../limits.ts'
import type { BusyGroup, PreparedBench, PreparedCorner, PreparedLoad, RatioSource } from '../prepare.ts'
import { ratioAfter, ratioStepsDown, stepRatio } from '../ratio.ts'
import { lowestRatios, sourceDown, stepsDown } from '../ratio-source.ts'
import type { BandRow, Part } from '../types.ts'

/** What lowers a group of cores. */
export interface GivenBack {
  readonly by: 'band' | 'die-limit' | 'sustained-power'
  /** Threshold of the deepest band that is in; null where it is not a band. */
  readonly aboveC: number | null
  /** The group whose band it is; undefined where all cores are alike, and for the ceilings, which are one for all. */
  readonly group: string | undefined
}

export interface Decision {
  /** Of each group that has active cores, in the part's order. The same list as before where none has changed. */
  readonly ratios: readonly number[]
  /** What holds ratios below the step; empty where nothing does. */
  readonly givenBack: readonly GivenBack[]
}

export interface Controller {
  /**
   * Looks once. Must be called once for each tick, in order.
   * @param sensedC sensed temperature
   * @param meanW the running mean power E
   * @param dieAndLidC for the power at the power ceiling's ratios
   */
  look(sensedC: number, meanW: number, dieAndLidC: number): Decision
  /** Whether no look would move anything while sensed temperature and running mean stay strictly within these. */
  isIdle(leastC: number, mostC: number, leastW: number, mostW: number): boolean
}

/** What a controller remembers from tick to tick, and from one load to the next. */
export interface ControllerState {
  /** For each group of the part and each of its band rows, whether or not it covers the count at work, whether it is in. */
  readonly bandIsIn: readonly boolean[][]
  /** Ratio-steps that the two ceilings have given back, counted from the cap of the load at work, or of the last one. */
  dieSteps: number
  powerSteps: number
  /** How many there are below that cap; 0 before any load has been at work. */
  lowest: number
  /** The sensed temperature at the look before. */
  beforeC: number
}

/** Nothing given back. */
export const freshState = ({ groups }: PreparedBench): ControllerState => ({
  bandIsIn: groups.map(({ settings }) => settings.bands.map(() => false)),
  dieSteps: 0,
  powerSteps: 0,
  lowest: 0,
  beforeC: Number.NaN,
})

/** The ratios of a load's groups before anything is given back, and how many ratio-steps there are below them. */
export function topOf(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  cornered: PreparedCorner,
): { readonly topRatios: readonly number[]; readonly lowest: number } {
  const topRatios = capLevels(prepared, loaded, cornered.curve).levels.at(0)?.ratios ?? lowestRatios(loaded)
  return { topRatios, lowest: stepsDown(loaded, topRatios) }
}

/** Bands and ceilings at one look, under whatever load. Whether any of them has moved. */
function lookOnce(
  prepared: PreparedBench,
  state: ControllerState,
  lowest: number,
  sensedC: number,
  meanW: number,
  powerAtCeiling: () => number,
): boolean {
  const { groups, ceilingC } = prepared
  const { dieSteps, powerSteps } = state
  let isMoved = false
  for (let index = 0; index < groups.length; index++) {
    const { bands, returnK } = (groups[index] as PreparedBench['groups'][number]).settings
    const isIn = state.bandIsIn[index] as boolean[]
    for (let row = 0; row < bands.length; row++) {
      const { aboveC } = bands[row] as BandRow
      if (isIn[row] ? sensedC < aboveC - returnK : sensedC >= aboveC) {
        isIn[row] = !isIn[row]
        isMoved = true
      }
    }
  }
  const sustainedW = prepared.bench.profile.limits.sustainedPowerW ?? Number.POSITIVE_INFINITY
  if (sensedC >= ceilingC) {
    if ((sensedC > state.beforeC || state.dieSteps === 0) && state.dieSteps < lowest) state.dieSteps++
  } else if (state.dieSteps > 0 && sensedC < state.beforeC) state.dieSteps--
  if (meanW >= sustainedW) {
    if (state.powerSteps < lowest && powerAtCeiling() > sustainedW) state.powerSteps++
  } else if (state.powerSteps > 0) state.powerSteps--
  state.beforeC = sensedC
  return isMoved || state.dieSteps !== dieSteps || state.powerSteps !== powerSteps
}

/** As `Controller.isIdle`: every band stays as it is, and each ceiling has nothing to take or to return. */
function isIdleWithin(
  { groups, ceilingC, bench }: PreparedBench,
  { bandIsIn, dieSteps, powerSteps }: ControllerState,
  lowest: number,
  range: readonly [leastC: number, mostC: number, leastW: number, mostW: number],
): boolean {
  const [leastC, mostC, leastW, mostW] = range
  for (let index = 0; index < groups.length; index++) {
    const { bands, returnK } = (groups[index] as PreparedBench['groups'][number]).settings
    const isIn = bandIsIn[index] as boolean[]
    for (let row = 0; row < bands.length; row++) {
      const { aboveC } = bands[row] as BandRow
      if (isIn[row] ? leastC < aboveC - returnK : mostC >= aboveC) return false
    }
  }
  const sustainedW = bench.profile.limits.sustainedPowerW ?? Number.POSITIVE_INFINITY
  const dieIsIdle = dieSteps === 0 ? mostC < ceilingC : dieSteps === lowest && leastC >= ceilingC
  const powerIsIdle = powerSteps === 0 ? mostW < sustainedW : powerSteps === lowest && leastW >= sustainedW
  return dieIsIdle && powerIsIdle
}

const atRest: Decision = { ratios: [], givenBack: [] }

/**
 * The controller while no core is at work: there is no ratio, and what was given back comes back by the same rules, still
 * counted from the cap of the last load: no ratio-step beyond its lowest can be given back.
 *
 * @param powerW what the machine draws meanwhile
 */
export function createRestingController(prepared: PreparedBench, state: ControllerState, powerW: number): Controller {
  const { lowest } = state
  return {
    look: (sensedC, meanW) => {
      lookOnce(prepared, state, lowest, sensedC, meanW, () => powerW)
      return atRest
    },
    isIdle: (...range) => isIdleWithin(prepared, state, lowest, range),
  }
}

/** A group with active cores as the controller sees it. */
interface Held {
  readonly part: Part
  readonly step: number
  readonly vectorX: number
  /** The band rows that cover its count, and their places among all. */
  readonly rows: readonly BandRow[]
  readonly places: readonly number[]
  readonly isIn: readonly boolean[]
  readonly name: string | undefined
  /** What lowers it now. */
  by: GivenBack['by'] | 'none'
  aboveC: number | null
}

function heldOf(
  { index, cores, prepared: { part, settings } }: BusyGroup,
  { load }: PreparedLoad,
  { bench }: PreparedBench,
  state: ControllerState,
): Held {
  const covering = [...settings.bands.entries()].filter(([, row]) => cores >= row.fromCores && cores <= row.toCores)
  return {
    part,
    step: stepRatio(settings, cores) ?? part.ratioLow,
    vectorX: load.vector ? settings.vectorDrop : 0,
    rows: covering.map(([, row]) => row),
    places: covering.map(([place]) => place),
    isIn: state.bandIsIn[index] ?? [],
    name: bench.part.groups?.[index]?.name,
    by: 'none',
    aboveC: null,
  }
}

/** The deepest of a group's band rows that are in. */
function deepestIn({ rows, places, isIn }: Held): BandRow | undefined {
  let deepest: BandRow | undefined
  for (let at = 0; at < rows.length; at++) {
    const row = rows[at] as BandRow
    if (isIn[places[at] as number] && (deepest === undefined || row.drop > deepest.drop)) deepest = row
  }
  return deepest
}

/** What is said of a ceiling that holds the only group at work. */
const byCeiling: Readonly<Record<Exclude<Held['by'], 'band'>, readonly GivenBack[]>> = {
  none: [],
  'die-limit': [{ by: 'die-limit', aboveC: null, group: undefined }],
  'sustained-power': [{ by: 'sustained-power', aboveC: null, group: undefined }],
}

/** What lowers any group, each thing once. */
function allGivenBack(held: readonly Held[]): readonly GivenBack[] {
  const [only, ...others] = held
  // A clock goes back and forth at a ceiling many times a second.
  if (only !== undefined && others.length === 0 && only.by !== 'band') return byCeiling[only.by]
  const found: GivenBack[] = []
  for (const { by, aboveC, name } of held) {
    if (by === 'none') continue
    const group = by === 'band' ? name : undefined
    if (!found.some(one => one.by === by && one.group === group)) found.push({ by, aboveC, group })
  }
  return found
}

/**
 * A controller of a load at work, which goes on from `state`.
 *
 * @param powerAtSource what the load draws while it is held so and die and lid are at a temperature
 */
export function createController(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  cornered: PreparedCorner,
  powerAtSource: (at: RatioSource, dieAndLidC: number) => number,
  state: ControllerState,
): Controller {
  const { topRatios, lowest } = topOf(prepared, loaded, cornered)
  state.lowest = lowest
  const held = loaded.groups.map(group => heldOf(group, loaded, prepared, state))
  const ratios = held.map(() => Number.NaN)
  let decision = atRest
  let lookedAtC = Number.NaN
  const powerAtCeiling = (): number =>
    powerAtSource(sourceDown(prepared, loaded, topRatios, state.powerSteps), lookedAtC)

  const look = (sensedC: number, meanW: number, dieAndLidC: number): Decision => {
    lookedAtC = dieAndLidC
    const isMoved = lookOnce(prepared, state, lowest, sensedC, meanW, powerAtCeiling)
    return isMoved || decision === atRest ? decide() : decision
  }
  const decide = (): Decision => {
    const { dieSteps, powerSteps } = state
    let isMoved = false
    let isOther = false
    for (let at = 0; at < held.length; at++) {
      const one = held[at] as Held
      const { part, step, vectorX } = one
      const deepest = deepestIn(one)
      const top = topRatios[at] as number
      const byBand = ratioAfter(part, step, vectorX, deepest?.drop ?? 0)
      const byDie = ratioStepsDown(part, top, dieSteps)
      const byPower = ratioStepsDown(part, top, powerSteps)
      const ratio = Math.min(top, byBand, byDie, byPower)
      const by = ratio === top ? 'none' : ratio === byDie ? 'die-limit' : ratio === byPower ? 'sustained-power' : 'band'
      const aboveC = by === 'band' ? (deepest?.aboveC ?? null) : null
      if (ratio !== ratios[at]) isMoved = true
      if (by !== one.by || aboveC !== one.aboveC) isOther = true
      ratios[at] = ratio
      one.by = by
      one.aboveC = aboveC
    }
    if (isMoved || isOther) {
      decision = {
        ratios: isMoved ? ratios.slice() : decision.ratios,
        givenBack: isOther ? allGivenBack(held) : decision.givenBack,
      }
    }
    return decision
  }
  return { look, isIdle: (...range) => isIdleWithin(prepared, state, lowest, range) }
}
