/** The power law where cores are of several kinds: each group at its own clock, and at the voltage of its supply rail. */

import type { Part } from '../../model/types.ts'
import type { LawPower, Work } from './work.ts'

/**
 * By how many kelvin a watt of dynamic power lifts the hottest core over the die where nobody knows clocks and voltages:
 * all are taken to be alike, so that the groups share the power by cores, activity and switching.
 */
export function unknownRiseKPerW(part: Part, { groups = [], uneven }: Work): number {
  let [all, hottest] = [0, 0]
  part.groups?.forEach((group, index) => {
    const { cores = 0, activity = 0 } = groups[index] ?? {}
    if (cores === 0) return
    const own = cores * activity * group.switchingNf
    all += own
    hottest = Math.max(hottest, (group.coreResistanceKPerW * uneven * own) / cores)
  })
  return all > 0 ? hottest / all : 0
}

/**
 * The law of model section 3 over all groups, idle ones too; H of section 4 as kelvins for a watt of dynamic power.
 * @param v2Ghz of each group the mean of voltage² · clock
 * @param voltageV of each group that of its rail
 */
export function groupLawPower(
  part: Part,
  work: Work,
  v2Ghz: ArrayLike<number>,
  voltageV: ArrayLike<number>,
  dieC: number,
  out: LawPower,
): void {
  const { groups: loads = [], uneven } = work
  const exponent = Math.max(1, part.leakageExponent)
  let [dynamicW, leakageW, currentA, hottest] = [0, 0, 0, 0]
  part.groups?.forEach((group, index) => {
    const { cores = 0, activity = 0 } = loads[index] ?? {}
    const volts = voltageV[index] as number
    const own = cores === 0 ? 0 : cores * activity * group.switchingNf * (v2Ghz[index] as number)
    const growth = 2 ** ((dieC - group.leakageAtC) / part.leakageDoublingK)
    const leak = group.leakageW * (volts / group.leakageAtV) ** exponent * growth
    dynamicW += own
    leakageW += leak
    currentA += (own + leak) / volts
    if (cores > 0) hottest = Math.max(hottest, (group.coreResistanceKPerW * uneven * own) / cores)
  })
  out.dynamicW = dynamicW
  out.leakageW = leakageW
  out.powerW = dynamicW + leakageW + part.sharedPowerW
  out.currentA = currentA
  out.riseKPerW = dynamicW > 0 ? hottest / dynamicW : unknownRiseKPerW(part, work)
}
