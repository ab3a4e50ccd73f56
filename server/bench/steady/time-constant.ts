/** How slow a bench is. */

import type { Bench, Settled } from '../../model/types.ts'
import { kindOf } from '../../semantic/coolers/index.ts'

/**
 * The slowest thermal time constant of a bench in s: how long a log must stand still before it says anything of the
 * steady state.
 *
 * The sum of open-circuit time constants: over all heat capacities, the capacity times the resistance from it to the
 * air. For a chain of capacities and resistances that sum is an upper bound of the slowest time constant (J. Appl.
 * Phys. 19, 1948, pp. 55 to 63; cited from memory). Leakage that grows with temperature slows the bench by
 * 1/(1 − slope), slope being that of model section 9.
 *
 * @param settled what the bench settles at, for the fan's duty and the slope; full duty and no slope without it
 */
export function slowestTimeConstantS(bench: Bench, settled?: Settled): number {
  const { part, cooler } = bench
  const package_ = part.packageResistanceKPerW
  const gain = Math.min(0.8, Math.max(0, settled?.notes.slope ?? 0))
  const stretched = (sum: number): number => sum / (1 - gain)
  const { plateKPerW, behind } = kindOf(cooler).wayToAir(cooler, settled?.fanPct ?? 100)
  const ofCoolant = behind.reduce((sum, [heatJPerK, resistanceKPerW]) => sum + heatJPerK * resistanceKPerW, 0)
  return stretched(ofCoolant + cooler.plateHeatJPerK * plateKPerW + part.dieHeatJPerK * (plateKPerW + package_))
}
