/**
 * What the checks of wet and white surfaces have in common (model section 9). Each corner is judged against its own
 * wet point, plus the margin asked for: the `M` of `drive dew + M`, and nothing where the profile asks for none.
 */

import { keptWhile } from '../../../grammar/once.ts'
import { type Bench, type Drive, type SettledState, settle } from '../../model/index.ts'
import { isInsulated } from '../../semantic/constants.ts'
import { drivenPlate, kindOf } from '../../semantic/coolers/index.ts'
import { entry, quantity } from '../../semantic/definitions.ts'
import { driveMarginK, driveText, gentlerDrive, shareOf } from '../../semantic/drives.ts'
import { declaredFirst, type EnvelopePoint, worstPoint } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { inUnit } from '../../wording/entered.ts'
import { currentText, differenceText, statedText, temperatureText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import type { Fix, Found, Severity } from '../types.ts'
import { deciderWords } from './deciders.ts'
import { replace, setWhole } from './physics-edits.ts'
import { keyPlace, originOf } from './physics-rows.ts'

/** Margin that the fixes write: the coating trade's rule of thumb, surface at least 3 K above the dew point. */
const tradeMarginK = 3
const toleranceK = 1e-6
const nowhere = { name: 'plate', temperatureC: 0 } as const

/** Temperature of the coldest surface that room air can reach; undefined where nothing is steady. */
function coldestSurfaceC({ cooler }: Bench, settled: EnvelopePoint['settled']): number | undefined {
  return kindOf(cooler).coldestSurface(settled)?.temperatureC
}

/** How far a surface lies below the wet point and the margin asked for, 0 on the wet point itself; undefined where it does not. */
function shortfallK(bench: Bench, settled: EnvelopePoint['settled']): number | undefined {
  const surfaceC = coldestSurfaceC(bench, settled)
  if (surfaceC === undefined) return undefined
  const short = settled.wetC + driveMarginK(bench.profile.drive) - surfaceC
  if (short > toleranceK) return short
  return surfaceC <= settled.wetC + toleranceK ? 0 : undefined
}

/** Whether a surface has the finding, and is below 0 °C (`frost`) or not (`wet`). */
export function wetness(bench: Bench, settled: EnvelopePoint['settled']): 'wet' | 'frost' | undefined {
  if (shortfallK(bench, settled) === undefined) return undefined
  return (coldestSurfaceC(bench, settled) ?? 0) < -toleranceK ? 'frost' : 'wet'
}

function severityOf(isDry: boolean, evaluation: Evaluation): Severity {
  const { cooler } = evaluation.profile
  if (cooler !== undefined && isInsulated(cooler)) return 'hint'
  return isDry ? 'warning' : 'error'
}

/** Whether these points stay so far above their wet points under another drive. */
function staysDry(bench: Bench, points: readonly EnvelopePoint[], drive: Drive, marginK: number): boolean {
  const other = { ...bench, profile: { ...bench.profile, drive } }
  // The least heat in each corner is where a plate without current is coldest.
  return coldestByCorner(bench, points).every(point => {
    const settled = settle(other, point.load, point.corner)
    const surfaceC = settled === null ? undefined : coldestSurfaceC(other, settled)
    return settled !== null && surfaceC !== undefined && surfaceC > settled.wetC + marginK - toleranceK
  })
}

/** The same way of driving the plate less hard, and a drive to the dew point with the trade's margin: what trying shows to help. */
function gentlerDrives(evaluation: Evaluation, bench: Bench, bad: readonly EnvelopePoint[]): readonly Fix[] {
  if (drivenPlate(bench.cooler) === undefined) return []
  const { drive } = bench.profile
  const marginK = Math.max(tradeMarginK, driveMarginK(drive))
  const byDew: Drive = { kind: 'dew', marginK }
  // A supply that only has knobs stays one: the same setting, lower, is what its owner can enter.
  const lower = gentlerDrive(drive, other => staysDry(bench, bad, other, marginK))
  const all = [lower, staysDry(bench, bad, byDew, marginK) ? byDew : undefined]
  return all.flatMap((one, index) => {
    const line = one && `drive ${driveText(one)}`
    const edit = line && setWhole(evaluation.profile, evaluation.profile.key('drive'), undefined, line)
    if (!edit) return []
    const isFirst = all.findIndex(other => other !== undefined) === index
    return [{ title: `Write \`${line}\``, edits: [edit], ...(isFirst ? { preferred: true as const } : {}) }]
  })
}

/** A warmer chilled coolant: half a kelvin steps, above every corner's wet point by the trade's margin. */
function warmerCoolant({ profile }: Evaluation, bench: Bench, bad: readonly EnvelopePoint[]): readonly Fix[] {
  const statement = profile.cooler && entry(profile.cooler.match, 'coolant')
  const written = statement && quantity(statement)
  if (profile.cooler === undefined || written === undefined) return []
  const wetC = Math.max(...bad.map(point => point.settled.wetC))
  const marginK = Math.max(tradeMarginK, driveMarginK(bench.profile.drive))
  const text = inUnit(Math.ceil(2 * (wetC + marginK)) / 2, written.unit, 1).replace('.0 ', ' ')
  return [{ title: `Warm the coolant to ${text}`, edits: [replace(profile.cooler, written, text)], preferred: true }]
}

/** In each corner the point with the coldest surface: it alone decides whether the corner has water or ice. */
function coldestByCorner(bench: Bench, points: readonly EnvelopePoint[]): readonly EnvelopePoint[] {
  const before = coldestOf.of(points, [bench])
  return before ?? coldestOf.keep(points, [bench], findColdest(bench, points))
}

/** Evicted with the points, which profiles on one bench share. */
const coldestOf = keptWhile<readonly EnvelopePoint[], readonly EnvelopePoint[]>()

function findColdest(bench: Bench, points: readonly EnvelopePoint[]): readonly EnvelopePoint[] {
  const coldest = new Map<string, { point: EnvelopePoint; surfaceC: number }>()
  for (const point of declaredFirst(points)) {
    const surfaceC = coldestSurfaceC(bench, point.settled)
    if (surfaceC === undefined) continue
    const key = `${point.corner.airC} ${point.corner.humidityPct}`
    const before = coldest.get(key)
    if (before === undefined || surfaceC < before.surfaceC - toleranceK) coldest.set(key, { point, surfaceC })
  }
  return [...coldest.values()].map(({ point }) => point)
}

/** Which drive cools the plate that far, where it has no target that would keep it from it. */
function drivenThere({ profile: { drive } }: Bench, { notes: { plate } }: EnvelopePoint['settled']): string {
  if (plate === null || plate.targetC !== null || !(plate.flowingA > 0)) return ''
  const pulses = shareOf(drive) === 1 ? '' : ' in pulses'
  return ` \`drive ${driveText(drive)}\` cools it that far, with ${currentText(plate.flowingA)}${pulses} through each module.`
}

/** The fixes that keep the surfaces of these points dry. */
function dryFixes(evaluation: Evaluation, bench: Bench, bad: readonly EnvelopePoint[]): readonly Fix[] {
  return [...gentlerDrives(evaluation, bench, bad), ...warmerCoolant(evaluation, bench, bad)]
}

/**
 * The one finding about these points: the worst of them, in its own corner.
 *
 * @param kind which of the two findings is asked for; undefined for both
 */
export function wetFinding(
  evaluation: Evaluation,
  points: readonly EnvelopePoint[],
  kind: 'wet' | 'frost' | undefined,
): Found | undefined {
  const { bench } = evaluation.input
  if (bench === undefined) return undefined
  const found = worstPoint(coldestByCorner(bench, points), ({ settled }) => {
    const is = wetness(bench, settled)
    return is !== undefined && (kind === undefined || is === kind) ? shortfallK(bench, settled) : undefined
  })
  if (found === undefined) return undefined
  const { point } = found
  const bad = points.filter(({ settled }) => shortfallK(bench, settled) !== undefined)
  const { wetC } = point.settled
  const { name: surface, temperatureC: surfaceC } = kindOf(bench.cooler).coldestSurface(point.settled) ?? nowhere
  const isDry = surfaceC >= wetC - toleranceK
  const name = wetC < 0 ? 'frost point' : 'dew point'
  const figures =
    surfaceC <= wetC + toleranceK && isDry
      ? `just at the ${name}`
      : isDry
        ? `${differenceText(surfaceC - wetC)} above the ${name} of ${temperatureText(wetC)}, less than \`dew + ${statedText(driveMarginK(bench.profile.drive), 'K')}\` asks for`
        : `${differenceText(wetC - surfaceC)} below the ${name} of ${temperatureText(wetC)}`
  const what =
    surfaceC < -toleranceK ? 'ice grows on it and later melts over the board' : 'water gathers and runs onto the board'
  const insulated = evaluation.profile.cooler !== undefined && isInsulated(evaluation.profile.cooler)
  const why = isDry
    ? `a damp day is enough for ${surfaceC < -toleranceK ? 'ice' : 'water'} on it`
    : insulated
      ? 'behind the insulation it stays dry only while no room air gets in'
      : what
  const fixes = insulated ? [] : dryFixes(evaluation, bench, bad)
  const way = fixes.length > 0 ? ` ${fixes[0]?.title} to stay above it in every corner.` : ''
  const driven = drivenThere(bench, point.settled)
  const isFine = (settled: SettledState): boolean => shortfallK(bench, settled) === undefined
  const decided = deciderWords(bench, point, isFine, 'stay dry')
  const caution = isDry || insulated ? '' : ' Water near live parts is a danger to person and bench.'
  return {
    at: keyPlace(evaluation, drivenPlate(bench.cooler) === undefined ? 'cooler' : 'drive', 'cooler'),
    ...originOf(evaluation, point),
    severity: severityOf(isDry, evaluation),
    message: `${surface === 'plate' ? 'Plate' : 'Coolant'} ${figures}: ${pointWords(point)}, at ${temperatureText(surfaceC)}; ${why}.${driven}${decided}${way}${caution}`,
    fixes,
  }
}
