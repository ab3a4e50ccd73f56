/** What can be known of a bench, a load or a corner once and used for many predictions. */

import { prepareCurve } from './cooler/index.ts'
import type { CoolerCurve } from './cooler/kind.ts'
import { wetPointC } from './humidity.ts'
import { coreRiseKPerW, dynamicWPerV2, leakageWPerVk } from './power.ts'
import { dieCeilingC, type Level, ladderLevels } from './ratio.ts'
import { growthPerK, type HeatSource, noneFound, unsought } from './source.ts'
import type { Bench, Corner, Load, VoltageRow } from './types.ts'
import { setVoltageRows, setVoltageV } from './voltage.ts'

export type WorkLoad = Extract<Load, { kind: 'work' }>

/** A load held at one ratio. */
export interface RatioSource {
  readonly ratio: number
  readonly setV: number
  readonly source: HeatSource
}

export interface PreparedLoad {
  readonly load: WorkLoad
  /** Empty where no step row covers the load. */
  readonly levels: readonly Level[]
  readonly byRatio: Map<number, RatioSource>
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
  readonly setRows: readonly VoltageRow[]
  /** Leakage in W/V^k at the part's `leakage-at` temperature. */
  readonly leakageWPerVk: number
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
  return {
    bench,
    ceilingC: dieCeilingC(part, profile),
    setRows: setVoltageRows(part, profile.voltage),
    leakageWPerVk: leakageWPerVk(part, part.leakageAtC),
    growthPerK: growthPerK(part.leakageDoublingK),
    loads: [],
    nextLoad: 0,
    corners: [...corners],
    nextCorner: corners.length % CORNERS_KEPT,
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
  const levels = ladderLevels(prepared.bench.part, prepared.bench.profile, load)
  const made: PreparedLoad = { load, levels, byRatio: new Map() }
  prepared.loads[prepared.nextLoad] = made
  prepared.nextLoad = (prepared.nextLoad + 1) % LOADS_KEPT
  return made
}

/** The load at one ratio as a source of heat. */
export function ratioSource(prepared: PreparedBench, loaded: PreparedLoad, ratio: number): RatioSource {
  const known = loaded.byRatio.get(ratio)
  if (known !== undefined) return known
  const { part, board } = prepared.bench
  const { cores, activity } = loaded.load
  const setV = setVoltageV(prepared.setRows, board, ratio)
  const dynamic = dynamicWPerV2(part, cores, activity, ratio)
  const straight = board.loadLineOhm === 0
  const dynamicBaseW = straight ? dynamic * setV * setV : 0
  const made: RatioSource = {
    ratio,
    setV,
    source: {
      baseW: part.sharedPowerW + dynamicBaseW,
      leakageW: straight ? prepared.leakageWPerVk * setV ** part.leakageExponent : 0,
      leakageAtC: part.leakageAtC,
      growthPerK: prepared.growthPerK,
      dynamicBaseW,
      packageKPerW: part.packageResistanceKPerW,
      coreKPerW: coreRiseKPerW(part, loaded.load),
      droop: straight
        ? []
        : [
            {
              share: 1,
              setV,
              loadLineOhm: board.loadLineOhm,
              dynamicWPerV2: dynamic,
              leakageWPerVk: prepared.leakageWPerVk,
              exponent: part.leakageExponent,
              found: noneFound(),
            },
          ],
      least: straight ? unsought : noneFound(),
    },
  }
  loaded.byRatio.set(ratio, made)
  return made
}
