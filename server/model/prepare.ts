/** What can be known of a bench, a load or a corner once and used for many predictions. */

import { prepareCurve } from './cooler/index.ts'
import type { CoolerCurve } from './cooler/kind.ts'
import { type ActiveGroup, activeGroups, boardOfRail, groupSettings, partOfGroup } from './groups.ts'
import { wetPointC } from './humidity.ts'
import { coreRiseKPerW, dynamicWPerV2, leakageWPerVk } from './power.ts'
import { dieCeilingC, type Levels, ladderOf, ratioStepCount, ratioStepsDown } from './ratio.ts'
import { type DroopPart, growthPerK, type HeatSource, noneFound, unsought } from './source.ts'
import type { Bench, Board, Corner, GroupSettings, Load, NamedGroup, Part, VoltageRow } from './types.ts'
import { setVoltageRows, setVoltageV } from './voltage.ts'

export type WorkLoad = Extract<Load, { kind: 'work' }>

/** A load held at one ratio for each group that has active cores. */
export interface RatioSource {
  /** Of the first of these groups. */
  readonly ratio: number
  readonly ratios: readonly number[]
  /** Of the supply rail of the first of these groups. */
  readonly setV: number
  /** What its active cores draw in W/V². */
  readonly dynamicWPerV2: number
  /** The same of each supply rail; absent where there is one alone. */
  readonly rails: readonly RailDraw[] | undefined
  readonly source: HeatSource
}

/** What a supply rail is set to, and what its active cores draw. */
interface RailDraw {
  readonly setV: number
  readonly dynamicWPerV2: number
}

/** What the supply rail at a place is set to and draws while a load is held. */
export function railOf(at: RatioSource, place: number): RailDraw {
  return at.rails === undefined ? at : (at.rails[place] as RailDraw)
}

/** A group that a load keeps busy. */
export interface BusyGroup extends ActiveGroup {
  readonly prepared: PreparedGroup
  /** θ_core · u / n of the group over that of the source: 1 for the group that it is largest in. */
  readonly riseShare: number
  /** θ_core · u / n. */
  readonly riseKPerW: number
}

export interface PreparedLoad {
  readonly load: WorkLoad
  /** Those that have active cores, in the part's order. */
  readonly groups: readonly BusyGroup[]
  /** θ_core · u / n, the largest of these groups. */
  readonly coreKPerW: number
  /** `return` of each of these groups. */
  readonly returnsK: readonly number[]
  /** Without a level where no step row covers the load. */
  readonly ladder: Levels
  readonly byRatio: Map<number | string, RatioSource>
}

/** One kind of cores on a bench. */
interface PreparedGroup {
  /** As a part of its own. */
  readonly part: Part
  readonly settings: GroupSettings
  readonly setRows: readonly VoltageRow[]
  /** Place of its supply rail in the bench's. */
  readonly rail: number
}

/** A supply rail with the groups on it. */
export interface PreparedRail {
  readonly groups: readonly PreparedGroup[]
  /** Its load line and its voltage step. */
  readonly board: Pick<Board, 'loadLineOhm' | 'coreVoltageStepV'>
  readonly mostA: number | undefined
  /** Leakage of all its groups in W/V^k at the part's `leakage-at` temperature. */
  readonly leakageWPerVk: number
}

export interface PreparedCorner {
  readonly airC: number
  readonly humidityPct: number
  readonly wetC: number
  readonly curve: CoolerCurve
}

export interface PreparedBench {
  readonly bench: Bench
  readonly ceilingC: number
  /** Kinds of cores in the part's order. */
  readonly groups: readonly PreparedGroup[]
  readonly rails: readonly PreparedRail[]
  /** No rail has a load line. */
  readonly isStraight: boolean
  /** A rail has a current limit. */
  readonly isLimited: boolean
  readonly growthPerK: number
  /** The loads last asked for; the oldest is overwritten. */
  readonly loads: PreparedLoad[]
  nextLoad: number
  /** The corners last asked for; the oldest is overwritten. */
  readonly corners: PreparedCorner[]
  nextCorner: number
}

const LOADS_KEPT = 64
const CORNERS_KEPT = 16

/**
 * Prepared benches by identity. An entry goes when its bench object is collected; benches are plain values
 * that nobody changes after they are made, so an entry never is stale.
 */
const benches = new WeakMap<Bench, PreparedBench>()

export function prepareBench(bench: Bench): PreparedBench {
  const known = benches.get(bench)
  if (known !== undefined) return known
  const prepared = prepareOnce(bench)
  benches.set(bench, prepared)
  return prepared
}

/**
 * As `prepareBench`, for a bench that is asked about once: nothing is kept.
 *
 * @param corners of a bench with the very same cooler and profile, if there is one
 */
export function prepareOnce(bench: Bench, corners: readonly PreparedCorner[] = []): PreparedBench {
  const { part, profile } = bench
  const groups = part.groups === undefined ? [prepareGroup(bench, 0, 0)] : prepareGroups(bench, part.groups)
  const rails = railNames(part.groups).map((name, rail) => prepareRail(bench, name, rail, groups))
  let [isStraight, isLimited] = [true, false]
  for (const { board, mostA } of rails) {
    if (board.loadLineOhm !== 0) isStraight = false
    if (mostA !== undefined) isLimited = true
  }
  return {
    bench,
    ceilingC: dieCeilingC(part, profile),
    groups,
    rails,
    isStraight,
    isLimited,
    growthPerK: growthPerK(part.leakageDoublingK),
    loads: [],
    nextLoad: 0,
    corners: [...corners],
    nextCorner: corners.length % CORNERS_KEPT,
  }
}

/** The rail of groups that state none, and of a plain part. */
export const mainRail = 'main'
const onlyMain: readonly string[] = [mainRail]

function railNames(groups: Part['groups']): readonly string[] {
  return groups === undefined ? onlyMain : [...new Set(groups.map(({ rail }) => rail))]
}

function prepareGroup({ part, profile }: Bench, index: number, rail: number): PreparedGroup {
  const own = partOfGroup(part, index)
  const settings = groupSettings(profile, index)
  return { part: own, settings, setRows: setVoltageRows(own, settings.voltage), rail }
}

function prepareGroups(bench: Bench, groups: readonly NamedGroup[]): readonly PreparedGroup[] {
  const names = railNames(groups)
  return groups.map(({ rail }, index) => prepareGroup(bench, index, names.indexOf(rail)))
}

function prepareRail(
  { part, board, profile }: Bench,
  name: string,
  rail: number,
  all: readonly PreparedGroup[],
): PreparedRail {
  const { railCurrentA, currentA } = profile.limits
  const groups = all.length === 1 ? all : all.filter(group => group.rail === rail)
  let leakage = 0
  for (const group of groups) leakage += leakageWPerVk(group.part, part.leakageAtC)
  return {
    groups,
    board: boardOfRail(board, name),
    mostA: railCurrentA?.[name] ?? currentA,
    leakageWPerVk: leakage,
  }
}

export function prepareCorner(prepared: PreparedBench, corner: Corner): PreparedCorner {
  let sibling: CoolerCurve | undefined
  for (const known of prepared.corners) {
    if (known.airC !== corner.airC) continue
    if (known.humidityPct === corner.humidityPct) return known
    sibling = known.curve
  }
  const { cooler, profile } = prepared.bench
  const made: PreparedCorner = {
    airC: corner.airC,
    humidityPct: corner.humidityPct,
    wetC: wetPointC(corner.airC, corner.humidityPct),
    curve: prepareCurve(cooler, profile, corner, sibling),
  }
  prepared.corners[prepared.nextCorner] = made
  prepared.nextCorner = (prepared.nextCorner + 1) % CORNERS_KEPT
  return made
}

export function prepareLoad(prepared: PreparedBench, load: WorkLoad): PreparedLoad {
  for (const known of prepared.loads) if (known.load === load) return known
  const made = prepared.bench.part.groups === undefined ? loadOfPlain(prepared, load) : loadOfGroups(prepared, load)
  prepared.loads[prepared.nextLoad] = made
  prepared.nextLoad = (prepared.nextLoad + 1) % LOADS_KEPT
  return made
}

/** Of a plain part all cores are its one group: no list is gone through. */
function loadOfPlain({ bench, groups }: PreparedBench, load: WorkLoad): PreparedLoad {
  const group = groups[0] as PreparedGroup
  const { cores, activity } = load
  const riseKPerW = coreRiseKPerW(group.part, load)
  return {
    load,
    groups: [{ index: 0, cores, activity, prepared: group, riseShare: 1, riseKPerW }],
    coreKPerW: riseKPerW,
    returnsK: [group.settings.returnK],
    ladder: ladderOf(bench.part, bench.profile, load),
    byRatio: new Map(),
  }
}

function loadOfGroups(prepared: PreparedBench, load: WorkLoad): PreparedLoad {
  const { part, profile } = prepared.bench
  const active = activeGroups(part, load)
  const returnsK: number[] = []
  let coreKPerW = 0
  for (const { index, cores } of active) {
    const group = prepared.groups[index] as PreparedGroup
    coreKPerW = Math.max(coreKPerW, riseOf(group, load, cores))
    returnsK.push(group.settings.returnK)
  }
  const groups: BusyGroup[] = []
  for (const { index, cores, activity } of active) {
    const group = prepared.groups[index] as PreparedGroup
    const riseKPerW = riseOf(group, load, cores)
    const riseShare = riseKPerW === coreKPerW ? 1 : riseKPerW / coreKPerW
    groups.push({ index, cores, activity, prepared: group, riseShare, riseKPerW })
  }
  return { load, groups, coreKPerW, returnsK, ladder: ladderOf(part, profile, load), byRatio: new Map() }
}

function riseOf({ part }: PreparedGroup, { uneven }: WorkLoad, cores: number): number {
  return coreRiseKPerW(part, uneven === undefined ? { cores } : { cores, uneven })
}

/** The ratios of a load's groups so many ratio-steps below others, none below its lowest (model section 7, ceilings). */
export function ratiosDown({ groups }: PreparedLoad, from: readonly number[], count: number): readonly number[] {
  const ratios: number[] = []
  for (let at = 0; at < groups.length; at++) {
    ratios.push(ratioStepsDown((groups[at] as BusyGroup).prepared.part, from[at] as number, count))
  }
  return ratios
}

/** In how many ratio-steps all groups of a load are at their lowest ratios. */
export function stepsDown({ groups }: PreparedLoad, from: readonly number[]): number {
  let most = 0
  for (let at = 0; at < groups.length; at++) {
    most = Math.max(most, ratioStepCount((groups[at] as BusyGroup).prepared.part, from[at] as number))
  }
  return most
}

/** The lowest ratios of a load's groups. */
export function lowestRatios({ groups }: PreparedLoad): readonly number[] {
  return groups.map(({ prepared: { part } }) => part.ratioLow)
}

/**
 * The set voltage of a rail (model section 2): the highest that an active group on it asks for, or that is fixed for one;
 * a rail with neither stands at the highest that its groups ask for at their lowest ratios.
 */
function railSetV(
  prepared: PreparedBench,
  busy: readonly BusyGroup[],
  ratios: readonly number[],
  place: number,
): number {
  const { groups, board } = prepared.rails[place] as PreparedRail
  let most = Number.NEGATIVE_INFINITY
  for (let at = 0; at < busy.length; at++) {
    const { rail, setRows } = (busy[at] as BusyGroup).prepared
    if (rail === place) most = Math.max(most, setVoltageV(setRows, board, ratios[at] as number))
  }
  if (prepared.groups.length === 1) return most
  for (const { settings, setRows, part } of groups) {
    if (settings.voltage.kind === 'fixed') most = Math.max(most, setVoltageV(setRows, board, part.ratioLow))
  }
  if (most > Number.NEGATIVE_INFINITY) return most
  for (const { setRows, part } of groups) most = Math.max(most, setVoltageV(setRows, board, part.ratioLow))
  return most
}

/** The load at one ratio for each group as a source of heat. */
export function ratioSource(prepared: PreparedBench, loaded: PreparedLoad, ratios: readonly number[]): RatioSource {
  const key = ratios.length === 1 ? (ratios[0] as number) : ratios.join(' ')
  const known = loaded.byRatio.get(key)
  if (known !== undefined) return known
  const made = prepared.rails.length === 1 ? onOneRail(prepared, loaded, ratios) : onRails(prepared, loaded, ratios)
  loaded.byRatio.set(key, made)
  return made
}

/** As `ratioSource`, so many ratio-steps below others. A search asks again and again: of one group no list is made. */
export function sourceDown(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  from: readonly number[],
  count: number,
): RatioSource {
  if (from.length === 1) {
    const ratio = ratioStepsDown((loaded.groups[0] as BusyGroup).prepared.part, from[0] as number, count)
    return loaded.byRatio.get(ratio) ?? ratioSource(prepared, loaded, [ratio])
  }
  return ratioSource(prepared, loaded, ratiosDown(loaded, from, count))
}

/** What the groups of a load that are on one rail draw for each V², and what of it lifts the hottest core. */
const drawn = { dynamic: 0, hot: 0 }

function drawOn({ groups }: PreparedLoad, ratios: readonly number[], place: number): void {
  drawn.dynamic = drawn.hot = 0
  for (let at = 0; at < groups.length; at++) {
    const { prepared: group, cores, activity, riseShare } = groups[at] as BusyGroup
    if (group.rail !== place) continue
    const own = dynamicWPerV2(group.part, cores, activity, ratios[at] as number)
    drawn.dynamic += own
    drawn.hot = Math.max(drawn.hot, own * riseShare)
  }
}

function droopOf({ part }: Bench, rail: PreparedRail, place: number, setV: number): DroopPart {
  return {
    share: 1,
    isBeside: place > 0,
    setV,
    loadLineOhm: rail.board.loadLineOhm,
    dynamicWPerV2: drawn.dynamic,
    hotWPerV2: drawn.hot,
    leakageWPerVk: rail.leakageWPerVk,
    exponent: part.leakageExponent,
    found: noneFound(),
  }
}

const noDroop: readonly DroopPart[] = []

function onOneRail(prepared: PreparedBench, loaded: PreparedLoad, ratios: readonly number[]): RatioSource {
  const { isStraight, bench } = prepared
  const { part } = bench
  const rail = prepared.rails[0] as PreparedRail
  const setV = railSetV(prepared, loaded.groups, ratios, 0)
  drawOn(loaded, ratios, 0)
  const { dynamic } = drawn
  const dynamicBaseW = isStraight ? dynamic * setV * setV : 0
  return {
    ratio: ratios[0] as number,
    ratios,
    setV,
    dynamicWPerV2: dynamic,
    rails: undefined,
    source: {
      baseW: part.sharedPowerW + dynamicBaseW,
      leakageW: isStraight ? rail.leakageWPerVk * setV ** part.leakageExponent : 0,
      leakageAtC: part.leakageAtC,
      growthPerK: prepared.growthPerK,
      hotBaseW: isStraight ? drawn.hot * setV * setV : 0,
      packageKPerW: part.packageResistanceKPerW,
      coreKPerW: loaded.coreKPerW,
      droop: isStraight ? noDroop : [droopOf(bench, rail, 0, setV)],
      least: isStraight ? unsought : noneFound(),
    },
  }
}

function onRails(prepared: PreparedBench, loaded: PreparedLoad, ratios: readonly number[]): RatioSource {
  const { rails, isStraight, bench } = prepared
  const { part } = bench
  const draws: RailDraw[] = []
  const droop: DroopPart[] = []
  let dynamicBaseW = 0
  let leakageW = 0
  let hotBaseW = 0
  for (let place = 0; place < rails.length; place++) {
    const rail = rails[place] as PreparedRail
    const setV = railSetV(prepared, loaded.groups, ratios, place)
    drawOn(loaded, ratios, place)
    const { dynamic, hot } = drawn
    draws.push({ setV, dynamicWPerV2: dynamic })
    if (isStraight) {
      dynamicBaseW += dynamic * setV * setV
      leakageW += rail.leakageWPerVk * setV ** part.leakageExponent
      hotBaseW = Math.max(hotBaseW, hot * setV * setV)
    } else droop.push(droopOf(bench, rail, place, setV))
  }
  const lead = draws[(loaded.groups[0] as BusyGroup).prepared.rail] as RailDraw
  return {
    ratio: ratios[0] as number,
    ratios,
    setV: lead.setV,
    dynamicWPerV2: lead.dynamicWPerV2,
    rails: draws,
    source: {
      baseW: part.sharedPowerW + dynamicBaseW,
      leakageW,
      leakageAtC: part.leakageAtC,
      growthPerK: prepared.growthPerK,
      hotBaseW,
      packageKPerW: part.packageResistanceKPerW,
      coreKPerW: loaded.coreKPerW,
      droop,
      least: isStraight ? unsought : noneFound(),
    },
  }
}
