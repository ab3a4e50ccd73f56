/** What each group of cores does under a settled load (model, outputs by group). */

import { groupLoads } from './groups.ts'
import { type LoadPoint, meanPoint } from './point.ts'
import type { PowerPoint } from './power.ts'
import type { BusyGroup, PreparedBench, PreparedLoad, RatioSource } from './prepare.ts'
import { type Levels, stepRatio } from './ratio.ts'
import { railOf, ratioSource } from './ratio-source.ts'
import { emptyHeat, heatOf } from './source.ts'
import type { GroupNotes, Limiter, NamedGroup, Settled, SettledGroup, VoltageNote } from './types.ts'
import { needVoltageV, RATIO_TOLERANCE } from './voltage.ts'

/** A settled clock: at one level (`fast` and `slow` the same, share 1) or between two. */
interface HeldLoad {
  readonly limiter: Limiter
  readonly fast: RatioSource
  readonly slow: RatioSource
  readonly dieC: number
  readonly shareFast: number
}

/** What it draws at both. */
interface HeldPoints {
  readonly fastPoint: LoadPoint
  readonly slowPoint: LoadPoint
}

const nothing = {
  ratio: null,
  ratioLow: null,
  ratioHigh: null,
  clockMhz: null,
  setV: null,
  voltageV: null,
  needV: null,
  dynamicW: null,
  leakageW: null,
  currentA: null,
  coreC: null,
} as const

/** Groups of a load that settles at nothing or has no clock: names and counts alone. @param loaded absent at rest */
export function groupsWithout({ bench }: PreparedBench, loaded?: PreparedLoad): Pick<Settled, 'groups'> {
  const { groups } = bench.part
  if (groups === undefined) return {}
  const loads = loaded === undefined ? [] : groupLoads(bench.part, loaded.load)
  return { groups: groups.map(({ name }, index) => ({ group: name, cores: loads[index]?.cores ?? 0, ...nothing })) }
}

/** The ratios of a load's groups at one end of what it settles at; the lowest where it settles nowhere. */
export function heldRatios(
  { bench: { part } }: PreparedBench,
  { groups }: PreparedLoad,
  settled: Pick<Settled, 'ratioHigh' | 'ratioLow' | 'groups'>,
  end: 'ratioHigh' | 'ratioLow',
): readonly number[] {
  return groups.map(({ index, prepared }) => {
    const found = part.groups === undefined ? settled[end] : settled.groups?.[index]?.[end]
    return found ?? prepared.part.ratioLow
  })
}

/** By how many kelvin the hottest core of a settled load is over the die: the mean of two levels by their shares. */
export function settledRiseK(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  settled: Pick<Settled, 'ratioHigh' | 'ratioLow' | 'groups' | 'shareHigh' | 'dynamicW'>,
  dieC: number,
): number {
  // Of cores that are all alike the dynamic power says it.
  if (prepared.bench.part.groups === undefined) return loaded.coreKPerW * (settled.dynamicW ?? 0)
  const hotAt = (end: 'ratioHigh' | 'ratioLow'): number => {
    heatOf(ratioSource(prepared, loaded, heldRatios(prepared, loaded, settled, end)).source, dieC, heat)
    return heat.hotW
  }
  const share = settled.shareHigh ?? 1
  return loaded.coreKPerW * (share * hotAt('ratioHigh') + (1 - share) * hotAt('ratioLow'))
}

const heat = emptyHeat()

/** By how many kelvin a group's own hottest core is over the die. */
function riseOf({ riseKPerW, index }: BusyGroup, { groups }: LoadPoint): number {
  return riseKPerW * (groups[index] as PowerPoint).dynamicW
}

function largestRise({ groups }: PreparedLoad, point: LoadPoint): number {
  let most = Number.NEGATIVE_INFINITY
  for (let at = 0; at < groups.length; at++) most = Math.max(most, riseOf(groups[at] as BusyGroup, point))
  return most
}

/** The figures of each group, in the part's order: field by field, as a search asks for them again and again. */
export function settledGroups(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  { fast, slow, shareFast, dieC }: HeldLoad,
  { fastPoint, slowPoint }: HeldPoints,
): readonly SettledGroup[] {
  const { part } = prepared.bench
  const rest = 1 - shareFast
  const isSingle = fastPoint === slowPoint
  const fastRiseK = largestRise(loaded, fastPoint)
  const riseK = isSingle ? fastRiseK : shareFast * fastRiseK + rest * largestRise(loaded, slowPoint)
  const found: SettledGroup[] = []
  const names = part.groups as readonly NamedGroup[]
  for (let index = 0; index < names.length; index++) {
    const { name } = names[index] as NamedGroup
    const at = placeOf(loaded, index)
    const busy = loaded.groups[at]
    const { setV } = railOf(fast, prepared.groups[index]?.rail as number)
    const high = fastPoint.groups[index] as PowerPoint
    const drawn = isSingle ? high : meanPoint(high, slowPoint.groups[index] as PowerPoint, shareFast)
    const { voltageV, dynamicW, leakageW, currentA } = drawn
    if (busy === undefined) {
      found.push({
        group: name,
        cores: 0,
        ratio: null,
        ratioLow: null,
        ratioHigh: null,
        clockMhz: null,
        setV,
        voltageV,
        needV: null,
        dynamicW,
        leakageW,
        currentA,
        coreC: null,
      })
      continue
    }
    const ratioHigh = fast.ratios[at] as number
    const ratioLow = slow.ratios[at] as number
    const ratio = fast === slow ? ratioHigh : shareFast * ratioHigh + rest * ratioLow
    const ownFastK = riseOf(busy, fastPoint)
    const ownK = isSingle ? ownFastK : shareFast * ownFastK + rest * riseOf(busy, slowPoint)
    found.push({
      group: name,
      cores: busy.cores,
      ratio,
      ratioLow,
      ratioHigh,
      clockMhz: ratio * part.referenceGhz * 1000,
      setV,
      voltageV,
      needV: needVoltageV(busy.prepared.part, ratioHigh, dieC, loaded.load),
      dynamicW,
      leakageW,
      currentA,
      coreC: dieC + (ownK - riseK),
    })
  }
  return found
}

/** Place of a group among those that a load keeps busy; -1 where it is idle. @param index its place in the part's order */
function placeOf({ groups }: PreparedLoad, index: number): number {
  for (let at = 0; at < groups.length; at++) if ((groups[at] as BusyGroup).index === index) return at
  return -1
}

/** What checks want to know of each group, in the part's order. @param levels of the load, under its cap */
export function groupNotes(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  held: HeldLoad,
  { fastPoint, slowPoint }: HeldPoints,
  levels: Levels,
): readonly GroupNotes[] {
  const { fast, slow, dieC } = held
  const found: GroupNotes[] = []
  for (let index = 0; index < prepared.groups.length; index++) {
    const at = placeOf(loaded, index)
    if (at < 0) {
      found.push(idleNotes)
      continue
    }
    const busy = loaded.groups[at] as BusyGroup
    const voltages = [voltageNote(busy, loaded, fast.ratios[at] as number, fast, fastPoint, dieC)]
    if (fast !== slow) voltages.push(voltageNote(busy, loaded, slow.ratios[at] as number, slow, slowPoint, dieC))
    found.push({ voltages, limiter: limiterOf(loaded, held, levels, at) })
  }
  return found
}

const idleNotes: GroupNotes = { voltages: [], limiter: 'none' }

/** What a group at work is given and needs at one of the ratios that it is held at. */
function voltageNote(
  { index, prepared: { part, rail } }: BusyGroup,
  { load }: PreparedLoad,
  ratio: number,
  source: RatioSource,
  point: LoadPoint,
  dieC: number,
): VoltageNote {
  const { setV } = railOf(source, rail)
  const { voltageV } = point.groups[index] as PowerPoint
  return { ratio, setV, voltageV, needV: needVoltageV(part, ratio, dieC, load) }
}

/** What lowers one group of a load to where it is held. @param at its place among the groups with active cores */
function limiterOf({ load, groups }: PreparedLoad, { slow, limiter }: HeldLoad, levels: Levels, at: number): Limiter {
  const { cores, prepared } = groups[at] as BusyGroup
  const { settings } = prepared
  const ratio = slow.ratios[at] as number
  const first = levels.at(0)?.ratios[at] as number
  const step = stepRatio(settings, cores) ?? first
  const uncapped = Math.max(prepared.part.ratioLow, step - (load.vector ? settings.vectorDrop : 0))
  let found: Limiter = uncapped < step - RATIO_TOLERANCE && load.vector && settings.vectorDrop > 0 ? 'vector' : 'step'
  if (ratio >= uncapped - RATIO_TOLERANCE) return found
  if (limiter === 'sustained-power') return ratio < first - RATIO_TOLERANCE ? limiter : (levels.at(0)?.limiter ?? found)
  let before = uncapped
  for (let index = 0; ; index++) {
    const level = levels.at(index)
    if (level === undefined) break
    const own = level.ratios[at] as number
    if (own < before - RATIO_TOLERANCE) found = level.limiter
    before = own
    if (own <= ratio + RATIO_TOLERANCE) break
  }
  return found
}
