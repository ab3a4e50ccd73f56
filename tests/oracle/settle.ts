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
import { type Chip, chipOf, firstActive, type Ratios, type Task, taskOf } from './chip.ts'
import { fanDutyPct, passivePlate, wetPointC } from './cooling.ts'
import { hottestC, needVoltageV, type Running, rightHandSideC, running } from './die.ts'
import { lowestHeld, meanOf, type Outcome, type Settling, sustainedOf, walk } from './ladder.ts'
import { type Case, capOf, caseOf, dieCeilingC, isBelow, levelsOf } from './levels.ts'
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

/** One group's figures; null where it is idle, but for what its rail and its leakage come to. */
interface OracleGroup {
  readonly cores: number
  readonly ratio: number | null
  readonly ratioLow: number | null
  readonly ratioHigh: number | null
  readonly clockMhz: number | null
  readonly setV: number
  readonly voltageV: number
  readonly needV: number | null
  readonly dynamicW: number
  readonly leakageW: number
  readonly currentA: number
  readonly coreC: number | null
}

export interface OracleSettled extends Omit<Settled, 'notes' | 'driveV' | 'groups'> {
  readonly notes: Partial<SettledNotes>
  /** By group; empty where nothing settles or nothing works. */
  readonly groups: readonly OracleGroup[]
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
  groups: [],
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
      riseK: () => 0,
      powerW: () => powerW,
    }),
    notes,
    edge: Math.abs(dieC - ceilingC),
  }
}

/** One group at what the whole settled at. */
const groupAt = (here: Case, mean: Running, high: Ratios, low: Ratios, dieC: number, index: number): OracleGroup => {
  const { chip, task } = here
  const group = chip.groups[index]
  const own = mean.groups[index]
  const rail = group && mean.rails[group.rail]
  if (!group || !own || !rail) throw new Error('a group has its figures')
  const ratioHigh = high[index] ?? null
  return {
    cores: task.cores[index] ?? 0,
    ratio: ratioHigh === null ? null : own.clockGhz / chip.bench.part.referenceGhz,
    ratioLow: low[index] ?? null,
    ratioHigh,
    clockMhz: ratioHigh === null ? null : own.clockGhz * 1000,
    setV: rail.setV,
    voltageV: rail.dieV,
    needV: ratioHigh === null ? null : needVoltageV(group, task, ratioHigh, dieC),
    dynamicW: own.dynamicW,
    leakageW: own.leakageW,
    currentA: rail.currentA,
    coreC: ratioHigh === null ? null : dieC - mean.riseK + own.riseK,
  }
}

/** Set, die and needed voltage of one group at one level. */
const voltagesAt = (here: Case, index: number, ratios: Ratios, dieC: number) => {
  const { chip, task } = here
  const group = chip.groups[index]
  const ratio = ratios[index] ?? null
  const rail = group && running(chip, task, ratios, dieC).rails[group.rail]
  if (!group || !rail || ratio === null) throw new Error('an active group has a ratio')
  return { ratio, setV: rail.setV, voltageV: rail.dieV, needV: needVoltageV(group, task, ratio, dieC) }
}

/** What the controller comes to rest at, before any figure is worked out. */
export const outcomeOf = (here: Case): { outcome: Outcome; sustainedOver: boolean; currentOver: boolean } => {
  const cap = capOf(here)
  const outcome = walk(here, levelsOf(here.chip, here.task, cap))
  const currentOver = cap.over
  const limitW = here.bench.profile.limits.sustainedPowerW
  const isOver = (): boolean =>
    limitW !== undefined &&
    (outcome.kind === 'runaway' || isBelow(here, limitW, meanOf(here, outcome, outcome.dieC).powerW))
  if (limitW === undefined || !isOver()) return { outcome, sustainedOver: false, currentOver }
  const sustained = sustainedOf(here, cap, limitW)
  return { outcome: sustained ?? lowestHeld(here, cap), sustainedOver: sustained === undefined, currentOver }
}

/** The slope of RHS on both sides of a balance, where they agree. */
const slopeOf = (here: Case, settled: Settling, high: Ratios): Partial<SettledNotes> => {
  const { chip, corner, task } = here
  const over = (fromC: number, toC: number): number =>
    (rightHandSideC(chip, corner, task, high, toC) - rightHandSideC(chip, corner, task, high, fromC)) / (toC - fromC)
  const before = over(settled.dieC - 0.05, settled.dieC)
  const after = over(settled.dieC, settled.dieC + 0.05)
  return settled.kind === 'steady' && Math.abs(before - after) < 5e-3 ? { slope: (before + after) / 2 } : {}
}

/** What a plain part's load settles at, found the slow way. */
export const oracleSettle = (bench: Bench, load: Load, corner: Corner): OracleSettled => {
  if (load.kind === 'idle') return restResult(bench, corner, bench.part.idlePowerW)
  if (load.kind === 'off') return restResult(bench, corner, 0)
  return settleTask(chipOf(bench), taskOf(load), corner)
}

/** What work on a chip settles at; the figures of no group stand for the first that works. */
export const settleTask = (chip: Chip, task: Task, corner: Corner): OracleSettled => {
  const here = caseOf(chip, task, corner)
  const { bench } = chip
  const wetC = wetPointC(corner)
  const { outcome, ...overs } = outcomeOf(here)
  const edge = (): number => Math.min(Number.POSITIVE_INFINITY, ...here.gaps)
  if (outcome.kind === 'runaway') return { ...runawayResult(wetC, outcome.limiter, overs), edge: edge() }
  const settled = outcome
  const { dieC } = settled
  const mean = meanOf(here, settled, dieC)
  const high = settled.kind === 'steady' ? settled.ratios : settled.high
  const low = settled.kind === 'steady' ? settled.ratios : settled.low
  const { figures, notes } = coolerFigures(bench, corner, mean.powerW)
  const groups = chip.groups.map((_, index) => groupAt(here, mean, high, low, dieC, index))
  const first = firstActive(task)
  const named = groups[first]
  if (!named) throw new Error('work has active cores')
  const { ratio, ratioLow, ratioHigh, clockMhz, setV, voltageV, needV, currentA } = named
  return {
    ...figures,
    state: settled.state,
    limiter: settled.limiter,
    ...{ ratio, ratioLow, ratioHigh, clockMhz, setV, voltageV, needV, currentA },
    shareHigh: settled.kind === 'steady' ? 1 : settled.shareHigh,
    powerW: mean.powerW,
    dynamicW: mean.dynamicW,
    leakageW: mean.leakageW,
    dieC,
    wetC,
    marginW:
      settled.state === 'throttled'
        ? 0
        : largestExtraHeatW(bench, corner, {
            settledW: mean.powerW,
            ceilingC: dieCeilingC(bench),
            riseK: at => meanOf(here, settled, at).riseK,
            powerW: at => meanOf(here, settled, at).powerW,
          }),
    groups,
    notes: {
      ...notes,
      ...overs,
      ...slopeOf(here, settled, high),
      ...(settled.kind === 'alternating' && settled.atC !== null ? { alternatesAtC: settled.atC } : {}),
      voltages: (settled.kind === 'steady' ? [high] : [high, low]).map(ratios => voltagesAt(here, first, ratios, dieC)),
    },
    edge: edge(),
  }
}
