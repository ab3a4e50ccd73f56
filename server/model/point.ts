/** Voltages, powers and currents of a load at held ratios and a die temperature, by supply rail and by group. */

import { dynamicWPerV2, leakageWPerVk, type PowerPoint } from './power.ts'
import type { BusyGroup, PreparedBench, PreparedGroup, PreparedLoad, PreparedRail, RatioSource } from './prepare.ts'
import { railOf } from './ratio-source.ts'
import { growthAt } from './source.ts'
import { dieVoltageV, leakageA } from './voltage.ts'

/** What a load draws; voltage and current are those of the first group that has active cores. */
export interface LoadPoint extends PowerPoint {
  /** Of each group in the part's order; empty where all cores are alike. */
  readonly groups: readonly PowerPoint[]
}

/** What a load draws at held ratios (model sections 2 and 3). @param dieC temperature of the hottest core in °C */
export function pointAt(prepared: PreparedBench, loaded: PreparedLoad, at: RatioSource, dieC: number): LoadPoint {
  const { part } = prepared.bench
  if (part.groups === undefined) return plainPoint(prepared, at, dieC)
  const lead = loaded.groups[0]?.prepared.rail ?? 0
  const groups: PowerPoint[] = new Array(prepared.groups.length)
  let voltageV = 0
  let currentA = 0
  let dynamicW = 0
  let leakageW = 0
  for (let rail = 0; rail < prepared.rails.length; rail++) {
    const { setV, dynamicWPerV2: dynamic } = railOf(at, rail)
    const { board } = prepared.rails[rail] as PreparedRail
    let leakage = 0
    for (const group of prepared.groups) if (group.rail === rail) leakage += leakageWPerVk(group.part, dieC)
    const volts = dieVoltageV(setV, board.loadLineOhm, dynamic, leakage, part.leakageExponent)
    const leakA = leakageA(volts, setV, board.loadLineOhm, leakage, part.leakageExponent)
    const amperes = dynamic * volts + leakA
    dynamicW += dynamic * volts * volts
    leakageW += leakA * volts
    if (rail === lead) {
      voltageV = volts
      currentA = amperes
    }
    shareOut(prepared, loaded, at, { rail, dieC, voltageV: volts, currentA: amperes }, leakA / leakage, groups)
  }
  return { voltageV, dynamicW, leakageW, powerW: dynamicW + leakageW + part.sharedPowerW, currentA, groups }
}

/** Two points with their shares of time; `shareFast` belongs to the first. */
export function meanPoint(fast: PowerPoint, slow: PowerPoint, shareFast: number): PowerPoint {
  const rest = 1 - shareFast
  return {
    voltageV: shareFast * fast.voltageV + rest * slow.voltageV,
    dynamicW: shareFast * fast.dynamicW + rest * slow.dynamicW,
    leakageW: shareFast * fast.leakageW + rest * slow.leakageW,
    powerW: shareFast * fast.powerW + rest * slow.powerW,
    currentA: shareFast * fast.currentA + rest * slow.currentA,
  }
}

const noGroups: PowerPoint[] = []

/** Of a plain part: one rail with nothing to share out. */
function plainPoint({ bench, rails }: PreparedBench, at: RatioSource, dieC: number): LoadPoint {
  const { part } = bench
  const { board, leakageWPerVk: atReference } = rails[0] as PreparedRail
  const { setV, dynamicWPerV2: dynamic } = at
  const leakage = atReference * growthAt(at.source, dieC)
  const voltageV = dieVoltageV(setV, board.loadLineOhm, dynamic, leakage, part.leakageExponent)
  const leakA = leakageA(voltageV, setV, board.loadLineOhm, leakage, part.leakageExponent)
  const dynamicW = dynamic * voltageV * voltageV
  const leakageW = leakA * voltageV
  const currentA = dynamic * voltageV + leakA
  return { voltageV, dynamicW, leakageW, powerW: dynamicW + leakageW + part.sharedPowerW, currentA, groups: noGroups }
}

/** Puts what each group of a rail draws at its place. @param perVk amperes of leakage for each W/V^k */
function shareOut(
  { groups }: PreparedBench,
  loaded: PreparedLoad,
  { ratios }: RatioSource,
  { rail, dieC, voltageV, currentA }: { rail: number; dieC: number; voltageV: number; currentA: number },
  perVk: number,
  out: PowerPoint[],
): void {
  for (let index = 0; index < groups.length; index++) {
    const group = groups[index] as PreparedGroup
    if (group.rail !== rail) continue
    let dynamicW = 0
    for (let busy = 0; busy < loaded.groups.length; busy++) {
      const own = loaded.groups[busy] as BusyGroup
      if (own.index !== index) continue
      dynamicW = dynamicWPerV2(group.part, own.cores, own.activity, ratios[busy] as number) * voltageV * voltageV
    }
    // Leakage beyond any number is nobody's in particular.
    const leakageW = leakageWPerVk(group.part, dieC) * (Number.isFinite(perVk) ? perVk : 0) * voltageV
    out[index] = { voltageV, dynamicW, leakageW, powerW: dynamicW + leakageW, currentA }
  }
}
