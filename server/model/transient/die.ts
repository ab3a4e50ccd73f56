/** What the die draws at held ratios: all its cores behind one supply rail, as those of a plain part are, or at rest. */

import { isWork, restPowerW } from '../loads.ts'
import { leakageWPerVk } from '../power.ts'
import { type PreparedBench, type PreparedLoad, type PreparedRail, prepareBench, prepareLoad } from '../prepare.ts'
import type { Bench, Load } from '../types.ts'
import { dieVoltageV } from '../voltage.ts'
import { type Die, type DiePoint, drawnByRail } from './draw.ts'
import { createRails } from './rails.ts'

type Mutable<T> = { -readonly [Key in keyof T]: T[Key] }

/** The die of a bench under a load. */
export function createDie(bench: Bench, load: Load): Die {
  if (!isWork(load)) return restingDie(restPowerW(load, bench.part))
  const prepared = prepareBench(bench)
  const loaded = prepareLoad(prepared, load)
  const [only, ...others] = prepared.rails
  return only === undefined || others.length > 0 ? createRails(prepared, loaded) : oneRail(prepared, loaded, only)
}

/** Where no core is at work there is no voltage: the machine draws what it draws. */
function restingDie(powerW: number): Die {
  const point = { voltageV: 0, dynamicW: 0, leakageW: 0, powerW, currentA: 0, hotW: 0 }
  const slopes = { powerSlope: 0, hottestSlope: 1 }
  return { coreKPerW: 0, hold: () => undefined, powerAt: () => point, slopes: () => slopes, supplyOf: () => point }
}

function oneRail({ bench }: PreparedBench, loaded: PreparedLoad, { board, groups }: PreparedRail): Die {
  const { part } = bench
  const { leakageExponent, sharedPowerW } = part
  const { coreKPerW } = loaded
  const { loadLineOhm } = board
  const growthPerK = Math.LN2 / part.leakageDoublingK
  let leakageAtZero = 0
  for (const group of groups) leakageAtZero += leakageWPerVk(group.part, 0)
  const logLeakageAtZero = Math.log(leakageAtZero)
  const dynamic = new Float64Array(1)
  const hot = new Float64Array(1)

  let setV = 0
  let dynamicPerV2 = 0
  let hotPerV2 = 0
  let leakageAtZeroW = 0
  // Temperature of the last `powerAt` at the held ratios, and dV/dT there.
  let lastC = Number.NaN
  let lastSlope = 0
  const point: Mutable<DiePoint> = { voltageV: 0, dynamicW: 0, leakageW: 0, powerW: 0, currentA: 0, hotW: 0 }
  const slopes = { powerSlope: 0, hottestSlope: 1 }

  /**
   * Behind a load line voltage and leakage depend on each other, and through the core's own rise on the dynamic
   * power: (1 + RA)·V + R·L·e^(g(T_b + θA′V²))·V^(k−1) = V_set, A and L as in `dieVoltageV`, A′ that of the cores that
   * rise most. The left side rises with V; Newton's steps start from the voltage of the last call, which is near.
   */
  const solveDroop = (dieAndLidC: number): boolean => {
    const linear = 1 + loadLineOhm * dynamicPerV2
    let volts = point.voltageV + (Number.isNaN(lastC) ? 0 : lastSlope * (dieAndLidC - lastC))
    for (let round = 0; round < 12; round++) {
      const hotW = hotPerV2 * volts * volts
      const hottestC = dieAndLidC + coreKPerW * hotW
      const leakA = Math.exp(growthPerK * hottestC + logLeakageAtZero + (leakageExponent - 1) * Math.log(volts))
      const growth = leakageExponent - 1 + 2 * growthPerK * coreKPerW * hotW
      const slope = linear + (loadLineOhm * leakA * growth) / volts
      const step = (setV - linear * volts - loadLineOhm * leakA) / slope
      const next = volts + step
      if (!(next > 0 && next <= setV)) return false
      volts = next
      // The step after this one would be this one squared times the droop's share of the voltage: below rounding.
      if (Math.abs(step) <= 1e-7 * volts) {
        point.voltageV = volts
        point.dynamicW = dynamicPerV2 * volts * volts
        point.hotW = hotPerV2 * volts * volts
        point.leakageW = (leakA + (leakA * growth * step) / volts) * volts
        lastSlope = (-loadLineOhm * growthPerK * leakA) / slope
        return true
      }
    }
    return false
  }

  /** The same by plain repetition from the load line's closed solution: slower, and never at a loss. */
  const repeatDroop = (dieAndLidC: number): void => {
    let hotW = hotPerV2 * setV * setV
    for (let round = 0; round < 100; round++) {
      const leakage = leakageAtZero * Math.exp(growthPerK * (dieAndLidC + coreKPerW * hotW))
      const voltageV = dieVoltageV(setV, loadLineOhm, dynamicPerV2, leakage, leakageExponent)
      const next = hotPerV2 * voltageV * voltageV
      const settled = Math.abs(next - hotW) <= 1e-13 * (1 + next)
      hotW = next
      point.voltageV = voltageV
      point.leakageW = leakage * voltageV ** leakageExponent
      if (settled) break
    }
    point.dynamicW = dynamicPerV2 * point.voltageV * point.voltageV
    point.hotW = hotW
  }

  /** dV/dT_b behind the load line at the point of the last `powerAt`; 0 without one. */
  const voltageSlope = (): number => {
    if (loadLineOhm === 0 || !(point.voltageV > 0)) return 0
    const { voltageV, hotW, leakageW } = point
    const leakA = leakageW / voltageV
    const growth = leakageExponent - 1 + 2 * growthPerK * coreKPerW * hotW
    const slope = 1 + loadLineOhm * dynamicPerV2 + (loadLineOhm * leakA * growth) / voltageV
    return (-loadLineOhm * growthPerK * leakA) / slope
  }

  return {
    coreKPerW,
    hold: (ratios, railSetV) => {
      // Behind a load line the droop of the ratio before is a good first guess.
      const kept = setV > 0 && loadLineOhm > 0 ? point.voltageV / setV : 1
      setV = railSetV[0] as number
      drawnByRail(loaded, ratios, dynamic, hot)
      dynamicPerV2 = dynamic[0] as number
      hotPerV2 = hot[0] as number
      leakageAtZeroW = leakageAtZero * setV ** leakageExponent
      lastC = Number.NaN
      lastSlope = 0
      point.voltageV = kept * setV
      point.dynamicW = dynamicPerV2 * setV * setV
      point.hotW = hotPerV2 * setV * setV
    },
    powerAt: dieAndLidC => {
      // The end of one tick is the beginning of the next and is asked for again.
      if (dieAndLidC === lastC) return point
      if (loadLineOhm === 0) {
        point.leakageW = leakageAtZeroW * Math.exp(growthPerK * (dieAndLidC + coreKPerW * point.hotW))
      } else if (!solveDroop(dieAndLidC)) repeatDroop(dieAndLidC)
      point.powerW = point.dynamicW + point.leakageW + sharedPowerW
      point.currentA = point.voltageV > 0 ? (point.dynamicW + point.leakageW) / point.voltageV : 0
      lastC = dieAndLidC
      return point
    },
    slopes: () => {
      const { voltageV, leakageW } = point
      const perVolt = voltageSlope()
      const dynamicSlope = 2 * dynamicPerV2 * voltageV * perVolt
      const hottestSlope = 1 + coreKPerW * (2 * hotPerV2 * voltageV * perVolt)
      const leakageSlope = leakageW * (growthPerK * hottestSlope + (leakageExponent * perVolt) / (voltageV || 1))
      slopes.powerSlope = dynamicSlope + leakageSlope
      slopes.hottestSlope = hottestSlope
      return slopes
    },
    supplyOf: () => point,
  }
}
