/** The reference asked about a plain part: one group, one rail, one ratio. */
import type { Bench, Corner } from '../../server/model/types.ts'
import { chipOf, taskOf, type Work } from './chip.ts'
import { balances, running } from './die.ts'
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
