/**
 * Model section 10 once more, as plainly as it is written: Heun's method with steps of 1 ms, everything searched for
 * afresh at every tick, nothing kept. Shares no code with the integrator, the network, the controller or the recorder.
 */
import type { WorkLoad } from '../../server/model/prepare.ts'
import { settle } from '../../server/model/settle.ts'
import type { Bench, Corner, ThermoelectricCooler } from '../../server/model/types.ts'
import { coldestCurrentA, fanDutyPct, plateAtCurrent, radiatorKPerW, wetPointC } from '../oracle/cooling.ts'
import { running } from '../oracle/die.ts'
import { crossing, valley } from '../oracle/numeric.ts'

const zeroC = 273.15
const stepS = 0.001
const sensorS = 0.1

/** One tick's end. */
export interface OracleTick {
  readonly timeS: number
  /** The ratio held during the tick. */
  readonly ratio: number
  readonly meanW: number
  readonly dieC: number
  readonly plateC: number
  readonly coolantC: number
  readonly currentA: number
}

/** Temperature of the hottest core and power at a ratio, from die and lid, by plain repetition. */
export function coreAt(bench: Bench, load: WorkLoad, ratio: number, dieAndLidC: number) {
  let hottestC = dieAndLidC
  let figures = running(bench, load, ratio, hottestC)
  for (let round = 0; round < 60; round++) {
    const next = dieAndLidC + (bench.part.coreResistanceKPerW * figures.dynamicW) / load.cores
    if (next === hottestC) break
    hottestC = next
    figures = running(bench, load, ratio, hottestC)
  }
  return { hottestC, powerW: figures.powerW, dynamicW: figures.dynamicW }
}

function hotK(cooler: ThermoelectricCooler, i: number, plateK: number, coolantK: number): number {
  const n = cooler.modules * cooler.blockResistanceKPerW
  const above = coolantK + n * ((i * i * cooler.resistanceOhm) / 2 + cooler.conductanceWPerK * plateK)
  return above / (1 - n * (cooler.seebeckVPerK * i - cooler.conductanceWPerK))
}

function taken(cooler: ThermoelectricCooler, i: number, plateK: number, coolantK: number): number {
  const { modules, seebeckVPerK, resistanceOhm, conductanceWPerK } = cooler
  const hot = hotK(cooler, i, plateK, coolantK)
  return modules * (seebeckVPerK * i * plateK - (i * i * resistanceOhm) / 2 - conductanceWPerK * (hot - plateK))
}

/** The lower of section 5's current for the heat and the current that holds the plate at its target now. */
function driveCurrent(bench: Bench, corner: Corner, heatW: number, coolantC: number): number {
  const { cooler, profile } = bench
  if (cooler.kind !== 'thermoelectric' || profile.drive.kind === 'off') return 0
  if (profile.drive.kind === 'full') return cooler.driveCurrentA
  if (profile.drive.kind !== 'dew' && profile.drive.kind !== 'hold') throw new RangeError(profile.drive.kind)
  const target = profile.drive.kind === 'dew' ? wetPointC(corner) + profile.drive.marginK : profile.drive.temperatureC
  const most = cooler.driveCurrentA
  const takenAt = (i: number): number => taken(cooler, i, target + zeroC, coolantC + zeroC)
  let now = Number.POSITIVE_INFINITY
  if (takenAt(0) >= heatW) now = 0
  else {
    const best = valley(i => -takenAt(i), 0, most)
    if (takenAt(best) >= heatW) now = crossing(i => heatW - takenAt(i), 0, best)
  }
  const steadyAt = (i: number): number => plateAtCurrent(bench, cooler, corner, heatW, i).plateC
  if (steadyAt(0) <= target) return 0
  const coldest = coldestCurrentA(bench, cooler, corner, heatW)
  const steady = steadyAt(coldest) >= target ? coldest : crossing(i => steadyAt(i) - target, 0, coldest)
  return Math.min(now, steady)
}

export interface Temperatures {
  readonly die: number
  readonly plate: number
  readonly coolant: number
  readonly sensed: number
}

/** Rates of change of the four temperatures, and the power drawn. */
export function rates(bench: Bench, load: WorkLoad, corner: Corner, ratio: number, i: number, t: Temperatures) {
  const { part, cooler } = bench
  const { hottestC, powerW } = coreAt(bench, load, ratio, t.die)
  const q = (t.die - t.plate) / part.packageResistanceKPerW
  const die = (powerW - q) / part.dieHeatJPerK
  const sensed = (hottestC - t.sensed) / sensorS
  if (cooler.kind === 'chilled') {
    const coolant = chilledC(bench, t.plate)
    const x = (t.plate - coolant) / cooler.blockResistanceKPerW
    return { die, sensed, plate: (q - x) / cooler.plateHeatJPerK, coolant: 0, powerW }
  }
  const shedW = (t.coolant - corner.airC) / radiatorKPerW(cooler.radiator, fanDutyPct(bench, t.coolant))
  if (cooler.kind !== 'thermoelectric') {
    const x = (t.plate - t.coolant) / cooler.blockResistanceKPerW
    return {
      die,
      sensed,
      plate: (q - x) / cooler.plateHeatJPerK,
      coolant: (x - shedW) / cooler.coolantHeatJPerK,
      powerW,
    }
  }
  const hot = hotK(cooler, i, t.plate + zeroC, t.coolant + zeroC)
  const given =
    cooler.modules *
    (cooler.seebeckVPerK * i * hot +
      (i * i * cooler.resistanceOhm) / 2 -
      cooler.conductanceWPerK * (hot - t.plate - zeroC))
  return {
    die,
    sensed,
    plate: (q - taken(cooler, i, t.plate + zeroC, t.coolant + zeroC)) / cooler.plateHeatJPerK,
    coolant: (given - shedW) / cooler.coolantHeatJPerK,
    powerW,
  }
}

function chilledC(bench: Bench, plateC: number): number {
  const { cooler } = bench
  if (cooler.kind !== 'chilled') throw new Error('only a chilled loop has no coolant of its own')
  const block = cooler.blockResistanceKPerW
  if ((plateC - cooler.coolantC) / block <= cooler.capacityW) return cooler.coolantC
  const { coolantC, capacityW, beyondKPerW } = cooler
  return (block * (coolantC - beyondKPerW * capacityW) + beyondKPerW * plateC) / (block + beyondKPerW)
}

/** The ladder of ratio-steps below a ratio. */
function stepsDown(bench: Bench, from: number, count: number): number {
  const { ratioLow, ratioStep } = bench.part
  const ratio = from - count * ratioStep
  return ratio > ratioLow + 1e-9 ? ratio : Math.min(from, ratioLow)
}

/** The cap of section 8, by trying one ratio after the other. */
function capOf(bench: Bench, load: WorkLoad, corner: Corner, first: number, ceilingC: number): number {
  const { currentA = Infinity, burstPowerW = Infinity } = bench.profile.limits
  for (let count = 0; ; count++) {
    const ratio = stepsDown(bench, first, count)
    if (ratio <= bench.part.ratioLow) return ratio
    const alone = {
      ...bench.profile,
      bands: [],
      vectorDrop: 0,
      limits: {},
      steps: [{ fromCores: 1, toCores: 99, ratio }],
    }
    const part = { ...bench.part, ratioLow: ratio, dieLimitC: 399 }
    const dieC = settle({ ...bench, part, profile: alone }, load, corner)?.dieC ?? Number.POSITIVE_INFINITY
    const at = running(bench, load, ratio, Math.min(dieC, ceilingC))
    if (at.currentA <= currentA && at.powerW <= burstPowerW) return ratio
  }
}

export interface OracleRun {
  /** The ratio before anything is given back. */
  readonly cap: number
  readonly ticks: readonly OracleTick[]
}

/** Follows a load tick by tick; ends early where the machine trips. */
export function oracleRun(bench: Bench, load: WorkLoad, corner: Corner, overS: number, tickS = 0.01): OracleRun {
  const { part, profile, cooler } = bench
  const idle = settle(bench, { kind: 'idle' }, corner)
  if (idle === null || idle.dieC === null || idle.plateC === null) throw new Error('idle has no steady state')
  const ceilingC = Math.min(part.dieLimitC, profile.limits.dieC ?? Number.POSITIVE_INFINITY)
  const tripC = part.tripC ?? ceilingC + 10
  const row = profile.steps.find(one => one.fromCores <= load.cores && load.cores <= one.toCores)
  if (row === undefined) throw new Error('no step row covers this load')
  const full = row.ratio - (load.vector ? profile.vectorDrop : 0)
  const cap = capOf(bench, load, corner, Math.max(part.ratioLow, full), ceilingC)
  const bands = profile.bands
    .filter(one => one.fromCores <= load.cores && load.cores <= one.toCores)
    .map(one => ({ ...one, isIn: false }))
  const { sustainedPowerW = Number.POSITIVE_INFINITY, sustainedOverS = 30 } = profile.limits
  let t: Temperatures = {
    die: idle.dieC,
    plate: idle.plateC,
    coolant: idle.coolantC ?? idle.plateC,
    sensed: idle.dieC,
  }
  let mean = part.idlePowerW
  let before = Number.NaN
  let byDie = 0
  let byPower = 0
  const ticks: OracleTick[] = []
  for (let j = 0; j < Math.round(overS / tickS); j++) {
    for (const band of bands) {
      if (t.sensed >= band.aboveC) band.isIn = true
      else if (t.sensed < band.aboveC - profile.returnK) band.isIn = false
    }
    const drop = Math.max(0, ...bands.filter(band => band.isIn).map(band => band.drop))
    const canFall = (count: number): boolean => stepsDown(bench, cap, count) > part.ratioLow
    if (t.sensed >= ceilingC && (t.sensed > before || byDie === 0)) byDie += canFall(byDie) ? 1 : 0
    else if (t.sensed < ceilingC && byDie > 0 && t.sensed < before) byDie--
    const ceilingW = coreAt(bench, load, stepsDown(bench, cap, byPower), t.die).powerW
    if (mean >= sustainedPowerW && ceilingW > sustainedPowerW) byPower += canFall(byPower) ? 1 : 0
    else if (mean < sustainedPowerW && byPower > 0) byPower--
    before = t.sensed
    const ratio = Math.max(
      part.ratioLow,
      Math.min(cap, full - drop, stepsDown(bench, cap, byDie), stepsDown(bench, cap, byPower)),
    )
    const coolantNow = cooler.kind === 'chilled' ? chilledC(bench, t.plate) : t.coolant
    const i = driveCurrent(bench, corner, (t.die - t.plate) / part.packageResistanceKPerW, coolantNow)
    let energyJ = 0
    const steps = Math.round(tickS / stepS)
    for (let step = 0; step < steps; step++) {
      const a = rates(bench, load, corner, ratio, i, t)
      const ahead: Temperatures = {
        die: t.die + stepS * a.die,
        plate: t.plate + stepS * a.plate,
        coolant: t.coolant + stepS * a.coolant,
        sensed: t.sensed + stepS * a.sensed,
      }
      const b = rates(bench, load, corner, ratio, i, ahead)
      t = {
        die: t.die + (stepS * (a.die + b.die)) / 2,
        plate: t.plate + (stepS * (a.plate + b.plate)) / 2,
        coolant: t.coolant + (stepS * (a.coolant + b.coolant)) / 2,
        sensed: t.sensed + (stepS * (a.sensed + b.sensed)) / 2,
      }
      energyJ += (stepS * (a.powerW + b.powerW)) / 2
    }
    mean += (energyJ / tickS - mean) * (1 - Math.exp(-tickS / sustainedOverS))
    const { hottestC } = coreAt(bench, load, ratio, t.die)
    ticks.push({
      timeS: (j + 1) * tickS,
      ratio,
      meanW: energyJ / tickS,
      dieC: hottestC,
      plateC: t.plate,
      coolantC: cooler.kind === 'chilled' ? chilledC(bench, t.plate) : t.coolant,
      currentA: i,
    })
    if (hottestC >= tripC) break
  }
  return { cap, ticks }
}
