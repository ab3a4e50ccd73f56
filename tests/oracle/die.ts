/** Model sections 1 to 4 and 6: voltage, power and every balance of one ratio. */
import type { Bench, Corner, Load, VoltageRow } from '../../server/model/types.ts'
import { allRoots, alongLines, crossing, evenly, type Scan } from './numeric.ts'
import { plateTemperatureC, roughPlateC } from './plate.ts'

export type Work = Extract<Load, { kind: 'work' }>

const asPairs = (rows: readonly VoltageRow[]): (readonly [number, number])[] =>
  rows.map(row => [row.ratio, row.voltageV] as const)

/** V_set(r), model section 2. */
export const setVoltageV = (bench: Bench, ratio: number): number => {
  const { voltage } = bench.profile
  const { coreVoltageStepV } = bench.board
  let value: number
  if (voltage.kind === 'fixed') value = voltage.voltageV
  else {
    const rows = new Map<number, number>()
    for (const row of bench.part.needs) rows.set(row.ratio, row.voltageV + voltage.offsetV)
    for (const row of voltage.set) rows.set(row.ratio, row.voltageV)
    value = alongLines(
      [...rows].sort((one, other) => one[0] - other[0]),
      ratio,
    )
  }
  if (coreVoltageStepV === undefined) return value
  const valueUv = Math.floor(value * 1e6 + 0.5)
  const stepUv = Math.round(coreVoltageStepV * 1e6)
  return (Math.floor((2 * valueUv + stepUv) / (2 * stepUv)) * stepUv) / 1e6
}

/** V_need(r, T), model section 2. */
export const needVoltageV = (bench: Bench, load: Work, ratio: number, dieC: number): number =>
  alongLines(asPairs(bench.part.needs), ratio) +
  bench.part.needsSlopeVPerK * (dieC - bench.part.needsAtC) +
  (load.vector ? bench.part.vectorNeedsV : 0)

/** Everything about the die at one ratio and one temperature. */
export interface Running {
  readonly clockGhz: number
  readonly setV: number
  readonly dieV: number
  readonly dynamicW: number
  readonly leakageW: number
  readonly powerW: number
  readonly currentA: number
}

export const running = (bench: Bench, load: Work, ratio: number, dieC: number): Running => {
  const { part, board } = bench
  const clockGhz = ratio * part.referenceGhz
  const setV = setVoltageV(bench, ratio)
  const warm = 2 ** ((dieC - part.leakageAtC) / part.leakageDoublingK)
  const dynamicAt = (volts: number): number => load.cores * load.activity * part.switchingNf * volts * volts * clockGhz
  const leakageAt = (volts: number): number => part.leakageW * (volts / part.leakageAtV) ** part.leakageExponent * warm
  const currentAt = (volts: number): number => (dynamicAt(volts) + leakageAt(volts)) / volts
  const tooHigh = (volts: number): number => volts + board.loadLineOhm * currentAt(volts) - setV
  const nearlyNothingV = 1e-30
  let dieV = setV
  if (board.loadLineOhm > 0)
    dieV = tooHigh(nearlyNothingV) >= 0 ? nearlyNothingV : crossing(tooHigh, nearlyNothingV, setV)
  const dynamicW = dynamicAt(dieV)
  const leakageW = leakageAt(dieV)
  return {
    clockGhz,
    setV,
    dieV,
    dynamicW,
    leakageW,
    powerW: dynamicW + leakageW + part.sharedPowerW,
    currentA: currentAt(dieV),
  }
}

/** θ_core · u · P_dyn / n: the hottest core's own rise over the plate's side of the package (model section 4). */
export const coreRiseK = (bench: Bench, load: Work, dynamicW: number): number =>
  (bench.part.coreResistanceKPerW * (load.uneven ?? 1) * dynamicW) / load.cores

/** T_plate + θ_package · P + θ_core · P_dyn / n (model section 4). */
export const dieTemperatureC = (bench: Bench, corner: Corner, load: Work, powerW: number, dynamicW: number): number =>
  plateTemperatureC(bench, corner, powerW) +
  bench.part.packageResistanceKPerW * powerW +
  coreRiseK(bench, load, dynamicW)

/** RHS(T) of model section 6 at one ratio. */
export const rightHandSideC = (bench: Bench, corner: Corner, load: Work, ratio: number, dieC: number): number => {
  const at = running(bench, load, ratio, dieC)
  return dieTemperatureC(bench, corner, load, at.powerW, at.dynamicW)
}

/** Cold enough that every right-hand side lies above it. */
const coldestC = -150
/** Model section 6: a root is looked for below this. */
export const hottestC = 400

const dieGrid = evenly(coldestC, hottestC, 110)

/** All balances below 400 °C at one ratio, rising. */
export const balances = (bench: Bench, corner: Corner, load: Work, ratio: number): Scan => {
  const off = (dieC: number): number => rightHandSideC(bench, corner, load, ratio, dieC) - dieC
  if (bench.cooler.kind !== 'thermoelectric') return allRoots(off, dieGrid)
  // Modules take long to work out: where a rough plate says that no balance is near, it is enough.
  const roughlyOff = (dieC: number): number => {
    const { powerW, dynamicW } = running(bench, load, ratio, dieC)
    const rise = bench.part.packageResistanceKPerW * powerW + coreRiseK(bench, load, dynamicW)
    const rough = roughPlateC(bench, corner, powerW) + rise - dieC
    return Math.abs(rough) > 4 ? rough : off(dieC)
  }
  return allRoots(roughlyOff, dieGrid, off)
}
