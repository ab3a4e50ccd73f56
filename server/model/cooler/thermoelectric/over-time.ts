/** The drive of a thermoelectric plate from tick to tick (model section 10). */

import { rootBetween } from '../../root.ts'
import { type CurrentLaw, type Flows, flowsUnder, isConstant, type Stack } from './stack.ts'

const HOT_ROUNDS = 12
/** The first step in K that one more would follow below rounding. */
const HOT_LAST_K = 1e-7

/**
 * Hot side over the air, from T_h = T_w + θ_block · Q_out(T_p, T_h), constants and the law's current found together;
 * `flows` is left at it.
 */
export function hotSideAt(
  stack: Stack,
  law: CurrentLaw,
  coldK: number,
  coolantK: number,
  nearK: number,
  flows: Flows,
): number {
  if (law.kind === 'constant' && isConstant(stack)) {
    const { modules, blockKPerW, conductanceWPerK, seebeckVPerK, resistanceOhm, airK } = stack
    const { currentA } = law
    const pumped = seebeckVPerK * currentA
    const made = pumped * airK + (currentA * currentA * resistanceOhm) / 2 + conductanceWPerK * coldK
    const hotK = (coolantK + blockKPerW * modules * made) / (1 - blockKPerW * modules * (pumped - conductanceWPerK))
    flowsUnder(stack, law, coldK, hotK, flows)
    return hotK
  }
  let hotK = nearK
  for (let round = 0; round < HOT_ROUNDS; round++) {
    flowsUnder(stack, law, coldK, hotK, flows)
    const step = (coolantK + stack.blockKPerW * flows.outW - hotK) / (1 - stack.blockKPerW * flows.outByHot)
    hotK += step
    if (Math.abs(step) <= HOT_LAST_K) break
  }
  flowsUnder(stack, law, coldK, hotK, flows)
  return hotK
}

/**
 * Smallest current in [0, `limitA`] at which a plate held at `targetK` over the air with the coolant at `coolantK` takes
 * at least `heatW`; Infinity where none does. The heat taken is concave in the current, or nearly so: Newton's steps from
 * below come to the first such current, and a step beyond it is taken back. Starting above it works too while the heat
 * still rises there: the first step lands below it.
 *
 * @param nearA a current that may be near, as that of the tick before
 */
export function currentForTarget(
  stack: Stack,
  limitA: number,
  targetK: number,
  coolantK: number,
  heatW: number,
  flows: Flows,
  nearA = 0,
): number {
  let beforeA = 0
  let currentA = nearA >= 0 && nearA <= limitA ? nearA : 0
  let hasRisen = false
  let hotK = coolantK
  const shortAt = (ampere: number): number => {
    hotK = hotSideAt(stack, { kind: 'constant', currentA: ampere }, targetK, coolantK, hotK, flows)
    return heatW - flows.heatW
  }
  for (let round = 0; round < 60; round++) {
    const short = shortAt(currentA)
    const isPast = short < -1e-12 * (1 + Math.abs(heatW))
    if (isPast && hasRisen) return backTo(shortAt, beforeA, currentA)
    if (short <= 1e-12 * (1 + Math.abs(heatW)) && (!isPast || currentA === 0)) return currentA
    const hotByCurrent = (stack.blockKPerW * flows.outByCurrent) / (1 - stack.blockKPerW * flows.outByHot)
    const slope = flows.heatByCurrent + flows.heatByHot * hotByCurrent
    if (!(slope > 0) && currentA > 0 && !hasRisen) {
      // Beyond the most heat there is nothing near.
      currentA = 0
      continue
    }
    if (!(slope > 0)) return Number.POSITIVE_INFINITY
    beforeA = currentA
    hasRisen = !isPast
    currentA = Math.max(0, currentA + short / slope)
    if (currentA > limitA) return shortAt(limitA) <= 0 ? backTo(shortAt, beforeA, limitA) : Number.POSITIVE_INFINITY
  }
  return currentA
}

function backTo(shortAt: (ampere: number) => number, lowA: number, highA: number): number {
  return rootBetween(
    (ampere, out) => {
      out.value = -shortAt(ampere)
      out.slope = Number.NaN
    },
    lowA,
    highA,
    (lowA + highA) / 2,
  )
}
