/** Heats of thermoelectric modules at given sides, from the model's own flows, and the soundness test as it is written. */
import { inputW } from '../../server/model/cooler/thermoelectric/module.ts'
import { emptyFlows, flowsUnder, type Modules, stackOf } from '../../server/model/cooler/thermoelectric/stack.ts'

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

/**
 * The soundness test as it is written: s·(αi − K − 1/(Nθ)) + K² < 0 with s = αi + K + G/N and θ = θ_rad + θ_block, the
 * constants at the state's mean temperature. No search needs it, since heat that leaves outward meets it.
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
