/** What can be known of a bench, a load or a corner once and used for many predictions. */

import { prepareCurve } from './cooler/index.ts'
import type { CoolerCurve } from './cooler/kind.ts'
import { type ActiveGroup, activeGroups, boardOfRail, groupSettings, partOfGroup } from './groups.ts'
import { wetPointC } from './humidity.ts'
import { coreRiseKPerW, leakageWPerVk, leakageWPerVkAtReference } from './power.ts'
import { dieCeilingC, type Levels, ladderOf } from './ratio.ts'
import { growthPerK, type HeatSource } from './source.ts'
import type { Bench, Board, Corner, GroupSettings, Load, NamedGroup, Part, VoltageRow } from './types.ts'
import { setVoltageRows } from './voltage.ts'

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
export interface RailDraw {
  readonly setV: number
  readonly dynamicWPerV2: number
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
  /** The load as a source of heat at each ratio asked about so far, where one group has active cores. */
  readonly byRatio: Map<number, RatioSource>
  /** The same where several have: few enough that to look through them costs less than to make a key of their ratios. */
  readonly bySeveral: RatioSource[]
  /** Whether more ratio means more of all, from the first level down and up to D, once it was asked for. */
  rises: boolean | undefined
}

/** One kind of cores on a bench. */
export interface PreparedGroup {
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
const NEWCOMERS_KEPT = 32

/**
 * Prepared benches by identity, once they were asked about twice. An entry goes when its bench object is collected;
 * benches are plain values that nobody changes after they are made, so an entry never is stale.
 */
const benches = new WeakMap<Bench, PreparedBench>()
/**
 * Those last asked about for the first time; the oldest is overwritten. Most benches are asked about again at once or never,
 * and a WeakMap entry costs as much as a prediction, mostly when it is collected.
 */
const newcomers: (PreparedBench | undefined)[] = new Array(NEWCOMERS_KEPT).fill(undefined)
let nextNewcomer = 0

export function prepareBench(bench: Bench): PreparedBench {
  for (let at = 0; at < NEWCOMERS_KEPT; at++) {
    const known = newcomers[at]
    if (known?.bench !== bench) continue
    benches.set(bench, known)
    newcomers[at] = undefined
    return known
  }
  const known = benches.get(bench)
  if (known !== undefined) return known
  const prepared = prepareOnce(bench)
  newcomers[nextNewcomer] = prepared
  nextNewcomer = (nextNewcomer + 1) % NEWCOMERS_KEPT
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
  // Each group states its own at a temperature of its own.
  for (const { part: own } of groups)
    leakage += own.leakageAtC === part.leakageAtC ? leakageWPerVkAtReference(own) : leakageWPerVk(own, part.leakageAtC)
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

/** Cores that are all alike never have several ratios. */
const noneOfSeveral: RatioSource[] = []

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
    bySeveral: noneOfSeveral,
    rises: undefined,
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
  return {
    load,
    groups,
    coreKPerW,
    returnsK,
    ladder: ladderOf(part, profile, load),
    byRatio: new Map(),
    bySeveral: [],
    rises: undefined,
  }
}

function riseOf({ part }: PreparedGroup, { uneven }: WorkLoad, cores: number): number {
  return coreRiseKPerW(part, uneven === undefined ? { cores } : { cores, uneven })
}
