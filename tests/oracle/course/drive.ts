/** The current that section 10 asks for at a tick, searched for afresh each time. */
import type { Bench, Corner, ThermoelectricCooler } from '../../../server/model/types.ts'
import { constantsAt } from '../module-constants.ts'
import { crossing, valley } from '../numeric.ts'
import { feedOf, mostOf, plateAtCurrentC, targetC } from '../plate.ts'
import { type Fed, flows, hotSide, leakIn, zeroC } from './network.ts'

/** The temperatures beside the modules now; `hotC` where the hot side stores heat, else it follows from the coolant. */
interface Beside {
  readonly plateC: number
  readonly coolantC: number
  readonly hotC: number | undefined
}

/** A constant voltage drives what the temperatures of now let it, within its bounds. */
const suppliedA = (cooler: ThermoelectricCooler, volts: number, { plateC, coolantC, hotC }: Beside): number => {
  const { wiringSeries: series = cooler.modules, wiringParallel: parallel = 1, leadsOhm = 0 } = cooler
  const missing = (i: number): number => {
    const plateK = plateC + zeroC
    const hotK = hotC === undefined ? hotSide(cooler, { i, duty: 1 }, plateK, coolantC + zeroC) : hotC + zeroC
    // The voltage rises without end up to the current at which no hot side carries its heat away.
    if (hotK <= 0) return Number.POSITIVE_INFINITY
    const { seebeck, ohm } = constantsAt(cooler, (plateK + hotK) / 2)
    return series * (seebeck * (hotK - plateK) + i * ohm) + leadsOhm * parallel * i - volts
  }
  const { mostA } = mostOf(cooler)
  if (missing(0) >= 0) return 0
  return missing(mostA) <= 0 ? mostA : crossing(missing, 0, mostA)
}

/**
 * The lower of section 5's current for the heat and the current that holds the plate at its target with the coolant of now,
 * the hot side following it at once (as the text has it), whether or not it stores heat.
 */
const targetA = (
  bench: Bench,
  cooler: ThermoelectricCooler,
  corner: Corner,
  heatW: number,
  coolantC: number,
): number => {
  const target = targetC(bench, corner) ?? 0
  const most = cooler.driveCurrentA
  const takenAt = (i: number): number => {
    const fed = { i, duty: 1 }
    const hotK = hotSide(cooler, fed, target + zeroC, coolantC + zeroC)
    return flows(cooler, fed, target + zeroC, hotK).takenW - leakIn(cooler, corner.airC, target)
  }
  let now = Number.POSITIVE_INFINITY
  if (takenAt(0) >= heatW) now = 0
  else {
    const best = valley(i => -takenAt(i), 0, most)
    if (takenAt(best) >= heatW) now = crossing(i => heatW - takenAt(i), 0, best)
  }
  const steadyAt = (i: number): number => plateAtCurrentC(bench, cooler, corner, heatW, i)
  if (steadyAt(0) <= target) return 0
  const { fan } = bench.profile
  const falls = fan.some((row, index) => index > 0 && row.dutyPct < (fan[index - 1]?.dutyPct ?? 0))
  // More current cools further up to the coldest one: where `now` does not reach the target, section 5 asks for more.
  if (!falls && now < most && steadyAt(now) > target && steadyAt(now * (1 - 1e-6)) > steadyAt(now)) return now
  const feed = feedOf(bench, cooler, corner, heatW)
  return Math.min(now, feed.kind === 'current' ? feed.flowingA : 0)
}

/** What the drive feeds the modules by section 10, without lag. */
export const fedBy = (bench: Bench, corner: Corner, heatW: number, beside: Beside): Fed => {
  const { cooler, profile } = bench
  if (cooler.kind !== 'thermoelectric') return { i: 0, duty: 1 }
  const { drive } = profile
  if (drive.kind === 'supply') return { i: suppliedA(cooler, drive.voltageV, beside), duty: 1 }
  if (drive.kind === 'dew' || drive.kind === 'hold')
    return { i: targetA(bench, cooler, corner, heatW, beside.coolantC), duty: 1 }
  const feed = feedOf(bench, cooler, corner, heatW)
  if (feed.kind !== 'current') throw new Error('only a supply feeds a voltage')
  return { i: feed.flowingA, duty: feed.duty }
}
