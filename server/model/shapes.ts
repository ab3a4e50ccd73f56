/** The shapes behind a settled figure: the levels that a clock walks down, and the curves of heat made and heat carried. */

import { lowestRoot } from './balance.ts'
import { emptyPoint, type PlateCurve, RUNAWAY_C } from './cooler/curve.ts'
import { capLevels } from './limits.ts'
import { isWork, restPowerW } from './loads.ts'
import {
  type PreparedBench,
  type PreparedCorner,
  prepareBench,
  prepareCorner,
  prepareLoad,
  type WorkLoad,
} from './prepare.ts'
import type { Level } from './ratio.ts'
import { ratioSource } from './ratio-source.ts'
import { heldRatios } from './settled-groups.ts'
import { constantSource, emptyHeat, type HeatSource, heatOf, mixedSource } from './source.ts'
import type { Bench, Corner, Load, Settled } from './types.ts'

/** The levels of a load in a corner, fastest first, under the caps of `current` and `burst-power`; none where no step covers it. */
export function levelsIn(bench: Bench, load: WorkLoad, corner: Corner): readonly Level[] {
  const prepared = prepareBench(bench)
  return capLevels(prepared, prepareLoad(prepared, load), prepareCorner(prepared, corner).curve).levels.all()
}

/** A place on a curve of heat and plate temperature. */
interface HeatPoint {
  readonly heatW: number
  readonly plateC: number
}

interface MadeCurve {
  /** Of each group that has active cores, in the part's order; empty for a load without a clock. */
  readonly ratios: readonly number[]
  readonly points: readonly (HeatPoint & { readonly dieC: number })[]
}

/** What ends the margin. */
interface Edge extends HeatPoint {
  readonly dieC: number
  /** The die is at its ceiling there, or there is no balance beyond it. */
  readonly by: 'die-limit' | 'no-balance'
}

export interface CoolingShape {
  /** The plate's temperature under each heat, as far as the cooler carries it. */
  readonly carried: readonly (HeatPoint & { readonly driveA: number | null })[]
  /** The heat that the part makes at each plate temperature: the ratio it settles at last, the one it started from first. */
  readonly made: readonly MadeCurve[]
  /** The last of them with the margin added, which touches the carried curve at the edge; none without a margin. */
  readonly moved: readonly HeatPoint[]
  readonly edge: Edge | undefined
}

const SAMPLES = 120
const heat = emptyHeat()

/**
 * The heat that a source makes at each plate temperature. At a die temperature T it makes P(T), and the plate under it is
 * at T − θ_package·(P + x) − θ_core·P_dyn/n with x more heat passing the package (model sections 4 and 9).
 */
function madeBy(source: HeatSource, extraW: number, fromC: number, toC: number): MadeCurve['points'] {
  return Array.from({ length: SAMPLES + 1 }, (_, index) => {
    const dieC = fromC + ((toC - fromC) * index) / SAMPLES
    heatOf(source, dieC, heat)
    const heatW = heat.powerW + extraW
    return { heatW, dieC, plateC: dieC - source.packageKPerW * heatW - source.coreKPerW * heat.hotW }
  })
}

function edgeOf(source: HeatSource, curve: PlateCurve, ceilingC: number, marginW: number): Edge | undefined {
  // A trace less than the margin: at the margin itself the curves touch in one place, which a search may pass.
  const dieC = lowestRoot(source, curve, marginW - 1e-9 * (1 + Math.abs(marginW)))
  if (!(dieC < RUNAWAY_C)) return undefined
  heatOf(source, dieC, heat)
  const heatW = heat.powerW + marginW
  const point = emptyPoint()
  curve.evaluate(heatW, point)
  const by = dieC > ceilingC - 0.1 ? 'die-limit' : 'no-balance'
  return Number.isFinite(point.plateC) ? { heatW, dieC, plateC: point.plateC, by } : undefined
}

interface Made {
  readonly ratios: readonly number[]
  readonly source: HeatSource
}

/** The ratios in question, where a cold start begins, and where it ends: at the faster and the slower of two. */
function sourcesOf(
  prepared: PreparedBench,
  cornered: PreparedCorner,
  load: Load,
  settled: Pick<Settled, 'ratioHigh' | 'ratioLow' | 'groups'>,
): { readonly sources: readonly Made[]; readonly fast: Made; readonly slow: Made } {
  const { part } = prepared.bench
  if (!isWork(load)) {
    const rest = { ratios: [], source: constantSource(restPowerW(load, part), part.packageResistanceKPerW) }
    return { sources: [rest], fast: rest, slow: rest }
  }
  const loaded = prepareLoad(prepared, load)
  const first = capLevels(prepared, loaded, cornered.curve).levels.at(0)
  const fast = ratioSource(prepared, loaded, heldRatios(prepared, loaded, settled, 'ratioHigh'))
  const slow = ratioSource(prepared, loaded, heldRatios(prepared, loaded, settled, 'ratioLow'))
  const begin = first === undefined ? [] : [ratioSource(prepared, loaded, first.ratios)]
  return { sources: [...new Set([...begin, fast, slow])], fast, slow }
}

/**
 * Heat made and heat carried for one load in one corner.
 * @param settled what `settle` says of it
 */
export function coolingShape(bench: Bench, load: Load, corner: Corner, settled: Settled): CoolingShape {
  const prepared = prepareBench(bench)
  const cornered = prepareCorner(prepared, corner)
  const { curve } = cornered
  curve.begin()
  const { ceilingC } = prepared
  const { sources, fast, slow } = sourcesOf(prepared, cornered, load, settled)
  const { shareHigh, marginW, powerW } = settled
  const last = shareHigh !== null && shareHigh < 1 ? mixedSource(fast.source, slow.source, shareHigh) : slow.source
  const edge = marginW === null || powerW === null ? undefined : edgeOf(last, curve, ceilingC, marginW)
  const mostW = Math.max(1, (powerW ?? 0) * 1.25, (edge?.heatW ?? 0) * 1.24, (bench.cooler.ratingW ?? 0) * 1.05)
  const point = emptyPoint()
  const carried: CoolingShape['carried'][number][] = []
  for (let index = 0; index <= SAMPLES; index++) {
    const heatW = (mostW * index) / SAMPLES
    curve.evaluate(heatW, point)
    if (!Number.isFinite(point.plateC)) break
    carried.push({ heatW, plateC: point.plateC, driveA: curve.figuresAt(heatW).driveA })
  }
  const coldC = Math.min(corner.airC, ...carried.map(({ plateC }) => plateC)) - 5
  const made = sources.map(({ ratios, source }) => ({ ratios, points: madeBy(source, 0, coldC, ceilingC) }))
  const isMoved = marginW !== null && marginW > 0
  return { carried, made, moved: isMoved ? madeBy(last, marginW, coldC, ceilingC) : [], edge }
}
