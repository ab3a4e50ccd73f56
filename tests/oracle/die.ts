/** Model sections 2 to 4 and 6 by groups: voltage, power and every balance of one level. */
import type { Bench, Corner, VoltageRow } from '../../server/model/types.ts'
import { type Chip, type Group, ofActive, type Rail, type Ratios, type Task } from './chip.ts'
import { allRoots, alongLines, crossing, evenly, type Scan } from './numeric.ts'
import { plateTemperatureC, roughPlateC } from './plate.ts'

const asPairs = (rows: readonly VoltageRow[]): (readonly [number, number])[] =>
  rows.map(row => [row.ratio, row.voltageV] as const)

/** V_set of one group at a ratio, model section 2. */
export const setVoltageV = (
  { voltage, needs }: Pick<Group, 'voltage' | 'needs'>,
  { coreVoltageStepV }: Pick<Rail, 'coreVoltageStepV'>,
  ratio: number,
): number => {
  let value: number
  if (voltage.kind === 'fixed') value = voltage.voltageV
  else {
    const rows = new Map<number, number>()
    for (const row of needs) rows.set(row.ratio, row.voltageV + voltage.offsetV)
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

/** V_set of a rail: what the most demanding of those that count asks for. */
const railSetV = ({ groups }: Chip, rail: Rail, place: number, ratios: Ratios): number => {
  const asked: number[] = []
  const resting: number[] = []
  groups.forEach((group, index) => {
    if (group.rail !== place) return
    const ratio = ratios[index] ?? null
    const counts = ratio !== null || group.voltage.kind === 'fixed'
    const list = counts ? asked : resting
    list.push(setVoltageV(group, rail, ratio ?? group.ratioLow))
  })
  return Math.max(...(asked.length > 0 ? asked : resting))
}

/** V_need(r, T) of a group, model section 2. */
export const needVoltageV = (group: Group, task: Task, ratio: number, dieC: number): number =>
  alongLines(asPairs(group.needs), ratio) +
  group.needsSlopeVPerK * (dieC - group.needsAtC) +
  (task.vector ? group.vectorNeedsV : 0)

interface GroupRunning {
  readonly clockGhz: number
  readonly dynamicW: number
  readonly leakageW: number
  /** θ_core · u · P_dyn / n: its hottest core's own rise over the plate's side of the package. */
  readonly riseK: number
}

interface RailRunning {
  readonly setV: number
  readonly dieV: number
  readonly currentA: number
}

/** Everything about the die at one level and one temperature. */
export interface Running {
  readonly groups: readonly GroupRunning[]
  readonly rails: readonly RailRunning[]
  readonly dynamicW: number
  readonly leakageW: number
  readonly powerW: number
  /** H: the rise of the hottest core of all. */
  readonly riseK: number
}

/** A rail whose groups draw P(V): its voltage behind the load line. */
const railAt = (rail: Rail, setV: number, powerAt: (volts: number) => number): RailRunning => {
  const currentAt = (volts: number): number => powerAt(volts) / volts
  const tooHigh = (volts: number): number => volts + rail.loadLineOhm * currentAt(volts) - setV
  const nearlyNothingV = 1e-30
  let dieV = setV
  if (rail.loadLineOhm > 0)
    dieV = tooHigh(nearlyNothingV) >= 0 ? nearlyNothingV : crossing(tooHigh, nearlyNothingV, setV)
  return { setV, dieV, currentA: currentAt(dieV) }
}

const total = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0)

export const running = (chip: Chip, task: Task, ratios: Ratios, dieC: number): Running => {
  const { part } = chip.bench
  const clocks = ratios.map(ratio => (ratio ?? 0) * part.referenceGhz)
  const coresOf = (index: number): number => task.cores[index] ?? 0
  const dynamicAt = (group: Group, index: number, volts: number): number =>
    coresOf(index) * (task.activity[index] ?? 0) * group.switchingNf * volts * volts * (clocks[index] ?? 0)
  const leakageAt = (group: Group, volts: number): number =>
    group.leakageW *
    (volts / group.leakageAtV) ** part.leakageExponent *
    2 ** ((dieC - group.leakageAtC) / part.leakageDoublingK)
  const rails = chip.rails.map((rail, place) =>
    railAt(rail, railSetV(chip, rail, place, ratios), volts =>
      total(
        chip.groups.map((group, index) =>
          group.rail === place ? dynamicAt(group, index, volts) + leakageAt(group, volts) : 0,
        ),
      ),
    ),
  )
  const groups = chip.groups.map((group, index) => {
    const dieV = rails[group.rail]?.dieV ?? 0
    const dynamicW = dynamicAt(group, index, dieV)
    const cores = coresOf(index)
    return {
      clockGhz: clocks[index] ?? 0,
      dynamicW,
      leakageW: leakageAt(group, dieV),
      riseK: cores === 0 ? 0 : (group.coreResistanceKPerW * task.uneven * dynamicW) / cores,
    }
  })
  const dynamicW = total(groups.map(group => group.dynamicW))
  const leakageW = total(groups.map(group => group.leakageW))
  const powerW = dynamicW + leakageW + part.sharedPowerW
  return { groups, rails, dynamicW, leakageW, powerW, riseK: Math.max(...groups.map(group => group.riseK)) }
}

/** T_plate + θ_package · P + H (model section 4). */
export const dieTemperatureC = (bench: Bench, corner: Corner, powerW: number, riseK: number): number =>
  plateTemperatureC(bench, corner, powerW) + bench.part.packageResistanceKPerW * powerW + riseK

/** RHS(T) of model section 6 at one level. */
export const rightHandSideC = (chip: Chip, corner: Corner, task: Task, ratios: Ratios, dieC: number): number => {
  const at = running(chip, task, ratios, dieC)
  return dieTemperatureC(chip.bench, corner, at.powerW, at.riseK)
}

/** Cold enough that every right-hand side lies above it. */
const coldestC = -150
/** Model section 6: a root is looked for below this. */
export const hottestC = 400

const dieGrid = evenly(coldestC, hottestC, 110)

/** All balances below 400 °C at one level, rising. */
export const balances = (chip: Chip, corner: Corner, task: Task, ratios: Ratios): Scan => {
  const { bench } = chip
  const off = (dieC: number): number => rightHandSideC(chip, corner, task, ratios, dieC) - dieC
  if (bench.cooler.kind !== 'thermoelectric') return allRoots(off, dieGrid)
  // Modules take long to work out: where a rough plate says that no balance is near, it is enough.
  const roughlyOff = (dieC: number): number => {
    const { powerW, riseK } = running(chip, task, ratios, dieC)
    const rough = roughPlateC(bench, corner, powerW) + bench.part.packageResistanceKPerW * powerW + riseK - dieC
    return Math.abs(rough) > 4 ? rough : off(dieC)
  }
  return allRoots(roughlyOff, dieGrid, off)
}

/** The ratio of every active group by one rule. */
export const ratiosOf = (chip: Chip, task: Task, of: (group: Group, cores: number) => number): Ratios =>
  ofActive(chip, task, of)
