/** The model's integrator with free steps from end to end, as its checks against published solutions use it. */
import { createStepper, nextStep, type System, type Tolerances } from '../../server/model/transient/rodas.ts'

/**
 * Integrates from 0 to `overS` with free steps.
 * @throws RangeError where the step becomes too small to go on.
 */
export function integrate(
  system: System,
  start: ArrayLike<number>,
  overS: number,
  tolerances: Tolerances,
  firstStepS = overS / 100,
): Float64Array {
  const stepper = createStepper(system, tolerances)
  const y = Float64Array.from(start)
  let t = 0
  let h = Math.min(firstStepS, overS)
  while (t < overS) {
    const last = h >= overS - t
    if (last) h = overS - t
    const error = stepper.tryStep(y, h)
    const next = nextStep(h, error)
    if (error <= 1) {
      y.set(stepper.end)
      t = last ? overS : t + h
    } else if (next < 1e-15 * Math.max(t, 1e-300) || next < 1e-300)
      throw new RangeError(`The step became too small at ${t} s.`)
    h = next
  }
  return y
}
