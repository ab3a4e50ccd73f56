/** One step of the classical Runge-Kutta method of order 4, for spans far below every time constant. */

import type { System } from './rodas.ts'

export interface ExplicitStepper {
  /** Whether a step of this length is far below every time constant at y. */
  suits(y: Float64Array, h: number): boolean
  /** Steps y on by h, in place. */
  step(y: Float64Array, h: number): void
}

/**
 * The step over the shortest time constant up to which the method is used. Its error a step is then below
 * 0.2⁵/120, three millionths, of how far the state is from where it is heading, and it does not add up.
 */
const LARGEST_SHARE = 0.2

/** @param driven components that nothing else depends on, such as a running integral; they set no time constant */
export function createExplicitStepper(system: System, driven: readonly number[]): ExplicitStepper {
  const n = system.size
  const [k1, k2, k3, k4, stage] = Array.from({ length: 5 }, () => new Float64Array(n)) as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ]
  const jacobian = new Float64Array(n * n)
  return {
    suits: (y, h) => {
      system.jacobian(y, jacobian)
      let fastest = 0
      for (let row = 0; row < n; row++) {
        if (driven.includes(row)) continue
        fastest = Math.max(fastest, Math.abs(jacobian[row * n + row] as number))
      }
      return h * fastest <= LARGEST_SHARE
    },
    step: (y, h) => {
      system.derivative(y, k1)
      for (let i = 0; i < n; i++) stage[i] = (y[i] as number) + (h / 2) * (k1[i] as number)
      system.derivative(stage, k2)
      for (let i = 0; i < n; i++) stage[i] = (y[i] as number) + (h / 2) * (k2[i] as number)
      system.derivative(stage, k3)
      for (let i = 0; i < n; i++) stage[i] = (y[i] as number) + h * (k3[i] as number)
      system.derivative(stage, k4)
      for (let i = 0; i < n; i++) {
        const sum = (k1[i] as number) + 2 * (k2[i] as number) + 2 * (k3[i] as number) + (k4[i] as number)
        y[i] = (y[i] as number) + (h / 6) * sum
      }
    },
  }
}
