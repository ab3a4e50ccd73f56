/** The reference asked about a plain part: one group, one rail, one ratio. */
import type { Bench, Corner } from '../../server/model/types.ts'
import { chipOf, taskOf, type Work } from './chip.ts'
import { coreAt, type Fed, rates, type Temperatures } from './course/network.ts'
import { courseRun } from './course/run.ts'
import { balances, running } from './die.ts'
import { capOf, caseOf, ceilingRatios } from './levels.ts'
import type { Scan } from './numeric.ts'

/** Everything about the die at one ratio and one temperature. */
export const runningPlain = (bench: Bench, load: Work, ratio: number, dieC: number) => {
  const at = running(chipOf(bench), taskOf(load), [ratio], dieC)
  const [group, rail] = [at.groups[0], at.rails[0]]
  if (!group || !rail) throw new Error('a plain part is one group on one rail')
  return { ...at, ...rail, clockGhz: group.clockGhz }
}

/** All balances below 400 °C at one ratio, rising. */
export const balancesPlain = (bench: Bench, corner: Corner, load: Work, ratio: number): Scan =>
  balances(chipOf(bench), corner, taskOf(load), [ratio])

const workOf = (load: Work) => ({ kind: 'work' as const, task: taskOf(load) })

/** Temperature of the hottest core and power at a ratio, from die and lid. */
export const coreAtPlain = (bench: Bench, load: Work, ratio: number, dieAndLidC: number) =>
  coreAt(chipOf(bench), workOf(load), [ratio], dieAndLidC)

/** Section 10's rates of change at a ratio and a current, without a hot side of its own. */
export const ratesPlain = (
  bench: Bench,
  load: Work,
  corner: Corner,
  ratio: number,
  fed: Fed,
  t: Omit<Temperatures, 'hot'>,
) =>
  rates(
    { chip: chipOf(bench), corner, doing: workOf(load), ratios: [ratio], fed, storesHot: false },
    { ...t, hot: Number.NaN },
  )

/** A load from steady idle on, tick by tick; ends early where the machine trips. */
export const plainRun = (bench: Bench, load: Work, corner: Corner, overS: number, tickS = 0.01) => {
  const chip = chipOf(bench)
  const doing = workOf(load)
  const lines = [{ kind: 'step' as const, doing, lastsS: overS }]
  const run = courseRun(chip, corner, { start: { kind: 'idle' }, lines }, { tickS })
  if (!run) throw new Error('idle has no steady state')
  const cap = ceilingRatios(chip, doing.task, capOf(caseOf(chip, doing.task, corner)).count)[0] ?? 0
  return { cap, ticks: run.ticks.map(tick => ({ ...tick, ratio: tick.ratios[0] ?? 0 })) }
}
