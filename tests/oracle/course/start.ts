/** Where a course begins: temperatures, averaged power, current and what the controller has in force. */
import type { Corner } from '../../../server/model/types.ts'
import type { Chip } from '../chip.ts'
import type { InForce } from '../ladder.ts'
import { meanOf } from '../ladder.ts'
import { caseOf } from '../levels.ts'
import { feedOf, plateFed } from '../plate.ts'
import { type OracleSettled, oracleSettle, outcomeOf, settleTask } from '../settle.ts'
import type { Start } from './course.ts'
import { chilledC, type Temperatures } from './network.ts'

export interface Begun {
  readonly t: Temperatures
  readonly averageW: number
  /** Current through a module while it flows. */
  readonly currentA: number
  readonly inForce?: InForce
}

/** Hot side and current of a plate at rest at a heat. */
const plateAtRest = ({ bench }: Chip, corner: Corner, heatW: number, coolantC: number, driven: boolean) => {
  const { cooler } = bench
  if (cooler.kind !== 'thermoelectric') return { hot: coolantC, currentA: 0 }
  const feed = driven ? feedOf(bench, cooler, corner, heatW) : ({ kind: 'current', flowingA: 0, duty: 1 } as const)
  const at = plateFed(bench, cooler, corner, heatW, feed)
  return { hot: at.hotC, currentA: 'flowingA' in at ? at.flowingA : 0 }
}

/** undefined where what it starts from has no steady state, or is over its limit. */
export const begun = (chip: Chip, corner: Corner, start: Start): Begun | undefined => {
  const { bench } = chip
  const { airC } = corner
  if (start.kind === 'room') {
    const coolant = bench.cooler.kind === 'chilled' ? chilledC(bench, airC) : airC
    return { t: { die: airC, plate: airC, coolant, hot: airC, sensed: airC }, averageW: 0, currentA: 0 }
  }
  const doing = start.kind === 'idle' ? { kind: 'idle' as const } : start.doing
  const settled: OracleSettled =
    doing.kind === 'work' ? settleTask(chip, doing.task, corner) : oracleSettle(bench, doing, corner)
  const { dieC, plateC, coolantC, powerW, state } = settled
  if (dieC === null || plateC === null || powerW === null || state === 'over-limit') return undefined
  const coolant = coolantC ?? plateC
  const { hot, currentA } = plateAtRest(chip, corner, powerW, coolant, true)
  if (doing.kind !== 'work')
    return { t: { die: dieC, plate: plateC, coolant, hot, sensed: dieC }, averageW: powerW, currentA }
  const here = caseOf(chip, doing.task, corner)
  const { outcome } = outcomeOf(here)
  if (outcome.kind === 'runaway') return undefined
  const { riseK } = meanOf(here, outcome, dieC)
  const t = { die: dieC - riseK, plate: plateC, coolant, hot, sensed: dieC }
  // Section 8: where the clock alternates for the sake of `sustained-power`, its mean is exactly the limit.
  const isShared = outcome.kind === 'alternating' && outcome.limiter === 'sustained-power'
  const { sustainedPowerW = powerW } = bench.profile.limits
  return { t, averageW: isShared ? sustainedPowerW : powerW, currentA, inForce: outcome.inForce }
}
