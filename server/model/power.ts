/** Power of the die at a ratio and a temperature (model section 3). */

import type { Part } from './types.ts'
import { dieVoltageV, leakageA, raised } from './voltage.ts'

/** What one load draws at one ratio, set voltage and die temperature. */
export interface PowerPoint {
  readonly voltageV: number
  readonly dynamicW: number
  readonly leakageW: number
  /** Dynamic, leakage and shared power together. */
  readonly powerW: number
  /** Current through the load line: (dynamic + leakage) / die voltage. */
  readonly currentA: number
}

/**
 * Dynamic power in watts per square volt: n · activity · C · f, with P_dyn = that · V².
 * Nanofarad times gigahertz gives W/V². Formula: P = α C V² f, as in Weste & Harris, CMOS VLSI Design, ch. 5.
 */
export function dynamicWPerV2(part: Part, cores: number, activity: number, ratio: number): number {
  return cores * activity * part.switchingNf * ratio * part.referenceGhz
}

/**
 * By how many kelvin a watt of all cores' dynamic power lifts the hottest core over the die: θ_core · u / n, u being
 * the load's unevenness (model section 4).
 */
export function coreRiseKPerW(
  part: Pick<Part, 'coreResistanceKPerW'>,
  load: { readonly cores: number; readonly uneven?: number },
): number {
  return (part.coreResistanceKPerW * (load.uneven ?? 1)) / load.cores
}

/**
 * Leakage power in watts per volt^k at a die temperature: L0 / V0^k · 2^((T − T0)/D).
 * Doubling interval D and exponent k are parameters to fit to the sample, not constants of nature.
 */
export function leakageWPerVk(part: Part, dieC: number): number {
  const growth = Math.min(Number.MAX_VALUE, 2 ** ((dieC - part.leakageAtC) / part.leakageDoublingK))
  return leakageWPerVkAtReference(part) * growth
}

/** The same at the part's `leakage-at` temperature. */
export function leakageWPerVkAtReference({ leakageW, leakageAtV, leakageExponent }: Part): number {
  return leakageW / raised(leakageAtV, leakageExponent)
}

/**
 * Voltage, powers and current of a working load (model sections 2 and 3).
 *
 * @param setV set voltage in V, already rounded to the board's step
 * @param loadLineOhm load line in Ω, 0 for none
 * @param ratio clock over reference
 * @param dieC temperature of the hottest core in °C
 */
export function powerAt(
  part: Part,
  load: { readonly cores: number; readonly activity: number },
  setV: number,
  loadLineOhm: number,
  ratio: number,
  dieC: number,
): PowerPoint {
  const dynamic = dynamicWPerV2(part, load.cores, load.activity, ratio)
  const leakage = leakageWPerVk(part, dieC)
  const voltageV = dieVoltageV(setV, loadLineOhm, dynamic, leakage, part.leakageExponent)
  const dynamicW = dynamic * voltageV * voltageV
  const leakA = leakageA(voltageV, setV, loadLineOhm, leakage, part.leakageExponent)
  const leakageW = leakA * voltageV
  const currentA = dynamic * voltageV + leakA
  return { voltageV, dynamicW, leakageW, powerW: dynamicW + leakageW + part.sharedPowerW, currentA }
}
