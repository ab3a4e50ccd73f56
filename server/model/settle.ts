/** The façade of the steady-state model: what one load settles at on one bench in one corner. */

import { lowestRoot, rhsSlope } from './balance.ts'
import { emptyPoint } from './cooler/curve.ts'
import { type CoolerFigures, type CoolerNotes, unnoted } from './cooler/kind.ts'
import { groupSettings } from './groups.ts'
import { type Settlement, walkLadder } from './ladder.ts'
import { capLevels, type KeptLimits, sustainedMean } from './limits.ts'
import { isWork, restPowerW } from './loads.ts'
import { marginW } from './margin.ts'
import { meanPoint, pointAt } from './point.ts'
import {
  type BusyGroup,
  type PreparedBench,
  type PreparedCorner,
  type PreparedLoad,
  prepareBench,
  prepareCorner,
  prepareLoad,
  prepareOnce,
  type RatioSource,
  type WorkLoad,
} from './prepare.ts'
import type { Levels } from './ratio.ts'
import { lowestRatios, ratioSource } from './ratio-source.ts'
import { groupNotes, groupsWithout, settledGroups } from './settled-groups.ts'
import { constantSource, emptyHeat, type HeatSource, heatOf, mixedSource } from './source.ts'
import type {
  Bench,
  Corner,
  Limiter,
  Load,
  Profile,
  Settled,
  SettledFigures,
  SettledNotes,
  SettledState,
  State,
  VoltageNote,
} from './types.ts'
import { isAboveRows, needVoltageV } from './voltage.ts'

/**
 * What a load settles at (model sections 1 to 9).
 *
 * Benches and loads are taken as values that do not change after they were made: what can be prepared of them
 * is kept by identity and goes when they are collected.
 *
 * @returns null where no step row covers the load's active cores, so that it has no ratio
 */
export function settle(bench: Bench, load: Load, corner: Corner): Settled | null {
  const found = settleHeat(prepareBench(bench), load, corner)
  if (found === null) return null
  // The figures are this call's own; a copy of them would take as long as a tenth of the rest.
  const settled = found.figures as Mutable<Settled>
  settled.notes = found.notes()
  settled.marginW = found.marginW()
  return settled
}

/** As `settle`, for those who do not ask for the margin. */
export function settleState(bench: Bench, load: Load, corner: Corner): SettledState | null {
  const found = settleHeat(prepareBench(bench), load, corner)
  return found === null ? null : { ...found.figures, notes: found.notes() }
}

/** Benches that are asked about once each, in one corner. */
export interface SettlingOnce {
  /** Figures and the margin. */
  withMargin(bench: Bench, load: Load): (SettledFigures & Pick<Settled, 'marginW'>) | null
  /** Figures alone. */
  withoutMargin(bench: Bench, load: Load): SettledFigures | null
}

/**
 * As `settle`, for many benches that are asked about once each, as draws are: nothing is kept of a bench but its cooler in
 * the corner, for the next one with that very cooler and profile.
 */
export function settlingOnce(corner: Corner): SettlingOnce {
  let before: PreparedBench | undefined
  const found = (bench: Bench, load: Load): SettledInParts | null => {
    const isAlike = before?.bench.cooler === bench.cooler && before.bench.profile === bench.profile
    before = prepareOnce(bench, isAlike ? before?.corners : [])
    return settleHeat(before, load, corner)
  }
  return {
    withMargin: (bench, load) => {
      const one = found(bench, load)
      return one === null ? null : { ...one.figures, marginW: one.marginW() }
    },
    withoutMargin: (bench, load) => found(bench, load)?.figures ?? null,
  }
}

/** What of a profile a search for steps and bands changes. */
export type Ladder = Pick<Profile, 'steps' | 'bands' | 'returnK' | 'groups'>

/**
 * As `settle`, for profiles that differ from one in steps, bands and `return` alone, its groups' among them: what the cooler
 * does in a corner, what a load draws at a ratio, and what the limits let it run are found once.
 */
export function settlingLadders(
  bench: Bench,
): (ladder: Ladder, load: WorkLoad, corner: Corner) => SettledInParts | null {
  const prepared = prepareBench(bench)
  /** Evicted with the load. */
  const known = new WeakMap<
    WorkLoad,
    Pick<PreparedLoad, 'byRatio' | 'bySeveral'> & { readonly limits: LimitsByCorner }
  >()
  return (ladder, load, corner) => {
    const own = { ...bench, profile: { ...bench.profile, ...ladder } }
    const { byRatio, bySeveral, limits } = known.get(load) ?? { byRatio: new Map(), bySeveral: [], limits: new Map() }
    known.set(load, { byRatio, bySeveral, limits })
    const place = `${corner.airC} ${corner.humidityPct}`
    const kept = limits.get(place) ?? { caps: new Map(), means: new Map() }
    limits.set(place, kept)
    const groups = prepared.groups.map((group, index) => ({ ...group, settings: groupSettings(own.profile, index) }))
    const corners = [prepareCorner(prepared, corner)]
    const like: PreparedBench = { ...prepared, bench: own, groups, loads: [], nextLoad: 0, corners, nextCorner: 1 }
    like.loads[0] = { ...prepareLoad(like, load), byRatio, bySeveral }
    return settleHeat(like, load, corner, kept)
  }
}

type LimitsByCorner = Map<string, KeptLimits>

type Mutable<T> = { -readonly [Key in keyof T]: T[Key] }

/** A settled load whose notes and margin are found when they are asked for. */
export interface SettledInParts {
  readonly figures: SettledFigures
  readonly notes: () => SettledNotes
  readonly marginW: () => number | null
}

function settleHeat(prepared: PreparedBench, load: Load, corner: Corner, kept?: KeptLimits): SettledInParts | null {
  const { bench } = prepared
  const cornered = prepareCorner(prepared, corner)
  cornered.curve.begin()
  if (!isWork(load)) {
    return settleConstant(prepared, cornered, restPowerW(load, bench.part))
  }
  const loaded = prepareLoad(prepared, load)
  const first = loaded.ladder.at(0)
  if (first === undefined) return null
  let needsShort = false
  for (let at = 0; at < loaded.groups.length; at++) {
    const { needs } = (loaded.groups[at] as BusyGroup).prepared.part
    if (isAboveRows(needs, first.ratios[at] as number)) needsShort = true
  }
  const capped = capLevels(prepared, loaded, cornered.curve, kept)
  const settlement = walkLadder(cornered.curve, capped.levels, ratios => ratioSource(prepared, loaded, ratios).source)
  const flags = { needsShort, currentOver: capped.isOver, sustainedOver: false }
  let held = holdLadder(prepared, loaded, settlement)
  const sustainedW = bench.profile.limits.sustainedPowerW
  if (sustainedW !== undefined && !(held.state !== 'runaway' && meanPower(held) <= sustainedW)) {
    const capRatios = capped.levels.at(0)?.ratios ?? first.ratios
    const mean = sustainedMean(prepared, loaded, cornered.curve, capRatios, sustainedW, kept)
    flags.sustainedOver = mean === undefined
    held =
      mean === undefined
        ? holdLowest(prepared, loaded, cornered)
        : { state: 'alternating', limiter: 'sustained-power', ...mean, thresholdC: null }
  }
  return held.state === 'runaway'
    ? nothingSteady(cornered, held.limiter, flags, groupsWithout(prepared, loaded))
    : describe(prepared, loaded, cornered, flags, held, capped.levels)
}

/** No steady state, and what the ladder ended with. */
interface RunAway {
  readonly state: 'runaway'
  readonly limiter: Limiter
}

/** A settled clock: at one ratio (`fast` and `slow` the same, share 1) or between two. */
interface Held {
  readonly state: Exclude<State, 'runaway'>
  readonly limiter: Limiter
  readonly fast: RatioSource
  readonly slow: RatioSource
  readonly dieC: number
  readonly shareFast: number
  readonly thresholdC: number | null
}

type Flags = Pick<SettledNotes, 'needsShort' | 'currentOver' | 'sustainedOver'>

function holdLadder(prepared: PreparedBench, loaded: PreparedLoad, settlement: Settlement): Held | RunAway {
  if (settlement.kind === 'runaway') return { state: 'runaway', limiter: settlement.level.limiter }
  const { dieC } = settlement
  if (settlement.kind === 'single') {
    const { level } = settlement
    const at = ratioSource(prepared, loaded, level.ratios)
    const below = level.limiter === 'die-limit' ? 'throttled' : 'steady'
    const state = dieC < prepared.ceilingC ? below : 'over-limit'
    return { state, limiter: level.limiter, fast: at, slow: at, dieC, shareFast: 1, thresholdC: null }
  }
  const { fast, slow, thresholdC, shareFast } = settlement
  const throttled = thresholdC >= prepared.ceilingC
  return {
    state: throttled ? 'throttled' : 'alternating',
    limiter: throttled ? 'die-limit' : slow.limiter,
    fast: ratioSource(prepared, loaded, fast.ratios),
    slow: ratioSource(prepared, loaded, slow.ratios),
    dieC,
    shareFast,
    thresholdC,
  }
}

/** Where no ratio keeps the sustained power the part gives back all it can, and stays there (section 8). */
function holdLowest(prepared: PreparedBench, loaded: PreparedLoad, cornered: PreparedCorner): Held | RunAway {
  const limiter = 'sustained-power'
  const at = ratioSource(prepared, loaded, lowestRatios(loaded))
  const dieC = lowestRoot(at.source, cornered.curve, 0)
  if (dieC === Number.POSITIVE_INFINITY) return { state: 'runaway', limiter }
  const state = dieC < prepared.ceilingC ? 'steady' : 'over-limit'
  return { state, limiter, fast: at, slow: at, dieC, shareFast: 1, thresholdC: null }
}

function meanPower(held: Held): number {
  const heat = emptyHeat()
  heatOf(held.fast.source, held.dieC, heat)
  const fastW = heat.powerW
  heatOf(held.slow.source, held.dieC, heat)
  return held.shareFast * fastW + (1 - held.shareFast) * heat.powerW
}

function describe(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  cornered: PreparedCorner,
  flags: Flags,
  held: Held,
  levels: Levels,
): SettledInParts {
  const { part } = prepared.bench
  const { load } = loaded
  const lead = loaded.groups[0]?.prepared.part ?? part
  const { state, limiter, fast, slow, dieC, shareFast } = held
  const single = fast === slow
  const fastPoint = pointAt(prepared, loaded, fast, dieC)
  const slowPoint = single ? fastPoint : pointAt(prepared, loaded, slow, dieC)
  const rest = 1 - shareFast
  const mean = single ? fastPoint : meanPoint(fastPoint, slowPoint, shareFast)
  const ratio = single ? fast.ratio : shareFast * fast.ratio + rest * slow.ratio
  const { powerW } = mean
  // Leakage that doubles within a hair's breadth has a balance between two numbers next to each other, and no plate there.
  cornered.curve.evaluate(powerW, point)
  if (!Number.isFinite(point.plateC)) return nothingSteady(cornered, limiter, flags, groupsWithout(prepared, loaded))
  const source = single ? fast.source : mixedSource(fast.source, slow.source, shareFast)
  const cooling = cornered.curve.figuresAt(powerW)
  const needV = needVoltageV(lead, fast.ratio, dieC, load)
  const figures: Mutable<SettledFigures> = {
    state,
    limiter,
    ratio,
    ratioLow: slow.ratio,
    ratioHigh: fast.ratio,
    shareHigh: shareFast,
    clockMhz: ratio * part.referenceGhz * 1000,
    setV: fast.setV,
    voltageV: mean.voltageV,
    needV,
    powerW,
    dynamicW: mean.dynamicW,
    leakageW: mean.leakageW,
    currentA: mean.currentA,
    dieC,
    plateC: cooling.plateC,
    coolantC: cooling.coolantC,
    fanPct: cooling.fanPct,
    driveA: cooling.driveA,
    driveW: cooling.driveW,
    driveV: cooling.driveV,
    wetC: cornered.wetC,
  }
  if (part.groups !== undefined) figures.groups = settledGroups(prepared, loaded, held, { fastPoint, slowPoint })
  return {
    figures,
    notes: () => {
      const slope = rhsSlope(source, cornered.curve, 0, dieC)
      const voltages = [{ ratio: fast.ratio, setV: fast.setV, voltageV: fastPoint.voltageV, needV }]
      if (!single) {
        const slowNeedV = needVoltageV(lead, slow.ratio, dieC, load)
        voltages.push({ ratio: slow.ratio, setV: slow.setV, voltageV: slowPoint.voltageV, needV: slowNeedV })
      }
      const all: Mutable<SettledNotes> = notesOf(
        slope,
        held.thresholdC,
        flags,
        cooling,
        cornered.curve.notesAt(powerW),
        voltages,
      )
      if (part.groups !== undefined) all.groups = groupNotes(prepared, loaded, held, { fastPoint, slowPoint }, levels)
      return all
    },
    marginW: () => (state === 'throttled' ? 0 : marginOf(prepared, cornered, source, powerW, dieC)),
  }
}

/** `idle` at its power and `off` at none: no ratio, no leakage feedback, nothing that limits. */
function settleConstant(prepared: PreparedBench, cornered: PreparedCorner, powerW: number): SettledInParts {
  const source = constantSource(powerW, prepared.bench.part.packageResistanceKPerW)
  const flags = { needsShort: false, currentOver: false, sustainedOver: false }
  const dieC = lowestRoot(source, cornered.curve, 0)
  const groups = groupsWithout(prepared)
  if (dieC === Number.POSITIVE_INFINITY) return nothingSteady(cornered, 'none', flags, groups)
  const cooling = cornered.curve.figuresAt(powerW)
  const figures: SettledFigures = {
    ...nothing,
    state: dieC < prepared.ceilingC ? 'steady' : 'over-limit',
    limiter: 'none',
    powerW,
    dieC,
    plateC: cooling.plateC,
    coolantC: cooling.coolantC,
    fanPct: cooling.fanPct,
    driveA: cooling.driveA,
    driveW: cooling.driveW,
    driveV: cooling.driveV,
    wetC: cornered.wetC,
    ...groups,
  }
  return {
    figures,
    notes: () => {
      const slope = rhsSlope(source, cornered.curve, 0, dieC)
      return notesOf(slope, null, flags, cooling, cornered.curve.notesAt(powerW), [])
    },
    marginW: () => marginOf(prepared, cornered, source, powerW, dieC),
  }
}

const point = emptyPoint()

/** Field by field: objects spread into one another would take as long as the search for the balance. */
function notesOf(
  slope: number,
  alternatesAtC: number | null,
  { needsShort, currentOver, sustainedOver }: Flags,
  { fanBelowData }: CoolerFigures,
  { hotC, coldestA, coldestPlateC, plate }: CoolerNotes,
  voltages: readonly VoltageNote[],
): SettledNotes {
  return {
    slope,
    alternatesAtC,
    needsShort,
    currentOver,
    sustainedOver,
    fanBelowData,
    hotC,
    coldestA,
    coldestPlateC,
    plate,
    voltages,
  }
}

const nothing = {
  ratio: null,
  ratioLow: null,
  ratioHigh: null,
  shareHigh: null,
  clockMhz: null,
  setV: null,
  voltageV: null,
  needV: null,
  powerW: null,
  dynamicW: null,
  leakageW: null,
  currentA: null,
  dieC: null,
  plateC: null,
  coolantC: null,
  fanPct: null,
  driveA: null,
  driveW: null,
  driveV: null,
} as const

/** Thermal runaway: no figure exists but the wet point of the air. */
function nothingSteady(
  cornered: PreparedCorner,
  limiter: Limiter,
  flags: Flags,
  groups: Pick<SettledFigures, 'groups'>,
): SettledInParts {
  return {
    figures: { ...nothing, state: 'runaway', limiter, wetC: cornered.wetC, ...groups },
    notes: () => ({ ...flags, slope: null, alternatesAtC: null, fanBelowData: false, ...unnoted, voltages: [] }),
    marginW: () => null,
  }
}

function marginOf(
  prepared: PreparedBench,
  cornered: PreparedCorner,
  source: HeatSource,
  powerW: number,
  dieC: number,
): number {
  return marginW(source, cornered.curve, prepared.ceilingC, powerW, { isBelow: dieC <= prepared.ceilingC })
}
