/** Model sections 7 and 8: where the ladder comes to rest, and sharing time between two ratios. */
import type { Limiter, State } from '../../server/model/types.ts'
import { coreRiseK, dieTemperatureC, type Running, rightHandSideC, running } from './die.ts'
import { type Case, dieCeilingC, isBelow, type Level, scanAt, stepsDown } from './levels.ts'
import { allRoots, crossing, evenly } from './numeric.ts'

export type Outcome =
  | {
      readonly kind: 'steady'
      readonly state: State
      readonly limiter: Limiter
      readonly ratio: number
      readonly dieC: number
    }
  | {
      readonly kind: 'alternating'
      readonly state: State
      readonly limiter: Limiter
      readonly high: number
      readonly low: number
      readonly shareHigh: number
      readonly dieC: number
      readonly atC: number | null
    }
  | { readonly kind: 'runaway'; readonly limiter: Limiter }

const mix = (share: number, high: number, low: number): number => share * high + (1 - share) * low

/** The share of time at the faster ratio that makes the mean power give exactly this die temperature. */
const shareAt = (here: Case, high: number, low: number, dieC: number): number => {
  const fast = running(here.bench, here.load, high, dieC)
  const slow = running(here.bench, here.load, low, dieC)
  const tooHot = (share: number): number =>
    dieTemperatureC(
      here.bench,
      here.corner,
      here.load,
      mix(share, fast.powerW, slow.powerW),
      mix(share, fast.dynamicW, slow.dynamicW),
    ) - dieC
  if (tooHot(1) <= 0) return 1
  if (tooHot(0) >= 0) return 0
  return crossing(tooHot, 0, 1)
}

/** Section 7, walked level by level. */
export const walk = (here: Case, levels: readonly Level[]): Outcome => {
  const { bench, corner, load } = here
  const ceilingC = dieCeilingC(bench)
  const first = levels[0]
  if (!first) throw new Error('a ladder has a level')
  let dieC = scanAt(here, first.ratio).roots[0] ?? Number.POSITIVE_INFINITY
  for (let index = 0; ; index += 1) {
    const level = levels[index]
    if (!level) throw new Error('a ladder has a last level')
    const next = levels[index + 1]
    const { limiter, ratio } = level
    const state = limiter === 'die-limit' ? 'throttled' : 'steady'
    if (!next) {
      if (isBelow(here, dieC, ceilingC)) return { kind: 'steady', state, limiter, ratio, dieC }
      if (dieC < Number.POSITIVE_INFINITY) return { kind: 'steady', state: 'over-limit', limiter, ratio, dieC }
      return { kind: 'runaway', limiter }
    }
    const thresholdC = next.enteredC
    if (isBelow(here, dieC, thresholdC)) return { kind: 'steady', state, limiter, ratio, dieC }
    const { roots } = scanAt(here, next.ratio)
    if (!isBelow(here, rightHandSideC(bench, corner, load, next.ratio, thresholdC), thresholdC)) {
      dieC = roots.find(root => root > thresholdC) ?? Number.POSITIVE_INFINITY
      continue
    }
    const cooled = roots.filter(root => root < thresholdC).pop()
    if (cooled === undefined) throw new Error('the die cools without end')
    const atCeiling = thresholdC === ceilingC
    const returnK = atCeiling ? 0 : bench.profile.returnK
    if (isBelow(here, cooled, thresholdC - returnK)) {
      const meanC = thresholdC - returnK / 2
      return {
        kind: 'alternating',
        state: atCeiling ? 'throttled' : 'alternating',
        limiter: atCeiling ? 'die-limit' : next.limiter,
        high: ratio,
        low: next.ratio,
        shareHigh: shareAt(here, ratio, next.ratio, meanC),
        dieC: meanC,
        atC: thresholdC,
      }
    }
    dieC = cooled
  }
}

/** Weighted means of section 7; a steady clock is one ratio for all of the time. */
export const meanOf = (here: Case, outcome: Exclude<Outcome, { kind: 'runaway' }>, dieC: number): Running => {
  const at = (ratio: number): Running => running(here.bench, here.load, ratio, dieC)
  if (outcome.kind === 'steady') return at(outcome.ratio)
  const fast = at(outcome.high)
  const slow = at(outcome.low)
  const mean = (pick: (from: Running) => number): number => mix(outcome.shareHigh, pick(fast), pick(slow))
  return {
    clockGhz: mean(from => from.clockGhz),
    setV: fast.setV,
    dieV: mean(from => from.dieV),
    dynamicW: mean(from => from.dynamicW),
    leakageW: mean(from => from.leakageW),
    powerW: mean(from => from.powerW),
    currentA: mean(from => from.currentA),
  }
}

/**
 * The sustained-power rule of section 8: the highest ratio below the cap that serves, with the one above it; undefined
 * where none does.
 */
export const sustainedOf = (here: Case, cap: number, limitW: number): Outcome | undefined => {
  const ratios = stepsDown(here.bench, cap)
  for (let index = 1; index < ratios.length; index += 1) {
    const [above = 0, ratio = 0] = [ratios[index - 1], ratios[index]]
    const lowest = scanAt(here, ratio).roots[0]
    if (lowest === undefined || !isBelow(here, lowest, dieCeilingC(here.bench))) continue
    if (isBelow(here, limitW, running(here.bench, here.load, ratio, lowest).powerW)) continue
    const shared = sharedAt(here, above, ratio, limitW)
    if (shared) return shared
  }
  return undefined
}

/** Two ratios at a mean power of exactly the limit; undefined where no share within 0 and 1 gives it. */
const sharedAt = (here: Case, above: number, ratio: number, limitW: number): Outcome | undefined => {
  const { bench, corner, load } = here
  const share = (dieC: number): number => {
    const slowW = running(bench, load, ratio, dieC).powerW
    return (limitW - slowW) / (running(bench, load, above, dieC).powerW - slowW)
  }
  // Only the core term depends on the share; the rest of the temperature belongs to the limit itself.
  const baseC = dieTemperatureC(bench, corner, load, limitW, 0)
  const tooHot = (dieC: number): number => {
    const dynamicW = mix(
      share(dieC),
      running(bench, load, above, dieC).dynamicW,
      running(bench, load, ratio, dieC).dynamicW,
    )
    return baseC + coreRiseK(bench, load, dynamicW) - dieC
  }
  const widestK = coreRiseK(bench, load, running(bench, load, above, baseC).dynamicW)
  const places = allRoots(tooHot, evenly(baseC - 1, baseC + 2 * widestK + 1, 400)).roots
  for (const root of places) here.gaps.push(Math.abs(share(root)), Math.abs(1 - share(root)))
  const dieC = places.find(root => share(root) >= 0 && share(root) <= 1)
  if (dieC === undefined) return undefined
  return {
    kind: 'alternating',
    state: 'alternating',
    limiter: 'sustained-power',
    high: above,
    low: ratio,
    shareHigh: share(dieC),
    dieC,
    atC: null,
  }
}

/** Where no ratio serves the lowest holds, at its lowest balance, judged as section 7 judges its last level. */
export const lowestHeld = (here: Case): Outcome => {
  const ratio = here.bench.part.ratioLow
  const limiter = 'sustained-power'
  const dieC = scanAt(here, ratio).roots[0]
  if (dieC === undefined) return { kind: 'runaway', limiter }
  const state = isBelow(here, dieC, dieCeilingC(here.bench)) ? 'steady' : 'over-limit'
  return { kind: 'steady', state, limiter, ratio, dieC }
}
