/** One thermoelectric module: its constants from a datasheet, and its electrical input. */
import { ZERO_C_IN_K } from '../../humidity.ts'

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

/** Electrical input in W of the modules: N·(α i (Th − Tc) + i² R), exactly Q_out − Q; exactly 0 without current. */
export function inputW(
  modules: number,
  { alpha, ohm }: { readonly alpha: number; readonly ohm: number },
  currentA: number,
  acrossK: number,
): number {
  // Without current a colder hot side would give a negative zero.
  return currentA === 0 ? 0 : modules * currentA * (alpha * acrossK + currentA * ohm)
}
