/** Electrical limits: the cap of `current` and `burst-power`, and the mean of `sustained-power` (model section 8). */

import { coldStartC, lowestRootAbove, rhsC } from './balance.ts'
import { emptyPoint, type PlateCurve } from './cooler/curve.ts'
import { firstServing } from './first-serving.ts'
import { leakageWPerVk } from './power.ts'
import type { BusyGroup, PreparedBench, PreparedLoad, PreparedRail, RatioSource } from './prepare.ts'
import { cappedLadder, heldAt, type Levels } from './ratio.ts'
import { lowestRatios, railOf, ratioSource, sourceDown, stepsDown } from './ratio-source.ts'
import { rootBetween } from './root.ts'
import { boundHeat, droopVoltage, emptyBounds, emptyHeat, growthAt, type HeatSource, heatOf } from './source.ts'
import type { Limiter, VoltageRow } from './types.ts'
import { dieVoltageV, leakageA } from './voltage.ts'

export interface Capped {
  readonly levels: Levels
  /** Even the lowest ratio breaks `current` or `burst-power`. */
  readonly isOver: boolean
}

const heat = emptyHeat()
const bounds = emptyBounds()
const point = emptyPoint()

/** Current in A of a supply rail at a die temperature: through its load line, all that is not shared power. */
function currentAt(prepared: PreparedBench, at: RatioSource, rail: number, dieC: number): number {
  const { source } = at
  const droop = source.droop[rail]
  const { setV, dynamicWPerV2 } = railOf(at, rail)
  if (droop !== undefined) {
    const leakage = droop.leakageWPerVk * growthAt(source, dieC)
    const volts = droopVoltage(droop, leakage)
    return droop.dynamicWPerV2 * volts + leakageA(volts, setV, droop.loadLineOhm, leakage, droop.exponent)
  }
  if (prepared.rails.length === 1) {
    heatOf(source, dieC, heat)
    return (heat.powerW - prepared.bench.part.sharedPowerW) / setV
  }
  const { leakageWPerVk } = prepared.rails[rail] as PreparedRail
  const leakage = leakageWPerVk * growthAt(source, dieC)
  return dynamicWPerV2 * setV + leakage * setV ** (prepared.bench.part.leakageExponent - 1)
}

/** Whether a supply rail's current is above its limit at a die temperature. */
function exceedsCurrent(prepared: PreparedBench, at: RatioSource, dieC: number): boolean {
  if (!prepared.isLimited) return false
  const { rails } = prepared
  for (let rail = 0; rail < rails.length; rail++) {
    const { mostA } = rails[rail] as PreparedRail
    if (mostA !== undefined && currentAt(prepared, at, rail, dieC) > mostA) return true
  }
  return false
}

function powerAtC(source: HeatSource, dieC: number): number {
  heatOf(source, dieC, heat)
  return heat.powerW
}

/** Which of the two limits that hold at every instant a ratio breaks, `current` first; undefined where it keeps both. */
function brokenBy(prepared: PreparedBench, curve: PlateCurve, at: RatioSource): 'current' | 'burst-power' | undefined {
  const { burstPowerW } = prepared.bench.profile.limits
  const judgedC = Math.min(rootBelow(at.source, curve, prepared.ceilingC), prepared.ceilingC)
  if (exceedsCurrent(prepared, at, judgedC)) return 'current'
  return burstPowerW !== undefined && powerAtC(at.source, judgedC) > burstPowerW ? 'burst-power' : undefined
}

/** Whether a ratio keeps both; mostly known without its balance, from what it draws with the die cold and at D. */
function keepsLimits(prepared: PreparedBench, curve: PlateCurve, at: RatioSource): boolean {
  const { burstPowerW } = prepared.bench.profile.limits
  const mostW = burstPowerW ?? Number.POSITIVE_INFINITY
  const { ceilingC } = prepared
  const coldC = Math.min(coldStartC(at.source, curve, 0), ceilingC)
  // Current rises with temperature; so does power without a load line, and behind one it has a bound.
  if (!exceedsCurrent(prepared, at, ceilingC) && mostPower(at.source, coldC, ceilingC) <= mostW) return true
  if (exceedsCurrent(prepared, at, coldC) || leastPower(at.source, coldC, ceilingC) > mostW) return false
  return brokenBy(prepared, curve, at) === undefined
}

/** A power that none from a temperature up to D is above. */
function mostPower(source: HeatSource, fromC: number, ceilingC: number): number {
  if (source.droop.length === 0) return powerAtC(source, ceilingC)
  boundHeat(source, fromC, ceilingC, bounds)
  return bounds.mostW
}

/**
 * A power that none from a temperature up to D is below. On one rail it has one maximum at most over temperature, and no
 * minimum between; the sum of several has a bound.
 */
function leastPower(source: HeatSource, fromC: number, ceilingC: number): number {
  if (source.droop.length > 1) {
    boundHeat(source, fromC, ceilingC, bounds)
    return bounds.leastW
  }
  return Math.min(powerAtC(source, fromC), powerAtC(source, ceilingC))
}

/** The lowest balance where it lies below a temperature, else Infinity. */
function rootBelow(source: HeatSource, curve: PlateCurve, limitC: number): number {
  return lowestRootAbove(source, curve, 0, coldStartC(source, curve, 0), limitC)
}

/**
 * Whether more ratio means more current, power and dynamic power at every temperature up to `hottestC`, from the lowest
 * ratio to this one: then what one ratio keeps, every lower one keeps, and the ladder is halved instead of walked.
 *
 * It takes voltages that do not fall with the ratio; and behind a load line a die that is left half of its set voltage,
 * beyond which more current would mean less power. That share of V_set is least with the most dynamic power and leakage
 * and at one end of the voltages.
 */
function risesWithRatio(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  fromRatios: readonly number[],
  hottestC: number,
): boolean {
  const { groups } = loaded
  for (let at = 0; at < groups.length; at++) {
    const { setRows } = (groups[at] as BusyGroup).prepared
    for (let row = 1; row < setRows.length; row++) {
      if ((setRows[row] as VoltageRow).voltageV < (setRows[row - 1] as VoltageRow).voltageV) return false
    }
  }
  if (prepared.isStraight) return true
  const { leakageExponent } = prepared.bench.part
  const highest = ratioSource(prepared, loaded, fromRatios)
  const lowest = sourceDown(prepared, loaded, fromRatios, Number.POSITIVE_INFINITY)
  for (let place = 0; place < prepared.rails.length; place++) {
    const { board, groups: onRail } = prepared.rails[place] as PreparedRail
    const dynamic = railOf(highest, place).dynamicWPerV2
    // A rail without active cores draws the same at every ratio.
    if (dynamic === 0) continue
    let leakage = 0
    for (let at = 0; at < onRail.length; at++) {
      leakage += leakageWPerVk((onRail[at] as PreparedRail['groups'][number]).part, hottestC)
    }
    const keepsHalf = (at: RatioSource): boolean => {
      const { setV } = railOf(at, place)
      return 2 * dieVoltageV(setV, board.loadLineOhm, dynamic, leakage, leakageExponent) >= setV
    }
    if (!keepsHalf(lowest) || !keepsHalf(highest)) return false
  }
  return true
}

/**
 * The highest of the ratios 0 to `count` steps down that serves: halved where what one ratio keeps every lower one
 * keeps, else one after the other. `count` + 1 where none does.
 */
function highestServing(count: number, isHalved: boolean, serves: (index: number) => boolean): number {
  if (serves(0)) return 0
  if (isHalved) return firstServing(0, count + 1, serves)
  let found = 1
  while (found <= count && !serves(found)) found++
  return found
}

/** The highest ratio that keeps both limits: how many steps down, beyond their count where none does, and what names it. */
interface Cap {
  readonly found: number
  readonly limiter: Limiter | undefined
}

/** What the limits of a load in one corner come to, by the ratios that it starts from, whatever its bands are. */
export interface KeptLimits {
  readonly caps: Map<string, Cap>
  readonly means: Map<string, SustainedMean | undefined>
}

/** What was found before under these ratios, else what is found now. */
function keptOr<T>(known: Map<string, T> | undefined, ratios: readonly number[], find: () => T): T {
  if (known === undefined) return find()
  const key = ratios.join(' ')
  if (!known.has(key)) known.set(key, find())
  return known.get(key) as T
}

/**
 * The levels under the highest ratio, in ratio-steps down from the first level, that keeps both limits.
 * @param kept what was found before for this load, in this corner, with other bands
 */
export function capLevels(prepared: PreparedBench, loaded: PreparedLoad, curve: PlateCurve, kept?: KeptLimits): Capped {
  const { ladder: levels } = loaded
  const { burstPowerW } = prepared.bench.profile.limits
  const first = levels.at(0)
  if (first === undefined || (burstPowerW === undefined && !prepared.isLimited)) {
    return { levels, isOver: false }
  }
  const count = stepsDown(loaded, first.ratios)
  const at = (index: number): RatioSource => sourceDown(prepared, loaded, first.ratios, index)
  const cap = keptOr(kept?.caps, first.ratios, (): Cap => {
    // The same in every corner.
    loaded.rises ??= risesWithRatio(prepared, loaded, first.ratios, prepared.ceilingC)
    const isHalved = loaded.rises
    const highest = highestServing(count, isHalved, index => keepsLimits(prepared, curve, at(index)))
    // What the next ratio up breaks names the limiter; where none serves, the lowest one is held.
    const broken = highest === 0 ? undefined : brokenBy(prepared, curve, at(Math.max(0, Math.min(highest, count) - 1)))
    return { found: highest, limiter: broken }
  })
  const { found } = cap
  if (found === 0) return { levels, isOver: false }
  const limiter = cap.limiter ?? first.limiter
  if (found <= count) {
    return { levels: cappedLadder(levels, at(found).ratios, limiter, loaded.returnsK), isOver: false }
  }
  const lowest = lowestRatios(loaded).map((ratio, index) => Math.min(first.ratios[index] as number, ratio))
  return { levels: heldAt(lowest, limiter), isOver: true }
}

/** The clock alternating between two ratio-steps at a mean power of exactly S. */
export interface SustainedMean {
  readonly fast: RatioSource
  readonly slow: RatioSource
  readonly dieC: number
  readonly shareFast: number
}

/**
 * The highest ratio, in ratio-steps down from `capRatios`, whose lowest balance exists, is below D, draws no more
 * than S and gives shares within 0 to 1 with the ratio-step above it; undefined where none serves. The cap itself
 * has no permitted step above it, so the search begins one step below.
 * @param kept what was found before for this load, in this corner, with other bands
 */
export function sustainedMean(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  curve: PlateCurve,
  capRatios: readonly number[],
  sustainedW: number,
  kept?: KeptLimits,
): SustainedMean | undefined {
  return keptOr(kept?.means, capRatios, () => findMean(prepared, loaded, curve, capRatios, sustainedW))
}

function findMean(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  curve: PlateCurve,
  capRatios: readonly number[],
  sustainedW: number,
): SustainedMean | undefined {
  const { ceilingC } = prepared
  const { part } = prepared.bench
  const count = stepsDown(loaded, capRatios)
  curve.evaluate(sustainedW, point)
  const baseC = point.plateC + part.packageResistanceKPerW * sustainedW
  if (!Number.isFinite(baseC)) return undefined
  const sourceAt = (index: number): RatioSource => sourceDown(prepared, loaded, capRatios, index)
  const keeps = (index: number): boolean => {
    const { source } = sourceAt(index)
    const coldC = coldStartC(source, curve, 0)
    if (!(coldC < ceilingC) || leastPower(source, coldC, ceilingC) > sustainedW) return false
    // What draws no more at any temperature, and cools at D, has a balance in between.
    if (mostPower(source, coldC, ceilingC) <= sustainedW && rhsC(source, curve, 0, ceilingC) < ceilingC) return true
    const dieC = lowestRootAbove(source, curve, 0, coldC, ceilingC)
    return dieC < ceilingC && powerAtC(source, dieC) <= sustainedW
  }
  const rises = (hottestC: number): boolean => risesWithRatio(prepared, loaded, capRatios, hottestC)
  const from = 1 + highestServing(count - 1, rises(ceilingC), index => keeps(index + 1))
  const meanOf = (index: number): SustainedMean => {
    const [fast, slow] = [sourceAt(index - 1), sourceAt(index)]
    return { fast, slow, ...meanAt(fast, slow, baseC, sustainedW) }
  }
  // Shares outside 0 to 1 say that two ratios cannot make that mean at that temperature.
  const isReached = ({ shareFast }: SustainedMean): boolean => shareFast > -1e-9
  const serves = (mean: SustainedMean): boolean => isReached(mean) && mean.shareFast < 1 + 1e-9
  const within = ({ shareFast, ...mean }: SustainedMean): SustainedMean => {
    return { ...mean, shareFast: Math.min(1, Math.max(0, shareFast)) }
  }
  const hottestC = baseC + loaded.coreKPerW * sustainedW
  if (from <= count && rises(Math.max(ceilingC, hottestC))) {
    // The first two that come down to the mean; where even the faster one of these is below it, so are all that follow.
    const found = from + highestServing(count - from, true, index => isReached(meanOf(from + index)))
    const mean = found <= count ? meanOf(found) : undefined
    return mean !== undefined && serves(mean) ? within(mean) : undefined
  }
  for (let index = from; index <= count; index++) {
    const mean = index === from || keeps(index) ? meanOf(index) : undefined
    if (mean !== undefined && serves(mean)) return within(mean)
  }
  return undefined
}

/**
 * T with T = T_plate(S) + θ_package·S + θ_core·P̄_dyn/n, where the shares that make the mean power S at T give
 * P̄_dyn. The right side falls as T rises (the faster ratio's share shrinks), so there is one root.
 *
 * @param baseC T_plate(S) + θ_package·S
 */
function meanAt(
  fast: RatioSource,
  slow: RatioSource,
  baseC: number,
  sustainedW: number,
): Pick<SustainedMean, 'dieC' | 'shareFast'> {
  const { coreKPerW } = slow.source
  const dieC = rootBetween(
    (at, out) => {
      out.value = at - baseC - coreKPerW * meanHot(fast.source, slow.source, at, sustainedW)
      out.slope = Number.NaN
    },
    baseC,
    baseC + coreKPerW * sustainedW,
    baseC + coreKPerW * meanHot(fast.source, slow.source, baseC, sustainedW),
  )
  return { dieC, shareFast: shareForPower(fast.source, slow.source, dieC, sustainedW) }
}

/** Share of the faster ratio that gives a mean power at a temperature. */
function shareForPower(fast: HeatSource, slow: HeatSource, dieC: number, powerW: number): number {
  const slowW = powerAtC(slow, dieC)
  return (powerW - slowW) / (powerAtC(fast, dieC) - slowW)
}

function meanHot(fast: HeatSource, slow: HeatSource, dieC: number, powerW: number): number {
  heatOf(fast, dieC, heat)
  const { powerW: fastW, hotW: fastHotW } = heat
  heatOf(slow, dieC, heat)
  const share = Math.min(1, Math.max(0, (powerW - heat.powerW) / (fastW - heat.powerW)))
  return heat.hotW + share * (fastHotW - heat.hotW)
}
