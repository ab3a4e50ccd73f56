/** What a load draws while it is held at one ratio for each of its groups, and what lies so many ratio-steps below. */

import { dynamicWPerV2 } from './power.ts'
import type { BusyGroup, PreparedBench, PreparedLoad, PreparedRail, RailDraw, RatioSource } from './prepare.ts'
import { ratioStepCount, ratioStepsDown } from './ratio.ts'
import { type DroopPart, noneFound, unsought } from './source.ts'
import type { Bench } from './types.ts'
import { raised, setVoltageV } from './voltage.ts'

/** What the supply rail at a place is set to and draws while a load is held. */
export function railOf(at: RatioSource, place: number): RailDraw {
  return at.rails === undefined ? at : (at.rails[place] as RailDraw)
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

/** The source at these ratios, where they were asked about before. */
function knownAt(sources: readonly RatioSource[], ratios: readonly number[]): RatioSource | undefined {
  for (let index = 0; index < sources.length; index++) {
    const known = sources[index] as RatioSource
    let at = 0
    while (at < ratios.length && known.ratios[at] === ratios[at]) at++
    if (at === ratios.length) return known
  }
  return undefined
}

/** The load at one ratio for each group as a source of heat. */
export function ratioSource(prepared: PreparedBench, loaded: PreparedLoad, ratios: readonly number[]): RatioSource {
  const { byRatio, bySeveral } = loaded
  const isOne = ratios.length === 1
  const known = isOne ? byRatio.get(ratios[0] as number) : knownAt(bySeveral, ratios)
  if (known !== undefined) return known
  const made = prepared.rails.length === 1 ? onOneRail(prepared, loaded, ratios) : onRails(prepared, loaded, ratios)
  if (isOne) byRatio.set(made.ratio, made)
  else bySeveral.push(made)
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
      leakageW: isStraight ? rail.leakageWPerVk * raised(setV, part.leakageExponent) : 0,
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
      leakageW += rail.leakageWPerVk * raised(setV, part.leakageExponent)
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
