/**
 * Heat on its way through driven modules: die, plate and coolant over a stretch of time, with power and current the same
 * all over it (model section 10): how uneven the power was within it is left out. The modules count as linear within each
 * of a few steps.
 */

import { hotSideAt } from '../../model/cooler/thermoelectric/over-time.ts'
import { emptyFlows, type Stack, stackOf } from '../../model/cooler/thermoelectric/stack.ts'
import type { ThermoelectricCooler } from '../../model/types.ts'

interface DrivenLinks {
  readonly dieHeatJPerK: number
  readonly packageKPerW: number
  readonly radiatorKPerW: number
}

/** Steps of a stretch: short ones first, where what is quick happens. */
const SHARES = [0.05, 0.15, 0.3, 0.5]
/**
 * Of the L-stable diagonally implicit Runge-Kutta method of second order with two stages (R. Alexander, SIAM J. Numer.
 * Anal. 14, 1977; cited from memory).
 */
const GAMMA = 1 - Math.SQRT1_2

export interface DrivenChain {
  /**
   * Carries die, plate and coolant over a stretch. @param isCoolantGiven the coolant stays what the state says
   * @returns false where the modules have no sound state
   */
  advance(
    overS: number,
    powerW: number,
    currentA: number,
    links: DrivenLinks,
    isCoolantGiven: boolean,
    state: Float64Array,
    means: Float64Array,
  ): boolean
}

export function createDrivenChain(cooler: ThermoelectricCooler, airC: number): DrivenChain {
  const stack: Stack = stackOf(cooler, airC)
  const flows = emptyFlows()
  const a = new Float64Array(9)
  const g = new Float64Array(3)
  const matrix = new Float64Array(9)
  const [first, second] = [new Float64Array(3), new Float64Array(3)]
  let hotK = 0
  return {
    advance: (overS, powerW, currentA, links, isCoolantGiven, state, means) => {
      const law = { kind: 'constant', currentA } as const
      means.fill(0)
      for (const share of SHARES) {
        const h = share * overS
        const [coldK, coolantK] = [(state[1] as number) - airC, (state[2] as number) - airC]
        hotK = hotSideAt(stack, law, coldK, coolantK, hotK, flows)
        const damp = 1 - stack.blockKPerW * flows.outByHot
        if (!(damp > 0)) return false
        const hotByCold = (stack.blockKPerW * flows.outByCold) / damp
        const hotByCoolant = 1 / damp
        const heatByPlate = flows.heatByCold + flows.heatByHot * hotByCold
        const heatByCoolant = flows.heatByHot * hotByCoolant
        const outByPlate = flows.outByCold + flows.outByHot * hotByCold
        const outByCoolant = flows.outByHot * hotByCoolant
        const up = 1 / links.packageKPerW
        a.fill(0)
        a[0] = -up / links.dieHeatJPerK
        a[1] = up / links.dieHeatJPerK
        g[0] = powerW / links.dieHeatJPerK
        a[3] = up / cooler.plateHeatJPerK
        a[4] = (-up - heatByPlate) / cooler.plateHeatJPerK
        a[5] = -heatByCoolant / cooler.plateHeatJPerK
        const [plateC, coolantC] = [state[1] as number, state[2] as number]
        g[1] = (heatByPlate * plateC + heatByCoolant * coolantC - flows.heatW) / cooler.plateHeatJPerK
        g[2] = 0
        if (!isCoolantGiven) {
          const down = 1 / links.radiatorKPerW
          a[7] = outByPlate / cooler.coolantHeatJPerK
          a[8] = (outByCoolant - down) / cooler.coolantHeatJPerK
          g[2] = (flows.outW - outByPlate * plateC - outByCoolant * coolantC + down * airC) / cooler.coolantHeatJPerK
        }
        for (let i = 0; i < 9; i++) matrix[i] = -GAMMA * h * (a[i] as number)
        for (let i = 0; i < 3; i++) matrix[4 * i] = 1 + (matrix[4 * i] as number)
        for (let i = 0; i < 3; i++) first[i] = (state[i] as number) + GAMMA * h * (g[i] as number)
        solve3(matrix, first)
        for (let i = 0; i < 3; i++) {
          const slope = ((first[i] as number) - (state[i] as number)) / (GAMMA * h)
          second[i] = (state[i] as number) + (1 - GAMMA) * h * slope + GAMMA * h * (g[i] as number)
        }
        solve3(matrix, second)
        for (let i = 0; i < 3; i++) {
          means[i] = (means[i] as number) + share * ((1 - GAMMA) * (first[i] as number) + GAMMA * (second[i] as number))
          state[i] = second[i] as number
          if (!(Math.abs(state[i] as number) < 1000)) return false
        }
      }
      return true
    },
  }
}

/** Puts A⁻¹ b in the place of b, for three unknowns; A stays. */
function solve3(a: Float64Array, b: Float64Array): void {
  const [a0, a1, a2, a3, a4, a5, a6, a7, a8] = a as unknown as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ]
  const [x, y, z] = b as unknown as [number, number, number]
  const c0 = a4 * a8 - a5 * a7
  const c1 = a5 * a6 - a3 * a8
  const c2 = a3 * a7 - a4 * a6
  const det = a0 * c0 + a1 * c1 + a2 * c2
  b[0] = (x * c0 + y * (a2 * a7 - a1 * a8) + z * (a1 * a5 - a2 * a4)) / det
  b[1] = (x * c1 + y * (a0 * a8 - a2 * a6) + z * (a2 * a3 - a0 * a5)) / det
  b[2] = (x * c2 + y * (a1 * a6 - a0 * a7) + z * (a0 * a4 - a1 * a3)) / det
}
