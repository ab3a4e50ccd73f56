/**
 * Model section 10's equations with groups and with a hot side that stores heat, as plainly as they are written, and the
 * classical Runge-Kutta rule in steps of 2.5 ms. Shares no code with the model's integrators.
 */
import type { Bench, Corner, ThermoelectricCooler } from '../../../server/model/types.ts'
import type { Chip, Ratios } from '../chip.ts'
import { fanDutyPct, radiatorKPerW } from '../cooling.ts'
import { running } from '../die.ts'
import { constantsAt } from '../module-constants.ts'
import type { Doing } from './course.ts'

export const zeroC = 273.15
const sensorS = 0.1
const stepS = 0.0025

/** How the modules are fed during a tick: the current while it flows, and its share of the time. */
export interface Fed {
  readonly i: number
  readonly duty: number
}

/** `hot` counts only where the hot side stores heat. */
export interface Temperatures {
  readonly die: number
  readonly plate: number
  readonly coolant: number
  readonly hot: number
  readonly sensed: number
}

/** All that stays as it is during a tick. */
export interface Held {
  /** With the bench that the faults leave. */
  readonly chip: Chip
  readonly corner: Corner
  readonly doing: Doing
  readonly ratios: Ratios
  readonly fed: Fed
  readonly storesHot: boolean
}

/** Temperature of the hottest core and power at a level, from die and lid, by plain repetition. */
export const coreAt = (chip: Chip, doing: Doing, ratios: Ratios, dieAndLidC: number) => {
  if (doing.kind !== 'work')
    return { hottestC: dieAndLidC, powerW: doing.kind === 'idle' ? chip.bench.part.idlePowerW : 0 }
  let hottestC = dieAndLidC
  let at = running(chip, doing.task, ratios, hottestC)
  for (let round = 0; round < 60; round++) {
    const next = dieAndLidC + at.riseK
    if (next === hottestC) break
    hottestC = next
    at = running(chip, doing.task, ratios, hottestC)
  }
  return { hottestC, powerW: at.powerW }
}

/** Constants and hot side at a plate and a coolant temperature, found together by repetition and secants. */
export const hotSide = (cooler: ThermoelectricCooler, { i, duty }: Fed, plateK: number, coolantK: number) => {
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
  return one
}

/** Heat taken from the plate and given to the hot side. */
export const flows = (cooler: ThermoelectricCooler, { i, duty }: Fed, plateK: number, hotK: number) => {
  const { seebeck, ohm, conductance } = constantsAt(cooler, (plateK + hotK) / 2)
  const joule = (i * i * ohm) / 2
  const back = conductance * (hotK - plateK)
  return {
    takenW: cooler.modules * (duty * (seebeck * i * plateK - joule) - back),
    givenW: cooler.modules * (duty * (seebeck * i * hotK + joule) - back),
  }
}

export const leakIn = (cooler: ThermoelectricCooler, airC: number, plateC: number): number =>
  (cooler.plateLeakWPerK ?? 0) * (airC - plateC)

/** The coolant of a chiller follows from the plate: it has no state of its own. */
export const chilledC = ({ cooler }: Bench, plateC: number): number => {
  if (cooler.kind !== 'chilled') throw new Error('only a chilled loop has no coolant of its own')
  const block = cooler.blockResistanceKPerW
  if ((plateC - cooler.coolantC) / block <= cooler.capacityW) return cooler.coolantC
  const { coolantC, capacityW, beyondKPerW } = cooler
  return (block * (coolantC - beyondKPerW * capacityW) + beyondKPerW * plateC) / (block + beyondKPerW)
}

/** Rates of change of the temperatures, and the power drawn. */
export const rates = ({ chip, corner, doing, ratios, fed, storesHot }: Held, t: Temperatures) => {
  const { part, cooler } = chip.bench
  const { hottestC, powerW } = coreAt(chip, doing, ratios, t.die)
  const q = (t.die - t.plate) / part.packageResistanceKPerW
  const common = { die: (powerW - q) / part.dieHeatJPerK, sensed: (hottestC - t.sensed) / sensorS, hot: 0, powerW }
  if (cooler.kind === 'chilled') {
    const x = (t.plate - chilledC(chip.bench, t.plate)) / cooler.blockResistanceKPerW
    return { ...common, plate: (q - x) / cooler.plateHeatJPerK, coolant: 0 }
  }
  const shedW = (t.coolant - corner.airC) / radiatorKPerW(cooler.radiator, fanDutyPct(chip.bench, t.coolant))
  if (cooler.kind !== 'thermoelectric') {
    const x = (t.plate - t.coolant) / cooler.blockResistanceKPerW
    return { ...common, plate: (q - x) / cooler.plateHeatJPerK, coolant: (x - shedW) / cooler.coolantHeatJPerK }
  }
  const hotK = storesHot ? t.hot + zeroC : hotSide(cooler, fed, t.plate + zeroC, t.coolant + zeroC)
  const { takenW, givenW } = flows(cooler, fed, t.plate + zeroC, hotK)
  const plate = (q + leakIn(cooler, corner.airC, t.plate) - takenW) / cooler.plateHeatJPerK
  if (!storesHot) return { ...common, plate, coolant: (givenW - shedW) / cooler.coolantHeatJPerK }
  const passedW = (t.hot - t.coolant) / cooler.blockResistanceKPerW
  return {
    ...common,
    plate,
    hot: (givenW - passedW) / cooler.plateHeatJPerK,
    coolant: (passedW - shedW) / cooler.coolantHeatJPerK,
  }
}

type Rates = ReturnType<typeof rates>

const moved = (t: Temperatures, by: number, { die, plate, coolant, hot, sensed }: Rates): Temperatures => ({
  die: t.die + by * die,
  plate: t.plate + by * plate,
  coolant: t.coolant + by * coolant,
  hot: t.hot + by * hot,
  sensed: t.sensed + by * sensed,
})

/** A tick on: the temperatures at its end and the mean power within it. */
export const overTick = (held: Held, from: Temperatures, tickS: number): { t: Temperatures; meanW: number } => {
  const steps = Math.max(1, Math.round(tickS / stepS))
  const h = tickS / steps
  let t = from
  let sumW = 0
  for (let step = 0; step < steps; step++) {
    const a = rates(held, t)
    const b = rates(held, moved(t, h / 2, a))
    const c = rates(held, moved(t, h / 2, b))
    const d = rates(held, moved(t, h, c))
    const of = (key: keyof Rates): number => (a[key] + 2 * b[key] + 2 * c[key] + d[key]) / 6
    sumW += of('powerW')
    t = moved(t, h, {
      die: of('die'),
      plate: of('plate'),
      coolant: of('coolant'),
      hot: of('hot'),
      sensed: of('sensed'),
      powerW: 0,
    })
  }
  return { t, meanW: sumW / steps }
}
