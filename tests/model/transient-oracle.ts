/**
 * Model section 10 once more, as plainly as it is written: Heun's method with steps of 1 ms, everything searched for
 * afresh at every tick, nothing kept. Shares no code with the integrator, the network, the controller or the recorder.
 */
import type { WorkLoad } from '../../server/model/prepare.ts'
import type { Bench, Corner, ThermoelectricCooler } from '../../server/model/types.ts'
import { fanDutyPct, radiatorKPerW } from '../oracle/cooling.ts'
import { constantsAt } from '../oracle/module-constants.ts'
import { crossing, valley } from '../oracle/numeric.ts'
import { balancesPlain, runningPlain } from '../oracle/plain.ts'
import { feedOf, mostOf, plateAtCurrentC, targetC } from '../oracle/plate.ts'
import { oracleSettle } from '../oracle/settle.ts'

const zeroC = 273.15
const stepS = 0.001
const sensorS = 0.1

/** One tick's end. */
interface OracleTick {
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
  let figures = runningPlain(bench, load, ratio, hottestC)
  for (let round = 0; round < 60; round++) {
    const next = dieAndLidC + figures.riseK
    if (next === hottestC) break
    hottestC = next
    figures = runningPlain(bench, load, ratio, hottestC)
  }
  return { hottestC, powerW: figures.powerW, dynamicW: figures.dynamicW }
}

/** How the modules are fed during a tick: the current while it flows, and its share of the time. */
interface Fed {
  readonly i: number
  readonly duty: number
}

/** Constants and hot side at a plate and a coolant temperature, found together by repetition and secants. */
function hotSide(cooler: ThermoelectricCooler, { i, duty }: Fed, plateK: number, coolantK: number) {
  const n = cooler.modules * cooler.blockResistanceKPerW
  const given = (hotK: number): number => {
    const { seebeck, ohm, conductance } = constantsAt(cooler, (plateK + hotK) / 2)
    const above = coolantK + n * ((duty * i * i * ohm) / 2 + conductance * plateK)
    return above / (1 - n * (duty * seebeck * i - conductance))
  }
  let one = given(coolantK)
  if (cooler.constantsAtC !== undefined) {
    let offOne = given(one) - one
    let other = one + offOne
    for (let round = 0; round < 40; round++) {
      const offOther = given(other) - other
      if (Math.abs(offOther) < 1e-11 * other || offOther === offOne) break
      const next = other - (offOther * (other - one)) / (offOther - offOne)
      one = other
      offOne = offOther
      other = next
    }
    one = other
  }
  return { hotK: one, ...constantsAt(cooler, (plateK + one) / 2) }
}

/** Heat taken from the plate and given to the hot side. */
function flows(cooler: ThermoelectricCooler, fed: Fed, plateK: number, coolantK: number) {
  const { hotK, seebeck, ohm, conductance } = hotSide(cooler, fed, plateK, coolantK)
  const { i, duty } = fed
  const joule = (i * i * ohm) / 2
  const back = conductance * (hotK - plateK)
  return {
    takenW: cooler.modules * (duty * (seebeck * i * plateK - joule) - back),
    givenW: cooler.modules * (duty * (seebeck * i * hotK + joule) - back),
  }
}

const leakIn = (cooler: ThermoelectricCooler, airC: number, plateC: number): number =>
  (cooler.plateLeakWPerK ?? 0) * (airC - plateC)

/** A constant voltage drives what the temperatures of now let it, within its bounds. */
function suppliedA(cooler: ThermoelectricCooler, volts: number, plateC: number, coolantC: number): number {
  const { wiringSeries: series = cooler.modules, wiringParallel: parallel = 1, leadsOhm = 0 } = cooler
  const missing = (i: number): number => {
    const { hotK, seebeck, ohm } = hotSide(cooler, { i, duty: 1 }, plateC + zeroC, coolantC + zeroC)
    return series * (seebeck * (hotK - plateC - zeroC) + i * ohm) + leadsOhm * parallel * i - volts
  }
  const { mostA } = mostOf(cooler)
  if (missing(0) >= 0) return 0
  return missing(mostA) <= 0 ? mostA : crossing(missing, 0, mostA)
}

/** The lower of section 5's current for the heat and the current that holds the plate at its target now. */
function targetA(bench: Bench, cooler: ThermoelectricCooler, corner: Corner, heatW: number, coolantC: number): number {
  const target = targetC(bench, corner) ?? 0
  const most = cooler.driveCurrentA
  const takenAt = (i: number): number =>
    flows(cooler, { i, duty: 1 }, target + zeroC, coolantC + zeroC).takenW - leakIn(cooler, corner.airC, target)
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

function fedBy(bench: Bench, corner: Corner, heatW: number, plateC: number, coolantC: number): Fed {
  const { cooler, profile } = bench
  if (cooler.kind !== 'thermoelectric') return { i: 0, duty: 1 }
  const { drive } = profile
  if (drive.kind === 'supply') return { i: suppliedA(cooler, drive.voltageV, plateC, coolantC), duty: 1 }
  if (drive.kind === 'dew' || drive.kind === 'hold')
    return { i: targetA(bench, cooler, corner, heatW, coolantC), duty: 1 }
  const feed = feedOf(bench, cooler, corner, heatW)
  if (feed.kind !== 'current') throw new Error('only a supply feeds a voltage')
  return { i: feed.flowingA, duty: feed.duty }
}

export interface Temperatures {
  readonly die: number
  readonly plate: number
  readonly coolant: number
  readonly sensed: number
}

/** Rates of change of the four temperatures, and the power drawn. */
export function rates(bench: Bench, load: WorkLoad, corner: Corner, ratio: number, fed: Fed, t: Temperatures) {
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
  const { takenW, givenW } = flows(cooler, fed, t.plate + zeroC, t.coolant + zeroC)
  return {
    die,
    sensed,
    plate: (q + leakIn(cooler, corner.airC, t.plate) - takenW) / cooler.plateHeatJPerK,
    coolant: (givenW - shedW) / cooler.coolantHeatJPerK,
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
    const dieC = balancesPlain(bench, corner, load, ratio).roots[0] ?? Number.POSITIVE_INFINITY
    const at = runningPlain(bench, load, ratio, Math.min(dieC, ceilingC))
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
  const idle = oracleSettle(bench, { kind: 'idle' }, corner)
  if (idle.dieC === null || idle.plateC === null) throw new Error('idle has no steady state')
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
    const fed = fedBy(bench, corner, (t.die - t.plate) / part.packageResistanceKPerW, t.plate, coolantNow)
    let energyJ = 0
    const steps = Math.round(tickS / stepS)
    for (let step = 0; step < steps; step++) {
      const a = rates(bench, load, corner, ratio, fed, t)
      const ahead: Temperatures = {
        die: t.die + stepS * a.die,
        plate: t.plate + stepS * a.plate,
        coolant: t.coolant + stepS * a.coolant,
        sensed: t.sensed + stepS * a.sensed,
      }
      const b = rates(bench, load, corner, ratio, fed, ahead)
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
      currentA: fed.duty * fed.i,
    })
    if (hottestC >= tripC) break
  }
  return { cap, ticks }
}
