/** One thermoelectric module: its constants from a datasheet, and its heats at given sides. */

import { ZERO_C_IN_K } from '../../humidity.ts'
import { emptyFlows, flowsUnder, type Modules, stackOf } from './stack.ts'

/** The four numbers of a module's datasheet at the stated hot side. */
export interface ModuleDatasheet {
  readonly hotC: number
  /** I_max. */
  readonly currentA: number
  /** V_max. */
  readonly voltageV: number
  /** Q_max. */
  readonly heatW: number
  /** ΔT_max. */
  readonly differenceK: number
}

export interface ModuleConstants {
  readonly seebeckVPerK: number
  readonly resistanceOhm: number
  readonly conductanceWPerK: number
  /** The mean temperature that they hold at, of the datasheet's own state at its largest difference: Th0 − ΔT/2. */
  readonly meanC: number
  /** Printed Q_max over the one that the other three numbers give; far from 1 the sheet contradicts itself. */
  readonly heatRatio: number
}

/** A printed Q_max further from the computed one than this is `module-inconsistent`. */
export const HEAT_RATIO_TOLERANCE = 0.07

/**
 * α, R and K of one module from its datasheet: α = Vmax/Th0, R = (Vmax/Imax)(Th0 − ΔT)/Th0,
 * K = Vmax·Imax·(Th0 − ΔT)/(2·Th0·ΔT). Lineykin & Ben-Yaakov, IEEE Trans. Ind. Appl. 43(2), 2007.
 * Qmax should be Vmax·Imax·(Th0 + ΔT)/(2·Th0).
 */
export function moduleFromDatasheet(sheet: ModuleDatasheet): ModuleConstants {
  const hotK = sheet.hotC + ZERO_C_IN_K
  const coldK = hotK - sheet.differenceK
  const product = sheet.voltageV * sheet.currentA
  return {
    seebeckVPerK: sheet.voltageV / hotK,
    resistanceOhm: ((sheet.voltageV / sheet.currentA) * coldK) / hotK,
    conductanceWPerK: (product * coldK) / (2 * hotK * sheet.differenceK),
    meanC: sheet.hotC - sheet.differenceK / 2,
    heatRatio: sheet.heatW / ((product * (hotK + sheet.differenceK)) / (2 * hotK)),
  }
}

/** Heat in W that the modules take from the plate at given plate and hot side, the constants at their mean. */
export function heatTaken(modules: Modules, currentA: number, coldC: number, hotC: number): number {
  const flows = emptyFlows()
  flowsUnder(stackOf({ ...modules, plateLeakWPerK: 0 }, coldC), { kind: 'constant', currentA }, 0, hotC - coldC, flows)
  return flows.heatW
}

/** Electrical input in W of the modules: N·(α i (Th − Tc) + i² R), exactly Q_out − Q; exactly 0 without current. */
export function electricalInput(modules: Modules, currentA: number, coldC: number, hotC: number): number {
  const flows = emptyFlows()
  flowsUnder(stackOf(modules, coldC), { kind: 'constant', currentA }, 0, hotC - coldC, flows)
  return inputW(modules.modules, flows, currentA, hotC - coldC)
}

/** The same from constants that are known. */
export function inputW(
  modules: number,
  { alpha, ohm }: { readonly alpha: number; readonly ohm: number },
  currentA: number,
  acrossK: number,
): number {
  // Without current a colder hot side would give a negative zero.
  return currentA === 0 ? 0 : modules * currentA * (alpha * acrossK + currentA * ohm)
}

/**
 * The soundness test as it is written: s·(αi − K − 1/(Nθ)) + K² < 0 with s = αi + K + G/N and θ = θ_rad + θ_block, the
 * constants at the state's mean temperature. No search needs it, since heat that leaves outward meets it; it serves
 * explanations and tests.
 */
export function isSound(modules: Modules, currentA: number, radiatorKPerW: number, meanC = 0): boolean {
  const flows = emptyFlows()
  flowsUnder(stackOf(modules, meanC), { kind: 'constant', currentA }, 0, 0, flows)
  const pumped = flows.alpha * currentA
  const theta = radiatorKPerW + modules.blockResistanceKPerW
  const count = modules.modules
  const leaked = (modules.plateLeakWPerK ?? 0) / count
  return (pumped + flows.k + leaked) * (pumped - flows.k - 1 / (count * theta)) + flows.k * flows.k < 0
}
