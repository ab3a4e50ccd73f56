/** Model sections 7 and 8 by groups: where the ladder comes to rest, and sharing time between two levels. */
import type { Limiter, State } from '../../server/model/types.ts'
import type { Ratios } from './chip.ts'
import { dieTemperatureC, type Running, rightHandSideC, running } from './die.ts'
import { type Cap, type Case, ceilingRatios, dieCeilingC, isBelow, type Level, lastCount, scanAt } from './levels.ts'
import { allRoots, crossing, evenly } from './numeric.ts'

/** What a controller that holds an outcome has in force: bands entered up to a temperature, and ratio-steps given back. */
export interface InForce {
  readonly enteredC: number
  readonly byDie: number
  readonly byPower: number
}

export type Outcome =
  | {
      readonly kind: 'steady'
      readonly state: State
      readonly limiter: Limiter
      readonly ratios: Ratios
      readonly dieC: number
      readonly inForce: InForce
    }
  | {
      readonly kind: 'alternating'
      readonly state: State
      readonly limiter: Limiter
      readonly high: Ratios
      readonly low: Ratios
      readonly shareHigh: number
      readonly dieC: number
      readonly atC: number | null
      readonly inForce: InForce
    }
  | { readonly kind: 'runaway'; readonly limiter: Limiter }

export type Settling = Exclude<Outcome, { kind: 'runaway' }>

const mix = (share: number, high: number, low: number): number => share * high + (1 - share) * low

const runningAt = (here: Case, ratios: Ratios, dieC: number): Running => running(here.chip, here.task, ratios, dieC)

/** The share of time at the faster level that makes the mean power give exactly this die temperature. */
const shareAt = (here: Case, high: Ratios, low: Ratios, dieC: number): number => {
  const fast = runningAt(here, high, dieC)
  const slow = runningAt(here, low, dieC)
  const tooHot = (share: number): number =>
    dieTemperatureC(here.bench, here.corner, mix(share, fast.powerW, slow.powerW), mix(share, fast.riseK, slow.riseK)) -
    dieC
  if (tooHot(1) <= 0) return 1
  if (tooHot(0) >= 0) return 0
  return crossing(tooHot, 0, 1)
}

const inForceAt = ({ enteredC, givenBack }: Level): InForce => ({ enteredC, byDie: givenBack, byPower: 0 })

/** Section 7, walked level by level. */
export const walk = (here: Case, levels: readonly Level[]): Outcome => {
  const { bench, corner, chip, task } = here
  const ceilingC = dieCeilingC(bench)
  const first = levels[0]
  if (!first) throw new Error('a ladder has a level')
  let dieC = scanAt(here, first.ratios).roots[0] ?? Number.POSITIVE_INFINITY
  for (let index = 0; ; index += 1) {
    const level = levels[index]
    if (!level) throw new Error('a ladder has a last level')
    const next = levels[index + 1]
    const { limiter, ratios } = level
    const state = limiter === 'die-limit' ? 'throttled' : 'steady'
    const inForce = inForceAt(level)
    if (!next) {
      if (isBelow(here, dieC, ceilingC)) return { kind: 'steady', state, limiter, ratios, dieC, inForce }
      if (dieC < Number.POSITIVE_INFINITY)
        return { kind: 'steady', state: 'over-limit', limiter, ratios, dieC, inForce }
      return { kind: 'runaway', limiter }
    }
    const thresholdC = next.enteredC
    if (isBelow(here, dieC, thresholdC)) return { kind: 'steady', state, limiter, ratios, dieC, inForce }
    const { roots } = scanAt(here, next.ratios)
    if (!isBelow(here, rightHandSideC(chip, corner, task, next.ratios, thresholdC), thresholdC)) {
      dieC = roots.find(root => root > thresholdC) ?? Number.POSITIVE_INFINITY
      continue
    }
    const cooled = roots.filter(root => root < thresholdC).pop()
    if (cooled === undefined) throw new Error('the die cools without end')
    const atCeiling = thresholdC === ceilingC
    if (isBelow(here, cooled, thresholdC - next.returnK)) {
      const meanC = thresholdC - next.returnK / 2
      return {
        kind: 'alternating',
        state: atCeiling ? 'throttled' : 'alternating',
        limiter: atCeiling ? 'die-limit' : next.limiter,
        high: ratios,
        low: next.ratios,
        shareHigh: shareAt(here, ratios, next.ratios, meanC),
        dieC: meanC,
        atC: thresholdC,
        inForce: inForceAt(next),
      }
    }
    dieC = cooled
  }
}

/** Weighted means of section 7, set voltages those of the faster level; a steady clock is one level for all of the time. */
export const meanOf = (here: Case, outcome: Settling, dieC: number): Running => {
  if (outcome.kind === 'steady') return runningAt(here, outcome.ratios, dieC)
  const fast = runningAt(here, outcome.high, dieC)
  const slow = runningAt(here, outcome.low, dieC)
  const mean = (one: number, other: number | undefined): number => mix(outcome.shareHigh, one, other ?? Number.NaN)
  return {
    groups: fast.groups.map((one, index) => {
      const other = slow.groups[index]
      return {
        clockGhz: mean(one.clockGhz, other?.clockGhz),
        dynamicW: mean(one.dynamicW, other?.dynamicW),
        leakageW: mean(one.leakageW, other?.leakageW),
        riseK: mean(one.riseK, other?.riseK),
      }
    }),
    rails: fast.rails.map((one, index) => {
      const other = slow.rails[index]
      return { setV: one.setV, dieV: mean(one.dieV, other?.dieV), currentA: mean(one.currentA, other?.currentA) }
    }),
    dynamicW: mean(fast.dynamicW, slow.dynamicW),
    leakageW: mean(fast.leakageW, slow.leakageW),
    powerW: mean(fast.powerW, slow.powerW),
    riseK: mean(fast.riseK, slow.riseK),
  }
}

/** The sustained-power rule of section 8: the smallest k beyond the cap that serves, with the level above it; undefined where none does. */
export const sustainedOf = (here: Case, cap: Cap, limitW: number): Outcome | undefined => {
  const { chip, task } = here
  for (let count = cap.count + 1; count <= lastCount(chip, task); count += 1) {
    const ratios = ceilingRatios(chip, task, count)
    const lowest = scanAt(here, ratios).roots[0]
    if (lowest === undefined || !isBelow(here, lowest, dieCeilingC(here.bench))) continue
    if (isBelow(here, limitW, runningAt(here, ratios, lowest).powerW)) continue
    const shared = sharedAt(here, ceilingRatios(chip, task, count - 1), ratios, limitW)
    if (shared) return { ...shared, inForce: { ...nothingInForce, byPower: count - cap.count } }
  }
  return undefined
}

const nothingInForce: InForce = { enteredC: Number.NEGATIVE_INFINITY, byDie: 0, byPower: 0 }

/** Two levels at a mean power of exactly the limit; undefined where no share within 0 and 1 gives it. */
const sharedAt = (here: Case, above: Ratios, below: Ratios, limitW: number) => {
  const { bench, corner } = here
  const share = (dieC: number): number => {
    const slowW = runningAt(here, below, dieC).powerW
    return (limitW - slowW) / (runningAt(here, above, dieC).powerW - slowW)
  }
  // Only the core term depends on the share; the rest of the temperature belongs to the limit itself.
  const baseC = dieTemperatureC(bench, corner, limitW, 0)
  const tooHot = (dieC: number): number =>
    baseC + mix(share(dieC), runningAt(here, above, dieC).riseK, runningAt(here, below, dieC).riseK) - dieC
  const widestK = runningAt(here, above, baseC).riseK
  const places = allRoots(tooHot, evenly(baseC - 1, baseC + 2 * widestK + 1, 400)).roots
  for (const root of places) here.gaps.push(Math.abs(share(root)), Math.abs(1 - share(root)))
  const dieC = places.find(root => share(root) >= 0 && share(root) <= 1)
  if (dieC === undefined) return undefined
  return {
    kind: 'alternating' as const,
    state: 'alternating' as const,
    limiter: 'sustained-power' as const,
    high: above,
    low: below,
    shareHigh: share(dieC),
    dieC,
    atC: null,
  }
}

/** Where no level serves the lowest holds, at its lowest balance, judged as section 7 judges its last level. */
export const lowestHeld = (here: Case, cap: Cap): Outcome => {
  const last = lastCount(here.chip, here.task)
  const ratios = ceilingRatios(here.chip, here.task, last)
  const limiter = 'sustained-power'
  const dieC = scanAt(here, ratios).roots[0]
  if (dieC === undefined) return { kind: 'runaway', limiter }
  const state = isBelow(here, dieC, dieCeilingC(here.bench)) ? 'steady' : 'over-limit'
  return { kind: 'steady', state, limiter, ratios, dieC, inForce: { ...nothingInForce, byPower: last - cap.count } }
}
