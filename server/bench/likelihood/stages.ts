/**
 * The bench stage by stage, each from the end that is nearer to the air: air to coolant, coolant to plate, plate to die
 * (model sections 3 to 5). A fit asks each stage at the power that was measured, so that a wrong constant of one does not
 * bend another.
 */

import { settledCoolantC } from '../../model/cooler/index.ts'
import type { Duty } from '../../model/cooler/kind.ts'
import { hotSideAt } from '../../model/cooler/thermoelectric/over-time.ts'
import { emptyFlows, type Flows, stackOf, wiringOf } from '../../model/cooler/thermoelectric/stack.ts'
import { coreRiseKPerW } from '../../model/power.ts'
import type { Part, ThermoelectricCooler } from '../../model/types.ts'
import { unknownRiseKPerW } from './group-law.ts'
import type { LawPower, Work } from './work.ts'

/** The rise of the hottest core where the law cannot be asked; none at rest. */
export function riseKPerWOf(part: Part, work: Work | undefined): number {
  if (work === undefined) return 0
  return part.groups === undefined ? coreRiseKPerW(part, work) : unknownRiseKPerW(part, work)
}

/** @param dynamicV2Ghz the mean of voltage² · clock, which is what dynamic power follows */
export function lawPower(
  part: Part,
  work: Work,
  dynamicV2Ghz: number,
  voltageV: number,
  dieC: number,
  out: LawPower,
): void {
  const exponent = Math.max(1, part.leakageExponent)
  out.dynamicW = work.cores * work.activity * part.switchingNf * dynamicV2Ghz
  out.leakageW =
    part.leakageW * (voltageV / part.leakageAtV) ** exponent * 2 ** ((dieC - part.leakageAtC) / part.leakageDoublingK)
  out.powerW = out.dynamicW + out.leakageW + part.sharedPowerW
  out.currentA = (out.dynamicW + out.leakageW) / voltageV
  out.riseKPerW = coreRiseKPerW(part, work)
}

/** By how much the die is warmer than the plate. @param dynamicW 0 for a machine at rest */
export function overPlateK(part: Part, riseKPerW: number, powerW: number, dynamicW: number): number {
  return part.packageResistanceKPerW * powerW + riseKPerW * dynamicW
}

/** What a driven plate draws and gives to the coolant. */
export interface Driven {
  plateC: number
  /** Into the block. */
  outW: number
  /** Of all modules, as the supply sees it, leads included. */
  supplyV: number
}

const ROUNDS = 24
const STILL_K = 1e-9

/**
 * A plate of modules above coolant of a temperature, at a heat and a current through each module.
 * @returns false where that has no sound answer
 */
export function settleDrivenPlate(
  cooler: ThermoelectricCooler,
  airC: number,
  coolant: number,
  heatW: number,
  currentA: number,
  out: Driven,
): boolean {
  const stack = stackOf(cooler, airC)
  const law = { kind: 'constant', currentA } as const
  const flows: Flows = emptyFlows()
  const coolantK = coolant - airC
  let coldK = coolantK
  let hotK = coolantK
  for (let round = 0; round < ROUNDS; round++) {
    hotK = hotSideAt(stack, law, coldK, coolantK, hotK, flows)
    const hotByCold = (stack.blockKPerW * flows.outByCold) / (1 - stack.blockKPerW * flows.outByHot)
    const slope = flows.heatByCold + flows.heatByHot * hotByCold
    if (!(slope > 0)) return false
    const step = Math.max(-60, Math.min(60, (heatW - flows.heatW) / slope))
    coldK += step
    if (Math.abs(step) <= STILL_K) break
  }
  if (!(Math.abs(coldK) < 500)) return false
  hotK = hotSideAt(stack, law, coldK, coolantK, hotK, flows)
  out.plateC = airC + coldK
  out.outW = flows.outW
  out.supplyV = supplyVoltage(cooler, flows, currentA, hotK - coldK)
  return true
}

/** The voltage that a current through each module asks of the supply. */
export function supplyVoltage(cooler: ThermoelectricCooler, flows: Flows, currentA: number, acrossK: number): number {
  const { series, parallel } = wiringOf(cooler)
  return series * (flows.alpha * acrossK + currentA * flows.ohm) + (cooler.leadsOhm ?? 0) * parallel * currentA
}

const COUPLED_ROUNDS = 12
const COUPLED_SHARE = 1e-7

/**
 * Coolant and driven plate together, since what the modules give to the coolant depends on how warm it is.
 * @param overK by how much the coolant is warmer than its stage says
 * @returns the coolant in °C, `out` left at it; undefined where the modules have no sound state
 */
export function drivenCoolantC(
  cooler: ThermoelectricCooler,
  airC: number,
  duty: Duty,
  heatW: number,
  currentA: number,
  overK: number,
  out: Driven,
): number | undefined {
  let outW = heatW
  let found = airC
  for (let round = 0; round < COUPLED_ROUNDS; round++) {
    found = settledCoolantC(cooler, airC, duty, outW) + overK
    if (!settleDrivenPlate(cooler, airC, found, heatW, currentA, out)) return undefined
    if (Math.abs(out.outW - outW) < COUPLED_SHARE * (1 + Math.abs(outW))) break
    outW = out.outW
  }
  return found
}

/** What modules between two known sides give to the block, in W. */
export function outBetween(
  cooler: ThermoelectricCooler,
  airC: number,
  plateC: number,
  coolant: number,
  currentA: number,
): number {
  const flows = emptyFlows()
  const coolantK = coolant - airC
  hotSideAt(stackOf(cooler, airC), { kind: 'constant', currentA }, plateC - airC, coolantK, coolantK, flows)
  return flows.outW
}
