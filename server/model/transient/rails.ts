/**
 * The die of a part whose groups of cores are on several supply rails. Each rail's voltage follows from the temperature
 * of the hottest core, which all leakage goes with; the hottest core follows from the voltages. That leaves one equation
 * in one unknown,
 *
 *     T = T_b + H(T),  H(T) the largest θ_core · u · A · V(T)² / n of the groups,
 *
 * with V(T) that of `dieVoltageV`. No voltage rises with T, so H never does, and there is one such T.
 */

import { leakageWPerVk } from '../power.ts'
import type { BusyGroup, PreparedBench, PreparedLoad, PreparedRail } from '../prepare.ts'
import { dieVoltageV, leakageA } from '../voltage.ts'
import { type Die, type DiePoint, drawnByRail, type Supply } from './draw.ts'

type Mutable<T> = { -readonly [Key in keyof T]: T[Key] }

/** The step after one as small as this is below rounding. */
const LAST_STEP_K = 1e-6
const ROUNDS = 60

export function createRails(prepared: PreparedBench, loaded: PreparedLoad): Die {
  const { rails, growthPerK } = prepared
  const { leakageExponent, sharedPowerW } = prepared.bench.part
  const { coreKPerW, groups } = loaded
  const count = rails.length
  const lines = rails.map(({ board }) => board.loadLineOhm)
  const leakageAtZero = rails.map(({ groups: own }: PreparedRail) =>
    own.reduce((sum, { part }) => sum + leakageWPerVk(part, 0), 0),
  )
  const railOf = (at: number): number => (groups[at] as BusyGroup).prepared.rail
  const lead = railOf(0)
  const setV = new Float64Array(count)
  const dynamic = new Float64Array(count)
  const hot = new Float64Array(count)
  const volts = new Float64Array(count)
  const leakA = new Float64Array(count)
  /** dV/dT of each rail over the hottest core's temperature. */
  const perK = new Float64Array(count)
  const point: Mutable<DiePoint> = { voltageV: 0, dynamicW: 0, leakageW: 0, powerW: 0, currentA: 0, hotW: 0 }
  const slopes = { powerSlope: 0, hottestSlope: 1 }
  let hotW = 0
  let hotSlope = 0
  /** The most that the hottest core can rise: at the set voltages. */
  let mostK = 0
  let lastC = Number.NaN
  let lastRiseK = 0

  /** All rails with the hottest core at a temperature. */
  const railsAt = (hottestC: number): void => {
    const growth = Math.min(Number.MAX_VALUE, Math.exp(growthPerK * hottestC))
    hotW = 0
    hotSlope = 0
    for (let rail = 0; rail < count; rail++) {
      const ohm = lines[rail] as number
      const perV2 = dynamic[rail] as number
      const leakage = (leakageAtZero[rail] as number) * growth
      const own = dieVoltageV(setV[rail] as number, ohm, perV2, leakage, leakageExponent)
      const amperes = leakageA(own, setV[rail] as number, ohm, leakage, leakageExponent)
      volts[rail] = own
      leakA[rail] = amperes
      const droops = ohm > 0 && own > 0
      const slope = droops
        ? (-ohm * growthPerK * amperes) / (1 + ohm * perV2 + (ohm * (leakageExponent - 1) * amperes) / own)
        : 0
      perK[rail] = slope
      const hotV2 = hot[rail] as number
      const ownW = hotV2 * own * own
      if (ownW > hotW) {
        hotW = ownW
        hotSlope = 2 * hotV2 * own * slope
      }
    }
  }

  /** Newton's steps within bounds: where another group becomes the one that rises most, H has a bend. */
  const solve = (dieAndLidC: number): void => {
    let low = dieAndLidC
    let high = dieAndLidC + mostK
    let at = Math.min(high, dieAndLidC + lastRiseK)
    for (let round = 0; round < ROUNDS; round++) {
      railsAt(at)
      const off = dieAndLidC + coreKPerW * hotW - at
      if (off > 0) low = at
      else high = at
      const step = off / (1 - coreKPerW * hotSlope)
      const next = at + step
      if (!(Math.abs(step) > LAST_STEP_K)) {
        if (step !== 0) railsAt(next)
        break
      }
      at = next >= low && next <= high ? next : (low + high) / 2
    }
    lastRiseK = coreKPerW * hotW
  }

  return {
    coreKPerW,
    hold: (ratios, railSetV) => {
      drawnByRail(loaded, ratios, dynamic, hot)
      let mostW = 0
      for (let rail = 0; rail < count; rail++) {
        const own = railSetV[rail] as number
        setV[rail] = own
        mostW = Math.max(mostW, (hot[rail] as number) * own * own)
      }
      mostK = coreKPerW * mostW
      lastRiseK = mostK
      lastC = Number.NaN
    },
    powerAt: dieAndLidC => {
      if (dieAndLidC === lastC) return point
      solve(dieAndLidC)
      let dynamicW = 0
      let leakageW = 0
      for (let rail = 0; rail < count; rail++) {
        const own = volts[rail] as number
        dynamicW += (dynamic[rail] as number) * own * own
        leakageW += (leakA[rail] as number) * own
      }
      point.voltageV = volts[lead] as number
      point.currentA = (dynamic[lead] as number) * point.voltageV + (leakA[lead] as number)
      point.dynamicW = dynamicW
      point.leakageW = leakageW
      point.powerW = dynamicW + leakageW + sharedPowerW
      point.hotW = hotW
      lastC = dieAndLidC
      return point
    },
    slopes: () => {
      const hottestSlope = 1 / (1 - coreKPerW * hotSlope)
      let powerSlope = 0
      for (let rail = 0; rail < count; rail++) {
        const own = volts[rail] as number
        const slope = (perK[rail] as number) * hottestSlope
        const leakageW = (leakA[rail] as number) * own
        powerSlope += 2 * (dynamic[rail] as number) * own * slope
        powerSlope += leakageW * (growthPerK * hottestSlope + (leakageExponent * slope) / (own || 1))
      }
      slopes.powerSlope = powerSlope
      slopes.hottestSlope = hottestSlope
      return slopes
    },
    supplyOf: (at): Supply => {
      const rail = railOf(at)
      const voltageV = volts[rail] as number
      return { voltageV, currentA: (dynamic[rail] as number) * voltageV + (leakA[rail] as number) }
    },
  }
}
