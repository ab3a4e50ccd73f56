/**
 * The bench as a network of heat capacities at held ratios and one held drive current (model section 10).
 * The controller changes ratios and current between steps; the network itself knows no time.
 */

import { createSide } from '../cooler/index.ts'
import type { HeatFlow, HotFlow } from '../cooler/kind.ts'
import type { PowerPoint } from '../power.ts'
import type { Bench, Corner, Load } from '../types.ts'
import { createDie } from './die.ts'
import type { Supply } from './draw.ts'
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
  /** Holds other ratios, one for each group that has active cores, at these set voltages, one for each supply rail. */
  holdRatios(ratios: readonly number[], railSetV: ArrayLike<number>): void
  /** Holds another current through the thermoelectric modules, or pulses of that height. */
  holdCurrent(currentA: number): void
  /** Mean of the current held. */
  driveA(): number
  /**
   * What the load draws at the held ratios while die and lid are at this temperature; the same object each time. Voltage
   * and current are those of the first group that has active cores.
   */
  powerAt(dieAndLidC: number): PowerPoint
  /** The supply of a group at the last `powerAt`. @param at its place among those that have active cores */
  supplyOf(at: number): Supply
  /** Temperature of the hottest core at the held ratios. */
  hottestC(dieAndLidC: number): number
  /** Electrical input of the thermoelectric plate at the held current. */
  driveW(state: Float64Array): number
  /** The modules' hot side where it stores no heat, at the held current; the coolant where there are no modules. */
  quasiHotC(plateC: number, coolantC: number): number
  /** Coolant temperature, which for a chilled loop is not a state of its own. */
  coolantC(state: Float64Array): number
}

/** @param hotStores whether the modules' hot side is a state of its own, `HOT` */
export function createNetwork(bench: Bench, load: Load, corner: Corner, hotStores = false): Network {
  const { part, cooler } = bench
  const { packageResistanceKPerW: packageKPerW } = part
  const die = createDie(bench, load)
  const { powerAt, coreKPerW } = die
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

  const derivative = (y: Float64Array, out: Float64Array): void => {
    const dieC = y[DIE] as number
    const plateC = y[PLATE] as number
    const { powerW, hotW } = powerAt(dieC)
    const intoPlateW = (dieC - plateC) / packageKPerW
    const hottest = dieC + coreKPerW * hotW
    out[DIE] = (powerW - intoPlateW) / dieHeat
    out[SENSED] = (hottest - (y[SENSED] as number)) / SENSOR_LAG_S
    out[ENERGY] = powerW
    if (hotSide !== undefined) {
      hotSide.flowAt(plateC, y[COOLANT] as number, y[HOT] as number, hotFlow, false)
      out[PLATE] = (intoPlateW - hotFlow.takenW) / plateHeat
      out[COOLANT] = hotFlow.storedW / coolantHeat
      out[HOT] = hotFlow.gainedW / hotSide.heatJPerK
      return
    }
    side.flowAt(plateC, y[COOLANT] as number, flow, false)
    out[PLATE] = (intoPlateW - flow.takenW) / plateHeat
    out[COOLANT] = flow.storedW / coolantHeat
  }

  const jacobian = (y: Float64Array, out: Float64Array): void => {
    out.fill(0)
    const set = (row: number, column: number, value: number): void => {
      out[row * size + column] = value
    }
    const dieC = y[DIE] as number
    powerAt(dieC)
    const { powerSlope: slope, hottestSlope } = die.slopes()
    set(DIE, DIE, (slope - 1 / packageKPerW) / dieHeat)
    set(DIE, PLATE, 1 / packageKPerW / dieHeat)
    set(SENSED, DIE, hottestSlope / SENSOR_LAG_S)
    set(SENSED, SENSED, -1 / SENSOR_LAG_S)
    set(ENERGY, DIE, slope)
    set(PLATE, DIE, 1 / packageKPerW / plateHeat)
    if (hotSide !== undefined) {
      hotSide.flowAt(y[PLATE] as number, y[COOLANT] as number, y[HOT] as number, hotFlow, true)
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
    side.flowAt(y[PLATE] as number, y[COOLANT] as number, flow, true)
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
    supplyOf: die.supplyOf,
    holdRatios: die.hold,
    holdCurrent: side.hold,
    driveA: side.meanA,
    hottestC: dieAndLidC => dieAndLidC + coreKPerW * powerAt(dieAndLidC).hotW,
    driveW: y => {
      const [plateC, coolantC] = [y[PLATE] as number, y[COOLANT] as number]
      return hotSide === undefined ? side.inputW(plateC, coolantC) : hotSide.inputW(plateC, y[HOT] as number)
    },
    quasiHotC: (plateC, coolantC) => side.hotSide?.quasiC(plateC, coolantC) ?? coolantC,
    coolantC: y => side.coolantC(y[PLATE] as number, y[COOLANT] as number),
  }
}
