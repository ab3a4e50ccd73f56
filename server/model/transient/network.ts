/**
 * The bench as a network of heat capacities at one held ratio and one held drive current (model section 10).
 * The controller changes ratio and current between steps; the network itself knows no time.
 */

import { createSide } from '../cooler/index.ts'
import type { HeatFlow, HotFlow } from '../cooler/kind.ts'
import { isWork, restPowerW } from '../loads.ts'
import { coreRiseKPerW, dynamicWPerV2, leakageWPerVk, type PowerPoint } from '../power.ts'
import type { Bench, Corner, Load } from '../types.ts'
import { dieVoltageV } from '../voltage.ts'
import type { System } from './rodas.ts'

/** Places in the state vector: die and lid, plate, coolant, sensed temperature, heat drawn since the start in J. */
export const DIE = 0
export const PLATE = 1
export const COOLANT = 2
export const SENSED = 3
export const ENERGY = 4
export const STATE_SIZE = 5
/** The modules' hot side where it stores heat of its own: after a fault of the pump. */
export const HOT = 5

/** The sensor follows the hottest core with this first-order lag. */
const SENSOR_LAG_S = 0.1

export interface Network extends System {
  /** Whether modules stand between plate and coolant, which draw power and have a hot side. */
  readonly hasModules: boolean
  /** Holds another ratio at this set voltage. */
  holdRatio(ratio: number, setV: number): void
  /** Holds another current through the thermoelectric modules, or pulses of that height. */
  holdCurrent(currentA: number): void
  /** Mean of the current held. */
  driveA(): number
  /** What the load draws at the held ratio while die and lid are at this temperature; the same object each time. */
  powerAt(dieAndLidC: number): PowerPoint
  /** Temperature of the hottest core at the held ratio. */
  hottestC(dieAndLidC: number): number
  /** Electrical input of the thermoelectric plate at the held current. */
  driveW(state: Float64Array): number
  /** The modules' hot side where it stores no heat, at the held current; the coolant where there are no modules. */
  quasiHotC(plateC: number, coolantC: number): number
  /** Coolant temperature, which for a chilled loop is not a state of its own. */
  coolantC(state: Float64Array): number
}

interface Mutable {
  voltageV: number
  dynamicW: number
  leakageW: number
  powerW: number
  currentA: number
}

/** @param hotStores whether the modules' hot side is a state of its own, `HOT` */
export function createNetwork(bench: Bench, load: Load, corner: Corner, hotStores = false): Network {
  const { part, cooler, board } = bench
  const { leakageExponent, packageResistanceKPerW: packageKPerW } = part
  // Where no core is at work there is no voltage: the machine draws what it draws.
  const sharedPowerW = isWork(load) ? part.sharedPowerW : restPowerW(load, part)
  const coreKPerW = isWork(load) ? coreRiseKPerW(part, load) : 0
  const loadLineOhm = isWork(load) ? board.loadLineOhm : 0
  const leakageAtZero = isWork(load) ? leakageWPerVk(part, 0) : 0
  const logLeakageAtZero = Math.log(leakageAtZero)
  const growthPerK = Math.LN2 / part.leakageDoublingK
  const side = createSide(cooler, bench.profile, corner)
  const flow: HeatFlow = {
    takenW: 0,
    takenByPlate: 0,
    takenByCoolant: 0,
    storedW: 0,
    storedByPlate: 0,
    storedByCoolant: 0,
  }
  const dieHeat = part.dieHeatJPerK
  const plateHeat = cooler.plateHeatJPerK
  const coolantHeat = side.coolantHeatJPerK
  const hotSide = hotStores ? side.hotSide : undefined
  const size = hotSide === undefined ? STATE_SIZE : STATE_SIZE + 1
  const hotFlow: HotFlow = {
    ...flow,
    takenByHot: 0,
    storedByHot: 0,
    gainedW: 0,
    gainedByPlate: 0,
    gainedByCoolant: 0,
    gainedByHot: 0,
  }

  let setV = 0
  let dynamicPerV2 = 0
  let leakageAtZeroW = 0
  // Temperature of the last `powerAt` at the held ratio, and dV/dT there.
  let lastC = Number.NaN
  let lastSlope = 0
  const point: Mutable = { voltageV: 0, dynamicW: 0, leakageW: 0, powerW: 0, currentA: 0 }

  /**
   * Behind a load line voltage and leakage depend on each other, and through the core's own rise on the dynamic
   * power: (1 + RA)·V + R·L·e^(g(T_b + θAV²))·V^(k−1) = V_set, A and L as in `dieVoltageV`. The left side rises
   * with V; Newton's steps start from the voltage of the last call, which is near.
   */
  const solveDroop = (dieAndLidC: number): boolean => {
    const linear = 1 + loadLineOhm * dynamicPerV2
    let volts = point.voltageV + (Number.isNaN(lastC) ? 0 : lastSlope * (dieAndLidC - lastC))
    for (let round = 0; round < 12; round++) {
      const dynamicW = dynamicPerV2 * volts * volts
      const hottestC = dieAndLidC + coreKPerW * dynamicW
      const leakA = Math.exp(growthPerK * hottestC + logLeakageAtZero + (leakageExponent - 1) * Math.log(volts))
      const growth = leakageExponent - 1 + 2 * growthPerK * coreKPerW * dynamicW
      const slope = linear + (loadLineOhm * leakA * growth) / volts
      const step = (setV - linear * volts - loadLineOhm * leakA) / slope
      const next = volts + step
      if (!(next > 0 && next <= setV)) return false
      volts = next
      // The step after this one would be this one squared times the droop's share of the voltage: below rounding.
      if (Math.abs(step) <= 1e-7 * volts) {
        point.voltageV = volts
        point.dynamicW = dynamicPerV2 * volts * volts
        point.leakageW = (leakA + (leakA * growth * step) / volts) * volts
        lastSlope = (-loadLineOhm * growthPerK * leakA) / slope
        return true
      }
    }
    return false
  }

  /** The same by plain repetition from the load line's closed solution: slower, and never at a loss. */
  const repeatDroop = (dieAndLidC: number): void => {
    let dynamicW = dynamicPerV2 * setV * setV
    for (let round = 0; round < 100; round++) {
      const leakage = leakageAtZero * Math.exp(growthPerK * (dieAndLidC + coreKPerW * dynamicW))
      const voltageV = dieVoltageV(setV, loadLineOhm, dynamicPerV2, leakage, leakageExponent)
      const next = dynamicPerV2 * voltageV * voltageV
      const settled = Math.abs(next - dynamicW) <= 1e-13 * (1 + next)
      dynamicW = next
      point.voltageV = voltageV
      point.leakageW = leakage * voltageV ** leakageExponent
      if (settled) break
    }
    point.dynamicW = dynamicW
  }

  const powerAt = (dieAndLidC: number): PowerPoint => {
    // The end of one tick is the beginning of the next and is asked for again.
    if (dieAndLidC === lastC) return point
    if (loadLineOhm === 0) {
      point.leakageW = leakageAtZeroW * Math.exp(growthPerK * (dieAndLidC + coreKPerW * point.dynamicW))
    } else if (!solveDroop(dieAndLidC)) repeatDroop(dieAndLidC)
    point.powerW = point.dynamicW + point.leakageW + sharedPowerW
    point.currentA = point.voltageV > 0 ? (point.dynamicW + point.leakageW) / point.voltageV : 0
    lastC = dieAndLidC
    return point
  }

  /** dV/dT_b behind the load line at the point of the last `powerAt`; 0 without one. */
  const voltageSlope = (): number => {
    if (loadLineOhm === 0 || !(point.voltageV > 0)) return 0
    const { voltageV, dynamicW, leakageW } = point
    const leakA = leakageW / voltageV
    const growth = leakageExponent - 1 + 2 * growthPerK * coreKPerW * dynamicW
    const slope = 1 + loadLineOhm * dynamicPerV2 + (loadLineOhm * leakA * growth) / voltageV
    return (-loadLineOhm * growthPerK * leakA) / slope
  }

  const derivative = (y: Float64Array, out: Float64Array): void => {
    const dieC = y[DIE] as number
    const plateC = y[PLATE] as number
    const { powerW, dynamicW } = powerAt(dieC)
    const intoPlateW = (dieC - plateC) / packageKPerW
    const hottest = dieC + coreKPerW * dynamicW
    out[DIE] = (powerW - intoPlateW) / dieHeat
    out[SENSED] = (hottest - (y[SENSED] as number)) / SENSOR_LAG_S
    out[ENERGY] = powerW
    if (hotSide !== undefined) {
      hotSide.flowAt(plateC, y[COOLANT] as number, y[HOT] as number, hotFlow)
      out[PLATE] = (intoPlateW - hotFlow.takenW) / plateHeat
      out[COOLANT] = hotFlow.storedW / coolantHeat
      out[HOT] = hotFlow.gainedW / hotSide.heatJPerK
      return
    }
    side.flowAt(plateC, y[COOLANT] as number, flow)
    out[PLATE] = (intoPlateW - flow.takenW) / plateHeat
    out[COOLANT] = flow.storedW / coolantHeat
  }

  const jacobian = (y: Float64Array, out: Float64Array): void => {
    out.fill(0)
    const set = (row: number, column: number, value: number): void => {
      out[row * size + column] = value
    }
    const dieC = y[DIE] as number
    const { voltageV, leakageW } = powerAt(dieC)
    const perVolt = voltageSlope()
    const dynamicSlope = 2 * dynamicPerV2 * voltageV * perVolt
    const hottestSlope = 1 + coreKPerW * dynamicSlope
    const leakageSlope = leakageW * (growthPerK * hottestSlope + (leakageExponent * perVolt) / (voltageV || 1))
    const slope = dynamicSlope + leakageSlope
    set(DIE, DIE, (slope - 1 / packageKPerW) / dieHeat)
    set(DIE, PLATE, 1 / packageKPerW / dieHeat)
    set(SENSED, DIE, hottestSlope / SENSOR_LAG_S)
    set(SENSED, SENSED, -1 / SENSOR_LAG_S)
    set(ENERGY, DIE, slope)
    set(PLATE, DIE, 1 / packageKPerW / plateHeat)
    if (hotSide !== undefined) {
      hotSide.flowAt(y[PLATE] as number, y[COOLANT] as number, y[HOT] as number, hotFlow)
      const heat = hotSide.heatJPerK
      set(PLATE, PLATE, (-1 / packageKPerW - hotFlow.takenByPlate) / plateHeat)
      set(PLATE, COOLANT, -hotFlow.takenByCoolant / plateHeat)
      set(PLATE, HOT, -hotFlow.takenByHot / plateHeat)
      set(COOLANT, PLATE, hotFlow.storedByPlate / coolantHeat)
      set(COOLANT, COOLANT, hotFlow.storedByCoolant / coolantHeat)
      set(COOLANT, HOT, hotFlow.storedByHot / coolantHeat)
      set(HOT, PLATE, hotFlow.gainedByPlate / heat)
      set(HOT, COOLANT, hotFlow.gainedByCoolant / heat)
      set(HOT, HOT, hotFlow.gainedByHot / heat)
      return
    }
    side.flowAt(y[PLATE] as number, y[COOLANT] as number, flow)
    set(PLATE, PLATE, (-1 / packageKPerW - flow.takenByPlate) / plateHeat)
    set(PLATE, COOLANT, -flow.takenByCoolant / plateHeat)
    set(COOLANT, PLATE, flow.storedByPlate / coolantHeat)
    set(COOLANT, COOLANT, flow.storedByCoolant / coolantHeat)
  }

  return {
    size,
    hasModules: side.hotSide !== undefined,
    derivative,
    jacobian,
    powerAt,
    holdRatio: (ratio, volts) => {
      // Behind a load line the droop of the ratio before is a good first guess.
      const kept = setV > 0 && loadLineOhm > 0 ? point.voltageV / setV : 1
      setV = volts
      dynamicPerV2 = isWork(load) ? dynamicWPerV2(part, load.cores, load.activity, ratio) : 0
      leakageAtZeroW = leakageAtZero * setV ** leakageExponent
      lastC = Number.NaN
      lastSlope = 0
      point.voltageV = kept * setV
      point.dynamicW = dynamicPerV2 * setV * setV
    },
    holdCurrent: side.hold,
    driveA: side.meanA,
    hottestC: dieAndLidC => dieAndLidC + coreKPerW * powerAt(dieAndLidC).dynamicW,
    driveW: y => {
      const [plateC, coolantC] = [y[PLATE] as number, y[COOLANT] as number]
      return hotSide === undefined ? side.inputW(plateC, coolantC) : hotSide.inputW(plateC, y[HOT] as number)
    },
    quasiHotC: (plateC, coolantC) => side.hotSide?.quasiC(plateC, coolantC) ?? coolantC,
    coolantC: y => side.coolantC(y[PLATE] as number, y[COOLANT] as number),
  }
}
