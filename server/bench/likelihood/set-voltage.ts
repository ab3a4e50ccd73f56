/**
 * What stands for a voltage at the die that nobody read: what the profile sets at the clock that was read, less what the
 * load line takes at the constants that are asked about. A prediction from other constants may be of another clock, and of
 * another current. A clock that nobody read follows the other way round from a voltage that was read.
 */

import type { Part } from '../../model/types.ts'
import { dieVoltageV } from '../../model/voltage.ts'
import type { GroupWork, SetVoltage, Work } from './work.ts'

type Leaking = Pick<Part, 'leakageW' | 'leakageAtV' | 'leakageAtC'>

/** Leakage in W/V^k at a die temperature. */
const leakageWPerVk = (part: Part, { leakageW, leakageAtV, leakageAtC }: Leaking, dieC: number): number =>
  (leakageW / leakageAtV ** exponentOf(part)) * 2 ** ((dieC - leakageAtC) / part.leakageDoublingK)

const exponentOf = ({ leakageExponent }: Part): number => Math.max(1, leakageExponent)

/** The voltage at the die in V where all cores are alike. */
export function voltageBehind(set: SetVoltage, part: Part, work: Work, clockGhz: number, dieC: number): number {
  const perV2 = work.cores * work.activity * part.switchingNf * clockGhz
  return dieVoltageV(set.at(clockGhz), set.loadLineOhm, perV2, leakageWPerVk(part, part, dieC), exponentOf(part))
}

const CLOCK_ROUNDS = 20
const CLOCK_STILL_GHZ = 1e-7

/**
 * The clock in GHz that nobody read, where all cores are alike: the one whose set voltage the load line brings down to what
 * the profile leaves at the die. Undefined where the profile sets several clocks the same voltage.
 */
export function clockBehind(
  { clockOf, loadLineOhm }: SetVoltage,
  part: Part,
  work: Work,
  voltageV: number,
  dieC: number,
): number | undefined {
  if (clockOf === undefined) return undefined
  const perGhzA = work.cores * work.activity * part.switchingNf * voltageV
  const leakageA = leakageWPerVk(part, part, dieC) * voltageV ** (exponentOf(part) - 1)
  let clockGhz = clockOf(voltageV)
  for (let round = 0; round < CLOCK_ROUNDS; round++) {
    const next = clockOf(voltageV + loadLineOhm * (perGhzA * clockGhz + leakageA))
    const isStill = Math.abs(next - clockGhz) < CLOCK_STILL_GHZ
    clockGhz = next
    if (isStill) break
  }
  return clockGhz
}

/**
 * The voltage in V of the supply rail that a group is on: the highest that a busy group on it asks for, less what the load
 * line takes for all of them. Of a rail whose cores are all idle what is predicted.
 * @param ghz clocks of the groups
 */
export function railVoltageBehind(
  part: Part,
  groups: readonly GroupWork[],
  { voltage: rail, insteadV }: GroupWork,
  ghz: ArrayLike<number>,
  dieC: number,
): number {
  let [setV, ohm, perV2, perVk] = [Number.NEGATIVE_INFINITY, 0, 0, 0]
  groups.forEach(({ voltage, cores, activity, set }, index) => {
    const own = part.groups?.[index]
    if (voltage !== rail || own === undefined) return
    perVk += leakageWPerVk(part, own, dieC)
    if (cores === 0 || set === undefined) return
    const clockGhz = ghz[index] as number
    perV2 += cores * activity * own.switchingNf * clockGhz
    setV = Math.max(setV, set.at(clockGhz))
    ohm = set.loadLineOhm
  })
  if (setV === Number.NEGATIVE_INFINITY) return insteadV ?? Number.NaN
  return dieVoltageV(setV, ohm, perV2, perVk, exponentOf(part))
}
