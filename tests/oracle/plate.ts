/**
 * The thermoelectric plate of model section 5, spelled out without haste: constants by temperature, leak, pulses and
 * supply. One unknown, the coolant temperature, carries all of it; its residual is walked from far below.
 */
import type { Bench, Corner, ThermoelectricCooler } from '../../server/model/types.ts'
import { fanDutyPct, passivePlate, radiatorKPerW, wetPointC } from './cooling.ts'
import { type Constants, constantsAt } from './module-constants.ts'
import { crossing, evenly, valley } from './numeric.ts'

const zeroK = 273.15

/** What drives the modules: a current that flows for a share of the time, or a voltage. */
export type Feed =
  | { readonly kind: 'current'; readonly flowingA: number; readonly duty: number }
  | { readonly kind: 'voltage'; readonly volts: number; readonly mostA: number }

export const smooth = (flowingA: number): Feed => ({ kind: 'current', flowingA, duty: 1 })

export interface PlateState {
  readonly plateC: number
  readonly hotC: number
  readonly coolantC: number
  /** Q_out. */
  readonly heatOutW: number
  /** Current while it flows, and its mean. */
  readonly flowingA: number
  readonly driveA: number
  readonly driveW: number
  readonly leakW: number
  readonly leadsW: number
  readonly supplyA: number
  readonly supplyV: number
  readonly meanC: number
  readonly constants: Constants
}

const wiringOf = ({ modules, wiringSeries = modules, wiringParallel = 1, leadsOhm = 0 }: ThermoelectricCooler) => ({
  series: wiringSeries,
  parallel: wiringParallel,
  leadsOhm,
})

/** The voltage at the supply while a current flows. */
const askedV = (cooler: ThermoelectricCooler, hotK: number, coldK: number, flowingA: number): number => {
  const { series, parallel, leadsOhm } = wiringOf(cooler)
  const { seebeck, ohm } = constantsAt(cooler, (hotK + coldK) / 2)
  return series * (seebeck * (hotK - coldK) + flowingA * ohm) + leadsOhm * parallel * flowingA
}

/** The cold side from Q_out, the hot side and the current, by secants: the constants follow the mean gently. */
const coldFrom = (cooler: ThermoelectricCooler, heatOutW: number, hotK: number, i: number, duty: number): number => {
  const outW = heatOutW / cooler.modules
  const given = (coldK: number): number => {
    const { seebeck, ohm, conductance } = constantsAt(cooler, (hotK + coldK) / 2)
    return hotK - (duty * (seebeck * i * hotK + (i * i * ohm) / 2) - outW) / conductance
  }
  let one = given(hotK)
  if (cooler.constantsAtC === undefined) return one
  let offOne = given(one) - one
  let other = one + offOne
  for (let turn = 0; turn < 80; turn += 1) {
    const offOther = given(other) - other
    if (Math.abs(offOther) <= 1e-12 * Math.max(1, Math.abs(other)) || offOther === offOne) break
    const next = other - (offOther * (other - one)) / (offOther - offOne)
    one = other
    offOne = offOther
    other = Number.isFinite(next) ? next : other + offOther
  }
  const found = other + (given(other) - other)
  if (found > 0) return found
  // Far beyond any use the secants may end below absolute zero, beside a state above it.
  const off = (coldK: number): number => given(coldK) - coldK
  const far = 4 * Math.abs(hotK) + 1e4
  return off(0) > 0 && off(far) < 0 ? crossing(off, 0, far) : found
}

/** Everything that follows from a coolant temperature. */
const stateAt = (bench: Bench, cooler: ThermoelectricCooler, airC: number, feed: Feed, coolantC: number) => {
  const thetaRad = radiatorKPerW(cooler.radiator, fanDutyPct(bench, coolantC))
  const heatOutW = (coolantC - airC) / thetaRad
  const hotK = coolantC + zeroK + cooler.blockResistanceKPerW * heatOutW
  const duty = feed.kind === 'current' ? feed.duty : 1
  let flowingA: number
  if (feed.kind === 'current') flowingA = feed.flowingA
  else {
    const tooMuch = (i: number): number => askedV(cooler, hotK, coldFrom(cooler, heatOutW, hotK, i, 1), i) - feed.volts
    if (tooMuch(0) >= 0) flowingA = 0
    else flowingA = tooMuch(feed.mostA) <= 0 ? feed.mostA : crossing(tooMuch, 0, feed.mostA)
  }
  const coldK = coldFrom(cooler, heatOutW, hotK, flowingA, duty)
  const constants = constantsAt(cooler, (hotK + coldK) / 2)
  const { seebeck, ohm, conductance } = constants
  const pumpedW =
    cooler.modules *
    (duty * (seebeck * flowingA * coldK - (flowingA * flowingA * ohm) / 2) - conductance * (hotK - coldK))
  const leakW = (cooler.plateLeakWPerK ?? 0) * (airC + zeroK - coldK)
  return { thetaRad, heatOutW, hotK, duty, flowingA, coldK, constants, pumpedW, leakW, takenW: pumpedW - leakW }
}

const isSound = (cooler: ThermoelectricCooler, state: ReturnType<typeof stateAt>): boolean => {
  const { constants, thetaRad, duty, flowingA } = state
  const pump = duty * constants.seebeck * flowingA
  const { conductance } = constants
  const theta = thetaRad + cooler.blockResistanceKPerW
  const own = pump + conductance + (cooler.plateLeakWPerK ?? 0) / cooler.modules
  return own * (pump - conductance - 1 / (cooler.modules * theta)) + conductance ** 2 < 0
}

const grids = new WeakMap<Bench['profile'], Map<number, number[]>>()

/** Coolant temperatures at which the residual is looked at, from absolute zero to where nothing is left. */
const coolantGrid = (bench: Bench, airC: number): number[] => {
  const { fan } = bench.profile
  const known = grids.get(bench.profile) ?? new Map<number, number[]>()
  grids.set(bench.profile, known)
  const before = known.get(airC)
  if (before) return before
  const falls = fan.some((row, index) => index > 0 && row.dutyPct < (fan[index - 1]?.dutyPct ?? 0))
  const parts = falls ? 12 : 4
  const inner = fan.flatMap((row, index) => {
    const next = fan[index + 1]
    return next ? evenly(row.coolantC, next.coolantC, parts).slice(0, parts) : [row.coolantC]
  })
  const low = Math.min(airC, ...inner)
  const high = Math.max(airC, ...inner)
  const below = [low - 20, (low - 20 - zeroK) / 2, -zeroK].filter(one => one >= -zeroK)
  const above = [2, 10, 30, 80, 160, 320, 640, 1280, 2560, 5120, 20480].map(far => high + far)
  const grid = [...new Set([...below, airC, ...inner, ...above])].sort((one, other) => one - other)
  known.set(airC, grid)
  return grid
}

interface Looked {
  readonly profile: Bench['profile']
  readonly airC: number
  readonly taken: Map<number, number[]>
}

/** The heat that the plate takes at each point of the grid, by what drives it: it does not depend on the heat that comes. */
const lookedAt = new WeakMap<ThermoelectricCooler, Looked>()

/** Searches come back to the currents of their grids, not to those between. */
const mostCurrents = 500

/** One number for what drives the modules of a cooler under a profile, which has one voltage and one share of pulses. */
const keyOf = (feed: Feed): number => {
  if (feed.kind === 'voltage') return -1e6 - feed.volts
  return feed.duty === 1 ? feed.flowingA : -1 - feed.flowingA
}

const takenOnGrid = (bench: Bench, cooler: ThermoelectricCooler, airC: number, feed: Feed): number[] => {
  const { profile } = bench
  const last = lookedAt.get(cooler)
  const looked = last?.profile === profile && last.airC === airC ? last : { profile, airC, taken: new Map() }
  lookedAt.set(cooler, looked)
  const key = keyOf(feed)
  const known = looked.taken.get(key)
  if (known) return known
  const made: number[] = []
  if (looked.taken.size >= mostCurrents) looked.taken.clear()
  looked.taken.set(key, made)
  return made
}

const noState = {
  plateC: Number.POSITIVE_INFINITY,
  hotC: Number.POSITIVE_INFINITY,
  coolantC: Number.POSITIVE_INFINITY,
  heatOutW: Number.POSITIVE_INFINITY,
}

/** The coldest sound state at a heat; all infinite where there is none. */
export const plateFed = (
  bench: Bench,
  cooler: ThermoelectricCooler,
  corner: Corner,
  heatW: number,
  feed: Feed,
): PlateState | typeof noState => {
  const { airC } = corner
  const missing = (coolantC: number): number => heatW - stateAt(bench, cooler, airC, feed, coolantC).takenW
  const grid = coolantGrid(bench, airC)
  const taken = takenOnGrid(bench, cooler, airC, feed)
  const values: number[] = []
  const found = (low: number, high: number): PlateState | undefined => {
    const coolantC = crossing(missing, low, high)
    const state = stateAt(bench, cooler, airC, feed, coolantC)
    return isSound(cooler, state) ? described(cooler, feed, coolantC, state) : undefined
  }
  for (let index = 0; index < grid.length; index += 1) {
    const here = grid[index] ?? 0
    const takenW = taken[index] ?? stateAt(bench, cooler, airC, feed, here).takenW
    taken[index] = takenW
    const value = heatW - takenW
    values.push(value)
    const [low, before, earlier] = [grid[index - 2] ?? here, values[index - 1], values[index - 2]]
    if (before === undefined) continue
    const last = grid[index - 1] ?? here
    // A valley between three points may reach zero unseen.
    if (earlier !== undefined && before > 0 && before < earlier && before < value) {
      const bottom = valley(missing, low, here)
      if (missing(bottom) <= 0) {
        const state = found(low, bottom)
        if (state) return state
      }
    }
    if (before > 0 && value <= 0) {
      const state = found(last, here)
      if (state) return state
    }
  }
  return noState
}

const described = (
  cooler: ThermoelectricCooler,
  feed: Feed,
  coolantC: number,
  state: ReturnType<typeof stateAt>,
): PlateState => {
  const { heatOutW, hotK, coldK, flowingA, duty, constants, leakW, pumpedW } = state
  const { parallel, leadsOhm } = wiringOf(cooler)
  const supplyA = parallel * flowingA
  const leadsW = feed.kind === 'voltage' ? leadsOhm * supplyA * supplyA : 0
  return {
    plateC: coldK - zeroK,
    hotC: hotK - zeroK,
    coolantC,
    heatOutW,
    flowingA,
    driveA: duty * flowingA,
    driveW: heatOutW - pumpedW + leadsW,
    leakW,
    leadsW,
    supplyA,
    supplyV: askedV(cooler, hotK, coldK, flowingA),
    meanC: (hotK + coldK) / 2 - zeroK,
    constants,
  }
}

/** T_plate at a smooth or pulsed current. */
export const plateAtCurrentC = (
  bench: Bench,
  cooler: ThermoelectricCooler,
  corner: Corner,
  heatW: number,
  flowingA: number,
  duty = 1,
): number => plateFed(bench, cooler, corner, heatW, { kind: 'current', flowingA, duty }).plateC

/**
 * i*: the current in [0, drive-current] that makes the plate coldest, or its height at a share of the time. Under a fan
 * table there may be several valleys; the bottom of each is looked up. A fan that slows down makes them narrow.
 */
export const coldestCurrentA = (
  bench: Bench,
  cooler: ThermoelectricCooler,
  corner: Corner,
  heatW: number,
  duty = 1,
): number => {
  const { fan } = bench.profile
  const falls = fan.some((row, index) => index > 0 && row.dutyPct < (fan[index - 1]?.dutyPct ?? 0))
  const parts = falls ? 80 : fan.length > 0 ? 60 : 24
  const grid = evenly(0, cooler.driveCurrentA, parts)
  // The equations have roots below absolute zero as well: no plate is that cold.
  const plate = (currentA: number): number => {
    const plateC = plateAtCurrentC(bench, cooler, corner, heatW, currentA, duty)
    return plateC > -zeroK ? plateC : Number.POSITIVE_INFINITY
  }
  const values = grid.map(plate)
  const at = (index: number): number => values[index] ?? Number.POSITIVE_INFINITY
  const coldest = Math.min(...values)
  let bestA = 0
  let bestC = at(0)
  for (let index = 0; index <= parts; index += 1) {
    if (at(index) > at(index - 1) || at(index) > at(index + 1) || at(index) > coldest + 5) continue
    // Bends of the fan table may make more than one valley between two points of the grid.
    const finer = evenly(grid[Math.max(0, index - 1)] ?? 0, grid[Math.min(parts, index + 1)] ?? 0, 10)
    const finerC = finer.map(plate)
    const lowest = finerC.indexOf(Math.min(...finerC))
    const bottomA = valley(plate, finer[Math.max(0, lowest - 1)] ?? 0, finer[Math.min(10, lowest + 1)] ?? 0, 24)
    const bottomC = plate(bottomA)
    if (bottomC >= bestC) continue
    bestA = bottomA
    bestC = bottomC
  }
  return bestA
}

/** The target of `dew` and `hold`; null without one. */
export const targetC = (bench: Bench, corner: Corner): number | null => {
  const { drive } = bench.profile
  if (drive.kind === 'dew') return wetPointC(corner) + drive.marginK
  return drive.kind === 'hold' ? drive.temperatureC : null
}

/** The most that a constant voltage may drive through one module, and what bounds it. */
export const mostOf = (cooler: ThermoelectricCooler) => {
  const byLimit = (cooler.supplyLimitA ?? Number.POSITIVE_INFINITY) / wiringOf(cooler).parallel
  return byLimit < cooler.driveCurrentA
    ? { mostA: byLimit, by: 'supply-limit' as const }
    : { mostA: cooler.driveCurrentA, by: 'drive-current' as const }
}

/** How the modules are fed at a heat, the drive rule of the profile acting. */
export const feedOf = (bench: Bench, cooler: ThermoelectricCooler, corner: Corner, heatW: number): Feed => {
  const { drive } = bench.profile
  switch (drive.kind) {
    case 'off':
      return smooth(0)
    case 'full':
      return smooth(cooler.driveCurrentA)
    case 'fixed':
      return smooth(Math.min(drive.currentA, cooler.driveCurrentA))
    case 'pulsed':
      return { kind: 'current', flowingA: cooler.driveCurrentA, duty: drive.dutyShare }
    case 'supply':
      return { kind: 'voltage', volts: drive.voltageV, mostA: mostOf(cooler).mostA }
    case 'dew':
    case 'hold':
      return smooth(targetCurrentA(bench, cooler, corner, heatW, targetC(bench, corner) ?? 0))
  }
}

/** The current of a drive with a target: none, the smallest that reaches it, or the coldest. */
const targetCurrentA = (
  bench: Bench,
  cooler: ThermoelectricCooler,
  corner: Corner,
  heatW: number,
  target: number,
): number => {
  const plate = (currentA: number): number => plateAtCurrentC(bench, cooler, corner, heatW, currentA)
  if (plate(0) <= target) return 0
  const coldestA = coldestCurrentA(bench, cooler, corner, heatW)
  if (plate(coldestA) >= target) return coldestA
  const grid = evenly(0, coldestA, 60)
  const reached = grid.findIndex(currentA => plate(currentA) <= target)
  return crossing(currentA => plate(currentA) - target, grid[reached - 1] ?? 0, grid[reached] ?? coldestA)
}

const lastColdest = new WeakMap<ThermoelectricCooler, { heatW: number; corner: Corner; currentA: number }>()

/** The coldest plate: beside the coldest current of nearly the same heat where there is one, else looked for everywhere. */
const coldestPlateC = (bench: Bench, cooler: ThermoelectricCooler, corner: Corner, heatW: number): number => {
  const plate = (currentA: number): number => plateAtCurrentC(bench, cooler, corner, heatW, currentA)
  const before = lastColdest.get(cooler)
  const isNear = before?.corner === corner && Math.abs(heatW - before.heatW) < 3
  const { fan } = bench.profile
  const falls = fan.some((row, index) => index > 0 && row.dutyPct < (fan[index - 1]?.dutyPct ?? 0))
  if (before && isNear && !falls) {
    const width = cooler.driveCurrentA / 40
    const low = Math.max(0, before.currentA - width)
    const high = Math.min(cooler.driveCurrentA, before.currentA + width)
    const currentA = valley(plate, low, high, 18)
    const atEnd = (end: number, bound: number): boolean => end !== bound && Math.abs(currentA - end) < width / 10
    const bottomC = plate(currentA)
    // Bends of the fan table may make another valley beside this one.
    const isLowest = fan.length === 0 || evenly(low, high, 16).every(other => plate(other) >= bottomC - 1e-9)
    if (isLowest && !atEnd(low, 0) && !atEnd(high, cooler.driveCurrentA)) return bottomC
  }
  const currentA = coldestCurrentA(bench, cooler, corner, heatW)
  lastColdest.set(cooler, { heatW, corner, currentA })
  return plate(currentA)
}

/** T_plate with the drive rule acting; it spares the search for a current that holds the target. */
const drivenPlateC = (bench: Bench, cooler: ThermoelectricCooler, corner: Corner, heatW: number): number => {
  const target = targetC(bench, corner)
  if (target === null) return plateFed(bench, cooler, corner, heatW, feedOf(bench, cooler, corner, heatW)).plateC
  const plate = (currentA: number): number => plateAtCurrentC(bench, cooler, corner, heatW, currentA)
  const undriven = plate(0)
  if (undriven <= target) return undriven
  for (const currentA of evenly(0, cooler.driveCurrentA, 4)) if (plate(currentA) <= target) return target
  return Math.max(target, coldestPlateC(bench, cooler, corner, heatW))
}

/** T_plate alone, with the drive rule acting. */
export const plateTemperatureC = (bench: Bench, corner: Corner, heatW: number): number =>
  bench.cooler.kind === 'thermoelectric'
    ? drivenPlateC(bench, bench.cooler, corner, heatW)
    : passivePlate(bench, bench.cooler, corner, heatW).plateC

interface Rough {
  readonly topW: number
  readonly plateC: readonly number[]
}

/** By cooler, drive, fan table and corner: all that the plate temperature at a heat rests on. */
const roughs = new WeakMap<object, WeakMap<object, WeakMap<object, WeakMap<object, Rough>>>>()
const roughParts = 160

/**
 * The plate temperature to within a kelvin or so, from straight lines between heats: enough to tell where a balance
 * cannot be. Infinite above the heat at which the plate passes 450 °C.
 */
export const roughPlateC = (bench: Bench, corner: Corner, heatW: number): number => {
  const byDrive = roughs.get(bench.cooler) ?? new WeakMap()
  roughs.set(bench.cooler, byDrive)
  const byFan = byDrive.get(bench.profile.drive) ?? new WeakMap()
  byDrive.set(bench.profile.drive, byFan)
  const byCorner = byFan.get(bench.profile.fan) ?? new WeakMap<Corner, Rough>()
  byFan.set(bench.profile.fan, byCorner)
  let rough = byCorner.get(corner)
  if (!rough) {
    let topW = 50
    while (plateTemperatureC(bench, corner, topW) < 450 && topW < 1e6) topW *= 1.5
    const plateC = evenly(0, topW, roughParts).map(heat => plateTemperatureC(bench, corner, heat))
    rough = { topW, plateC }
    byCorner.set(corner, rough)
  }
  const at = (heatW / rough.topW) * roughParts
  const index = Math.floor(at)
  const [low = Infinity, high = Infinity] = [rough.plateC[index], rough.plateC[index + 1]]
  return Number.isFinite(high) ? low + (high - low) * (at - index) : Infinity
}
