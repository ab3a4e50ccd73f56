/** Model sections 7 to 9 put together, step by step as they are written. */
import type {
  Bench,
  Corner,
  Limiter,
  Load,
  PlateNotes,
  Settled,
  SettledNotes,
  ThermoelectricCooler,
} from '../../server/model/types.ts'
import { fanDutyPct, passivePlate, wetPointC } from './cooling.ts'
import { coreRiseK, hottestC, needVoltageV, rightHandSideC, running } from './die.ts'
import { lowestHeld, meanOf, sustainedOf, walk } from './ladder.ts'
import { type Case, capOf, dieCeilingC, isBelow, levelsOf, merged } from './levels.ts'
import { largestExtraHeatW } from './margin.ts'
import {
  coldestCurrentA,
  feedOf,
  mostOf,
  plateAtCurrentC,
  plateFed,
  plateTemperatureC,
  smooth,
  targetC,
} from './plate.ts'

export interface OracleSettled extends Omit<Settled, 'notes' | 'driveV'> {
  readonly notes: Partial<SettledNotes>
  /** How near, in its own unit, the nearest comparison was to going the other way. */
  readonly edge: number
}

const nothing = {
  ratio: null,
  ratioLow: null,
  ratioHigh: null,
  shareHigh: null,
  clockMhz: null,
  setV: null,
  voltageV: null,
  needV: null,
  dynamicW: null,
  leakageW: null,
  currentA: null,
} as const

/** Figures and notes of a thermoelectric plate at a heat. */
const plateFigures = (bench: Bench, cooler: ThermoelectricCooler, corner: Corner, heatW: number) => {
  const feed = feedOf(bench, cooler, corner, heatW)
  const state = plateFed(bench, cooler, corner, heatW, feed)
  if (!('flowingA' in state)) throw new Error('a settled plate has a state')
  const duty = feed.kind === 'current' ? feed.duty : 1
  const coldestA = coldestCurrentA(bench, cooler, corner, heatW, duty)
  const target = targetC(bench, corner)
  const { constants, flowingA } = state
  const bound = (): PlateNotes['boundBy'] => {
    if (feed.kind !== 'voltage') return 'none'
    if (flowingA === 0) return 'no-current'
    return flowingA === feed.mostA ? mostOf(cooler).by : 'none'
  }
  const plate: PlateNotes = {
    flowingA,
    boundBy: bound(),
    targetC: target,
    isTargetMissed: target !== null && state.plateC > target + 1e-6,
    supplyA: state.supplyA,
    supplyV: state.supplyV,
    leadsW: state.leadsW,
    leakW: state.leakW,
    meanC: state.meanC,
    seebeckVPerK: constants.seebeck,
    resistanceOhm: constants.ohm,
    conductanceWPerK: constants.conductance,
    smoothPlateC: plateFed(bench, cooler, corner, heatW, smooth(state.driveA)).plateC,
  }
  return {
    figures: {
      plateC: state.plateC,
      coolantC: state.coolantC,
      fanPct: fanDutyPct(bench, state.coolantC),
      driveA: state.driveA,
      driveW: state.driveW,
    },
    notes: {
      hotC: state.hotC,
      coldestA,
      coldestPlateC: plateAtCurrentC(bench, cooler, corner, heatW, coldestA, duty),
      plate: duty === 1 ? { ...plate, smoothPlateC: state.plateC } : plate,
    },
  }
}

const coolerFigures = (bench: Bench, corner: Corner, heatW: number) => {
  const { cooler } = bench
  if (cooler.kind === 'thermoelectric') {
    const { figures, notes } = plateFigures(bench, cooler, corner, heatW)
    return { figures, notes: { ...notes, fanBelowData: figures.fanPct < (cooler.radiator[0]?.dutyPct ?? 0) } }
  }
  const { plateC, coolantC } = passivePlate(bench, cooler, corner, heatW)
  const fanPct = fanDutyPct(bench, coolantC)
  const fanBelowData = cooler.kind !== 'chilled' && fanPct < (cooler.radiator[0]?.dutyPct ?? 0)
  return {
    figures: { plateC, coolantC, fanPct, driveA: null, driveW: null },
    notes: { fanBelowData, hotC: null, coldestA: null, coldestPlateC: null, plate: null },
  }
}

const runawayResult = (wetC: number, limiter: Limiter, notes: Partial<SettledNotes>) => ({
  ...nothing,
  state: 'runaway' as const,
  limiter,
  powerW: null,
  dieC: null,
  plateC: null,
  coolantC: null,
  fanPct: null,
  driveA: null,
  driveW: null,
  wetC,
  marginW: null,
  notes,
})

/** Idle is idle-power without a ratio; off is no heat at all (model sections 3, 4 and 9). */
const restResult = (bench: Bench, corner: Corner, powerW: number): OracleSettled => {
  const wetC = wetPointC(corner)
  const ceilingC = dieCeilingC(bench)
  const dieC = plateTemperatureC(bench, corner, powerW) + bench.part.packageResistanceKPerW * powerW
  if (!(dieC < hottestC)) return { ...runawayResult(wetC, 'none', {}), edge: Infinity }
  const { figures, notes } = coolerFigures(bench, corner, powerW)
  return {
    ...nothing,
    ...figures,
    state: dieC < ceilingC ? 'steady' : 'over-limit',
    limiter: 'none',
    powerW,
    dieC,
    wetC,
    marginW: largestExtraHeatW(bench, corner, {
      settledW: powerW,
      ceilingC,
      coreRiseK: () => 0,
      powerW: () => powerW,
    }),
    notes,
    edge: Math.abs(dieC - ceilingC),
  }
}

/** What a load settles at, found the slow way. */
export const oracleSettle = (bench: Bench, load: Load, corner: Corner): OracleSettled => {
  if (load.kind === 'idle') return restResult(bench, corner, bench.part.idlePowerW)
  if (load.kind === 'off') return restResult(bench, corner, 0)
  const here: Case = { bench, corner, load, known: new Map(), gaps: [] }
  const wetC = wetPointC(corner)
  const plain = levelsOf(bench, load)
  const first = plain[0]
  if (!first) throw new Error('a ladder has a level')
  const cap = capOf(here, first.ratio)
  const levels = merged(
    plain.map((level, index) => {
      const limiter = index === 0 && cap.limiter !== null ? cap.limiter : level.limiter
      return { ...level, ratio: Math.min(level.ratio, cap.ratio), limiter }
    }),
  )
  let outcome = walk(here, levels)
  let sustainedOver = false
  const limitW = bench.profile.limits.sustainedPowerW
  if (limitW !== undefined) {
    const isOver = outcome.kind === 'runaway' || isBelow(here, limitW, meanOf(here, outcome, outcome.dieC).powerW)
    if (isOver) {
      const sustained = sustainedOf(here, cap.ratio, limitW)
      sustainedOver = sustained === undefined
      outcome = sustained ?? lowestHeld(here)
    }
  }
  const edge = (): number => Math.min(Number.POSITIVE_INFINITY, ...here.gaps)
  const common = { sustainedOver, currentOver: cap.over }
  if (outcome.kind === 'runaway') {
    return { ...runawayResult(wetC, outcome.limiter, common), edge: edge() }
  }
  const settled = outcome
  const dieC = settled.dieC
  const mean = meanOf(here, settled, dieC)
  const high = settled.kind === 'steady' ? settled.ratio : settled.high
  const low = settled.kind === 'steady' ? settled.ratio : settled.low
  const { figures, notes } = coolerFigures(bench, corner, mean.powerW)
  const slopeOver = (fromC: number, toC: number): number =>
    (rightHandSideC(bench, corner, load, high, toC) - rightHandSideC(bench, corner, load, high, fromC)) / (toC - fromC)
  const before = slopeOver(dieC - 0.05, dieC)
  const after = slopeOver(dieC, dieC + 0.05)
  const isSmooth = settled.kind === 'steady' && Math.abs(before - after) < 5e-3
  const ratios = settled.kind === 'steady' ? [high] : [high, low]
  return {
    ...figures,
    state: settled.state,
    limiter: settled.limiter,
    ratio: mean.clockGhz / bench.part.referenceGhz,
    ratioLow: low,
    ratioHigh: high,
    shareHigh: settled.kind === 'steady' ? 1 : settled.shareHigh,
    clockMhz: mean.clockGhz * 1000,
    setV: mean.setV,
    voltageV: mean.dieV,
    needV: needVoltageV(bench, load, high, dieC),
    powerW: mean.powerW,
    dynamicW: mean.dynamicW,
    leakageW: mean.leakageW,
    currentA: mean.currentA,
    dieC,
    wetC,
    marginW:
      settled.state === 'throttled'
        ? 0
        : largestExtraHeatW(bench, corner, {
            settledW: mean.powerW,
            ceilingC: dieCeilingC(bench),
            coreRiseK: at => coreRiseK(bench, load, meanOf(here, settled, at).dynamicW),
            powerW: at => meanOf(here, settled, at).powerW,
          }),
    notes: {
      ...notes,
      ...common,
      ...(isSmooth ? { slope: (before + after) / 2 } : {}),
      ...(settled.kind === 'alternating' && settled.atC !== null ? { alternatesAtC: settled.atC } : {}),
      voltages: ratios.map(ratio => {
        const at = running(bench, load, ratio, dieC)
        return { ratio, setV: at.setV, voltageV: at.dieV, needV: needVoltageV(bench, load, ratio, dieC) }
      }),
    },
    edge: edge(),
  }
}
