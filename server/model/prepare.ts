/** What can be known of a bench, a load or a corner once and used for many predictions. */

import { prepareCurve } from './cooler/index.ts'
import type { CoolerCurve } from './cooler/kind.ts'
import { type ActiveGroup, activeGroups, groupSettings, groupsOf, partOfGroup } from './groups.ts'
import { wetPointC } from './humidity.ts'
import { coreRiseKPerW, dynamicWPerV2, leakageWPerVk } from './power.ts'
import { dieCeilingC, type Level, ladderLevels, ratioStepCount, ratioStepsDown } from './ratio.ts'
import { type DroopPart, growthPerK, type HeatSource, noneFound, unsought } from './source.ts'
import type { Bench, Board, Corner, GroupSettings, Load, Part, VoltageRow } from './types.ts'
import { setVoltageRows, setVoltageV } from './voltage.ts'

export type WorkLoad = Extract<Load, { kind: 'work' }>

/** A load held at one ratio for each group that has active cores. */
export interface RatioSource {
  /** Of the first of these groups. */
  readonly ratio: number
  readonly ratios: readonly number[]
  /** Of the first of these groups. */
  readonly setV: number
  /** Of each supply rail: its set voltage, and what its active cores draw in W/V². */
  readonly railSetV: readonly number[]
  readonly railDynamicWPerV2: readonly number[]
  readonly source: HeatSource
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
  /** Empty where no step row covers the load. */
  readonly levels: readonly Level[]
  readonly byRatio: Map<number | string, RatioSource>
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
  const names = part.groups?.map(({ rail }) => rail) ?? [mainRail]
  const railNames = names.length === 1 ? names : [...new Set(names)]
  const groups = groupsOf(part).map((_, index): PreparedGroup => {
    const own = partOfGroup(part, index)
    const settings = groupSettings(profile, index)
    const rail = railNames.indexOf(names[index] as string)
    return { part: own, settings, setRows: setVoltageRows(own, settings.voltage), rail }
  })
  const rails = railNames.map((name, rail) =>
    prepareRail(bench, name, groups.length === 1 ? groups : groups.filter(one => one.rail === rail)),
  )
  return {
    bench,
    ceilingC: dieCeilingC(part, profile),
    groups,
    rails,
    isStraight: rails.every(({ board }) => board.loadLineOhm === 0),
    growthPerK: growthPerK(part.leakageDoublingK),
    loads: [],
    nextLoad: 0,
    corners: [...corners],
    nextCorner: corners.length % CORNERS_KEPT,
  }
}

/** The rail of groups that state none. */
const mainRail = 'main'

function prepareRail({ part, board, profile }: Bench, name: string, groups: readonly PreparedGroup[]): PreparedRail {
  const own = board.rails?.[name]
  const { railCurrentA, currentA } = profile.limits
  let leakage = 0
  for (const group of groups) leakage += leakageWPerVk(group.part, part.leakageAtC)
  return {
    groups,
    board: own === undefined ? board : { ...board, ...own },
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
  const { part, profile } = prepared.bench
  const active = activeGroups(part, load)
  const rises = active.map(({ index, cores }) => {
    const { coreResistanceKPerW } = (prepared.groups[index] as PreparedGroup).part
    return coreRiseKPerW({ coreResistanceKPerW }, { ...load, cores })
  })
  const coreKPerW = Math.max(0, ...rises)
  const groups = active.map((one, at): BusyGroup => {
    const riseKPerW = rises[at] as number
    const riseShare = riseKPerW === coreKPerW ? 1 : riseKPerW / coreKPerW
    return { ...one, prepared: prepared.groups[one.index] as PreparedGroup, riseShare, riseKPerW }
  })
  const made: PreparedLoad = {
    load,
    groups,
    coreKPerW,
    returnsK: groups.map(one => one.prepared.settings.returnK),
    levels: ladderLevels(part, profile, load),
    byRatio: new Map(),
  }
  prepared.loads[prepared.nextLoad] = made
  prepared.nextLoad = (prepared.nextLoad + 1) % LOADS_KEPT
  return made
}

/** The ratios of a load's groups so many ratio-steps below others, none below its lowest (model section 7, ceilings). */
export function ratiosDown({ groups }: PreparedLoad, from: readonly number[], count: number): readonly number[] {
  return groups.map(({ prepared: { part } }, at) => ratioStepsDown(part, from[at] as number, count))
}

/** In how many ratio-steps all groups of a load are at their lowest ratios. */
export function stepsDown({ groups }: PreparedLoad, from: readonly number[]): number {
  return Math.max(...groups.map(({ prepared: { part } }, at) => ratioStepCount(part, from[at] as number)))
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
  loaded: PreparedLoad,
  ratios: readonly number[],
  { groups, board }: PreparedRail,
): number {
  let most = Number.NEGATIVE_INFINITY
  loaded.groups.forEach((one, at) => {
    if (one.prepared.rail !== groups[0]?.rail) return
    most = Math.max(most, setVoltageV(one.prepared.setRows, board, ratios[at] as number))
  })
  if (prepared.groups.length === 1) return most
  const fixed = groups.filter(({ settings }) => settings.voltage.kind === 'fixed')
  for (const { setRows, part } of fixed) most = Math.max(most, setVoltageV(setRows, board, part.ratioLow))
  if (most > Number.NEGATIVE_INFINITY) return most
  return Math.max(...groups.map(({ setRows, part }) => setVoltageV(setRows, board, part.ratioLow)))
}

const keyOf = (ratios: readonly number[]): number | string =>
  ratios.length === 1 ? (ratios[0] as number) : ratios.join(' ')

/** The load at one ratio for each group as a source of heat. */
export function ratioSource(prepared: PreparedBench, loaded: PreparedLoad, ratios: readonly number[]): RatioSource {
  const key = keyOf(ratios)
  const known = loaded.byRatio.get(key)
  if (known !== undefined) return known
  const { rails, isStraight, bench } = prepared
  const { part } = bench
  const setVs = rails.map(rail => railSetV(prepared, loaded, ratios, rail))
  const dynamics = loaded.groups.map(({ prepared: { part: own }, cores, activity }, at) =>
    dynamicWPerV2(own, cores, activity, ratios[at] as number),
  )
  const droop: DroopPart[] = []
  let dynamicBaseW = 0
  let leakageW = 0
  let hotBaseW = 0
  const railDynamics: number[] = []
  rails.forEach((rail, place) => {
    const setV = setVs[place] as number
    let dynamic = 0
    let hot = 0
    loaded.groups.forEach((one, at) => {
      if (one.prepared.rail !== place) return
      const own = dynamics[at] as number
      dynamic += own
      hot = Math.max(hot, own * one.riseShare)
    })
    railDynamics.push(dynamic)
    if (isStraight) {
      dynamicBaseW += dynamic * setV * setV
      leakageW += rail.leakageWPerVk * setV ** part.leakageExponent
      hotBaseW = Math.max(hotBaseW, hot * setV * setV)
      return
    }
    droop.push({
      share: 1,
      isBeside: place > 0,
      setV,
      loadLineOhm: rail.board.loadLineOhm,
      dynamicWPerV2: dynamic,
      hotWPerV2: hot,
      leakageWPerVk: rail.leakageWPerVk,
      exponent: part.leakageExponent,
      found: noneFound(),
    })
  })
  const made: RatioSource = {
    ratio: ratios[0] as number,
    ratios,
    setV: setVs[loaded.groups[0]?.prepared.rail ?? 0] as number,
    railSetV: setVs,
    railDynamicWPerV2: railDynamics,
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
  loaded.byRatio.set(key, made)
  return made
}
