/** The temperatures that a log would have come to: at rest, under the load as it was at its end. */
import { settledCoolantC } from '../../model/cooler/index.ts'
import type { Duty } from '../../model/cooler/kind.ts'
import { dutyAt } from '../../model/fan.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import type { FigureKind } from '../log/figures.ts'
import type { Block } from './blocks.ts'
import type { LogEvidence } from './log.ts'
import { isDriveKnown } from './log-point.ts'
import { UNKNOWN_DIE_C } from './sitting.ts'
import { type Driven, drivenCoolantC, overPlateK, riseKPerWOf } from './stages.ts'

/** What the sensors would read: °C and W. */
export interface Settled {
  readonly dieC: number
  readonly plateC: number
  readonly coolantC: number
  readonly powerW: number
}

const ROUNDS = 300
const STILL_K = 1e-9
/** Blocks whose power is within this share of the last one's are of its level; engineering judgement. */
const ONE_LEVEL = 0.03
/** At most this share of the last stretch under the load counts as its end; engineering judgement. */
const LAST_SHARE = 0.5

interface Weighed {
  readonly index: number
  readonly weight: number
}

/** First and last block of the log's last stretch under the load; undefined where it never was. */
export function lastLoaded(blocks: readonly Block[]): { readonly start: number; readonly end: number } | undefined {
  const end = blocks.findLastIndex(({ isLoaded }) => isLoaded)
  if (end < 0) return undefined
  let start = end
  while (blocks[start - 1]?.isLoaded === true && blocks[start - 1]?.episode === blocks[end]?.episode) start--
  return { start, end }
}

/** The blocks at the end of that stretch, with shares that add up to one. */
export function lastLevel(blocks: readonly Block[]): readonly Weighed[] {
  const stretch = lastLoaded(blocks)
  if (stretch === undefined) return []
  const { start, end } = stretch
  const own = blocks[end] as Block
  const whole = own.toS - (blocks[start] as Block).fromS
  let first = end
  while (first > start) {
    const before = blocks[first - 1] as Block
    if (own.toS - before.fromS > LAST_SHARE * whole) break
    const [power, other] = [own.means.power, before.means.power]
    if (power !== undefined && other !== undefined && Math.abs(other / power - 1) > ONE_LEVEL) break
    first--
  }
  const taken = blocks.slice(first, end + 1)
  const total = taken.reduce((sum, { fromS, toS }) => sum + toS - fromS, 0)
  return taken.map(({ fromS, toS }, index) => ({ index: first + index, weight: (toS - fromS) / total }))
}

/** The mean of a figure at the end of the load; undefined where it was not read there. */
export function endMean(blocks: readonly Block[], kind: FigureKind): number | undefined {
  const last = lastLevel(blocks)
  const mean = last.reduce((sum, { index, weight }) => sum + weight * (blocks[index]?.means[kind] ?? Number.NaN), 0)
  return last.length === 0 || Number.isNaN(mean) ? undefined : mean
}

const driven: Driven = { plateC: 0, outW: 0, supplyV: 0 }

/**
 * @param values shared errors, in their standard deviations
 * @returns undefined where the bench has no balance there
 */
export function settledWith(
  evidence: LogEvidence,
  at: ArrayLike<number>,
  values: ArrayLike<number>,
): Settled | undefined {
  const { point, blocks, course, benchAt } = evidence
  const last = lastLevel(blocks)
  if (last.length === 0) return undefined
  const { part, cooler = evidence.cooler } = benchAt(at)
  const own = evidence.errorsAt
  own.set(values)
  if (!course.follow(part, cooler, own)) return undefined
  const { work } = point
  const mean = (of: (index: number) => number | undefined): number =>
    last.reduce((sum, { index, weight }) => sum + weight * (of(index) ?? Number.NaN), 0)
  const airC = point.air.value + own.of('air')
  const measuredW = mean(index => course.powerW[index])
  const currentA = (mean(index => blocks[index]?.means.drive ?? point.instead.driveA ?? 0) || 0) * (1 + own.of('drive'))
  const fanPct = mean(index => blocks[index]?.means.fan)
  const duty: Duty = Number.isNaN(fanPct) ? coolant => dutyAt(point.fan, coolant) : fanPct
  /** The law over the blocks at the end, at a die temperature; without one at those that were logged. */
  const lawW = (dieC: number | undefined): { readonly powerW: number; readonly leakageW: number } | undefined => {
    let [powerW, leakageW] = [0, 0]
    for (const { index, weight } of last) {
      const block = blocks[index] as Block
      const logged =
        block.means.die === undefined
          ? course.expected[0]?.[index] || UNKNOWN_DIE_C
          : block.means.die - own.at('sensor', 0)
      if (!course.askLaw(part, block, dieC ?? logged, own)) return undefined
      powerW += weight * course.law.powerW
      leakageW += weight * course.law.leakageW
    }
    return { powerW, leakageW }
  }
  // Where nobody knows what drives the plate it stays where it was read, or is held.
  const modules = drivenPlate(cooler)
  const isBlind = modules !== undefined && !isDriveKnown(point)
  const readPlateC = mean(index => blocks[index]?.means.plate)
  const then = lawW(undefined)
  let dieC = mean(index => blocks[index]?.means.die)
  if (Number.isNaN(dieC)) dieC = UNKNOWN_DIE_C
  for (let round = 0; round < ROUNDS; round++) {
    const law = then && lawW(dieC)
    const powerW = measuredW * (then === undefined || law === undefined ? 1 : law.powerW / then.powerW)
    const riseKPerW = law !== undefined && work?.groups !== undefined ? course.law.riseKPerW : riseKPerWOf(part, work)
    const dynamicW = work === undefined ? 0 : Math.max(0, powerW - part.sharedPowerW - (law?.leakageW ?? 0))
    let coolantC = settledCoolantC(cooler, airC, duty, powerW) + own.at('stage', 2)
    let plateC = coolantC + cooler.blockResistanceKPerW * powerW
    if (isBlind) {
      plateC =
        (Number.isNaN(readPlateC) ? (point.instead.plate?.value ?? Number.NaN) : readPlateC) - own.at('sensor', 1)
    } else if (modules !== undefined) {
      const found = drivenCoolantC(modules, airC, duty, powerW, currentA, own.at('stage', 2), driven)
      if (found === undefined) return undefined
      coolantC = found
      plateC = driven.plateC
    }
    if (!isBlind) plateC += own.at('stage', 1)
    const next = plateC + overPlateK(part, riseKPerW, powerW, dynamicW) + own.at('stage', 0)
    if (!(Math.abs(next) < 400)) return undefined
    const isStill = Math.abs(next - dieC) < STILL_K
    dieC = next
    if (isStill)
      return {
        dieC: dieC + own.at('sensor', 0),
        plateC: plateC + own.at('sensor', 1),
        coolantC: coolantC + own.at('sensor', 2),
        powerW: powerW / (1 + own.of('power')),
      }
  }
  return undefined
}
