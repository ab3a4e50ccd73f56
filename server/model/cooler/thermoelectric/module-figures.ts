/**
 * What one thermoelectric module can do at its best, in closed form, for people who compare modules. Kraus, "Cooling of
 * Electronic Equipment", Mechanical Engineers' Handbook (Kutz), vol. 4, equations 112 to 123. Predictions use none of it.
 */

import { ZERO_C_IN_K } from '../../humidity.ts'
import type { ModuleDatasheet } from './module.ts'
import type { Modules } from './stack.ts'

export interface ModuleFigures {
  /** Figure of merit Z = α²/(R K). */
  readonly meritPerK: number
  /** Z times the hot side in kelvin. */
  readonly meritAtHot: number
  /** Largest difference that no heat leaves: Z Tc²/2 with Tc = (√(1 + 2 Z Th) − 1)/Z. */
  readonly differenceK: number
  /** Current at that difference: α Tc/R. */
  readonly differenceA: number
  /** Most heat at no difference: α² Th²/(2R). */
  readonly heatW: number
  /** Current at that heat: α Th/R. */
  readonly heatA: number
}

/** The best figures of one module with its hot side held at a temperature in °C. */
export function moduleFigures(
  module: Pick<Modules, 'seebeckVPerK' | 'resistanceOhm' | 'conductanceWPerK'>,
  hotC: number,
): ModuleFigures {
  const { seebeckVPerK: alpha, resistanceOhm, conductanceWPerK } = module
  const hotK = hotC + ZERO_C_IN_K
  const meritPerK = (alpha * alpha) / (resistanceOhm * conductanceWPerK)
  const coldK = (Math.sqrt(1 + 2 * meritPerK * hotK) - 1) / meritPerK
  return {
    meritPerK,
    meritAtHot: meritPerK * hotK,
    differenceK: hotK - coldK,
    differenceA: (alpha * coldK) / resistanceOhm,
    heatW: (alpha * hotK) ** 2 / (2 * resistanceOhm),
    heatA: (alpha * hotK) / resistanceOhm,
  }
}

/**
 * Each datasheet figure as the other three and the hot side give it, by Qmax = Vmax·Imax·(Th0 + ΔT)/(2·Th0)
 * (Lineykin and Ben-Yaakov, IEEE Trans. Ind. Appl. 43(2), 2007). A difference may come out negative.
 */
export function fromOtherFigures(sheet: ModuleDatasheet): Omit<ModuleDatasheet, 'hotC'> {
  const { currentA, voltageV, heatW, differenceK } = sheet
  const hotK = sheet.hotC + ZERO_C_IN_K
  const share = (hotK + differenceK) / (2 * hotK)
  return {
    currentA: heatW / (voltageV * share),
    voltageV: heatW / (currentA * share),
    heatW: voltageV * currentA * share,
    differenceK: hotK * ((2 * heatW) / (voltageV * currentA) - 1),
  }
}
