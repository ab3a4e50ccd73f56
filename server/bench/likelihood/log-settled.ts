/** Where a log would have come to: all stands still under the load as it was at the end of the log. */
import { dutyAt } from '../../model/fan.ts'
import type { FigureKind } from '../log/figures.ts'
import type { Block } from './blocks.ts'
import type { LogEvidence } from './log.ts'
import { isDriveKnown } from './log-point.ts'
import { coolantC as coolantOver, type Driven, type Duty, drivenPlate, overPlateK } from './stages.ts'

/** What the sensors read then: °C and W. */
export interface Settled {
  readonly dieC: number
  readonly plateC: number
  readonly coolantC: number
  readonly powerW: number
}

const ROUNDS = 300
const STILL_K = 1e-9
const COUPLED_ROUNDS = 12
/** Blocks at the end whose power is this near to the last one's are of its level. */
const ONE_LEVEL = 0.03
/** So much of the last stretch under the load, at most, says at what it ends. */
const LAST_SHARE = 0.5

interface Weighed {
  readonly index: number
  readonly weight: number
}

/** The blocks at the end of the log's last stretch under the load, with shares that add up to one. */
export function lastLevel(blocks: readonly Block[]): readonly Weighed[] {
  const end = blocks.findLastIndex(({ isLoaded }) => isLoaded)
  const own = blocks[end]
  if (own === undefined) return []
  let start = end
  while (blocks[start - 1]?.isLoaded === true && blocks[start - 1]?.episode === own.episode) start--
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
 * @returns undefined where nothing stands still there
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
  /** The law over the blocks at the end, the die as warm as it would be; at the logged temperatures without one. */
  const lawW = (dieC: number | undefined): { readonly powerW: number; readonly leakageW: number } | undefined => {
    let [powerW, leakageW] = [0, 0]
    for (const { index, weight } of last) {
      const block = blocks[index] as Block
      const logged =
        block.means.die === undefined ? course.expected[0]?.[index] || 60 : block.means.die - own.at('sensor', 0)
      if (!course.askLaw(part, block, dieC ?? logged, own)) return undefined
      powerW += weight * course.law.powerW
      leakageW += weight * course.law.leakageW
    }
    return { powerW, leakageW }
  }
  // What holds the plate is not known: it stays where it was read, or is held.
  const isBlind = cooler.kind === 'thermoelectric' && !isDriveKnown(point)
  const readPlateC = mean(index => blocks[index]?.means.plate)
  const then = lawW(undefined)
  let dieC = mean(index => blocks[index]?.means.die)
  if (Number.isNaN(dieC)) dieC = 60
  for (let round = 0; round < ROUNDS; round++) {
    const law = then && lawW(dieC)
    const powerW = measuredW * (then === undefined || law === undefined ? 1 : law.powerW / then.powerW)
    const dynamicW = work === undefined ? 0 : Math.max(0, powerW - part.sharedPowerW - (law?.leakageW ?? 0))
    let coolantC = coolantOver(cooler, airC, duty, powerW) + own.at('stage', 2)
    let plateC = coolantC + cooler.blockResistanceKPerW * powerW
    if (isBlind) {
      plateC =
        (Number.isNaN(readPlateC) ? (point.instead.plate?.value ?? Number.NaN) : readPlateC) - own.at('sensor', 1)
    } else if (cooler.kind === 'thermoelectric') {
      let outW = powerW
      for (let coupled = 0; coupled < COUPLED_ROUNDS; coupled++) {
        coolantC = coolantOver(cooler, airC, duty, outW) + own.at('stage', 2)
        if (!drivenPlate(cooler, airC, coolantC, powerW, currentA, driven)) return undefined
        if (Math.abs(driven.outW - outW) < 1e-7 * (1 + Math.abs(outW))) break
        outW = driven.outW
      }
      plateC = driven.plateC
    }
    if (!isBlind) plateC += own.at('stage', 1)
    const next = plateC + overPlateK(part, work, powerW, dynamicW) + own.at('stage', 0)
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
