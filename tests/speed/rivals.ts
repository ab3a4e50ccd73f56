/**
 * What a person would write in an afternoon to get the same figure: the equations of sections 3 to 5 put into a general
 * integrator until nothing moves any more, or repeated until they agree. Neither knows of bands, limits or margins.
 */
import type { Bench, Corner } from '../../server/model/types.ts'
import { solveByOdex } from '../model/transient-odex.ts'

export interface Answer {
  readonly dieC: number
  readonly powerW: number
}

const cores = 10

/** Dynamic and total power at a ratio, without load line. */
function powerOf({ part }: Bench, ratio: number, volts: number, hottestC: number) {
  const dynamicW = cores * part.switchingNf * volts * volts * ratio * part.referenceGhz
  const leakage = part.leakageW * (volts / part.leakageAtV) ** part.leakageExponent
  const leakageW = leakage * 2 ** ((hottestC - part.leakageAtC) / part.leakageDoublingK)
  return { dynamicW, powerW: dynamicW + leakageW + part.sharedPowerW }
}

function dutyOf({ profile }: Bench, coolantC: number): number {
  const { fan } = profile
  const first = fan[0]
  if (first === undefined) return 100
  if (coolantC <= first.coolantC) return first.dutyPct
  for (let index = 1; index < fan.length; index++) {
    const [low, high] = [fan[index - 1], fan[index]]
    if (low === undefined || high === undefined || coolantC > high.coolantC) continue
    return low.dutyPct + ((high.dutyPct - low.dutyPct) * (coolantC - low.coolantC)) / (high.coolantC - low.coolantC)
  }
  return fan[fan.length - 1]?.dutyPct ?? 100
}

function radiatorOf(bench: Bench, coolantC: number): number {
  if (bench.cooler.kind === 'chilled') throw new Error('a radiator is meant here')
  const [low, high] = bench.cooler.radiator
  if (low === undefined) throw new Error('a radiator has a point')
  if (high === undefined) return low.resistanceKPerW
  const duty = dutyOf(bench, coolantC)
  const power = Math.log(low.resistanceKPerW / high.resistanceKPerW) / Math.log(high.dutyPct / low.dutyPct)
  return duty <= low.dutyPct ? low.resistanceKPerW : high.resistanceKPerW * (high.dutyPct / duty) ** power
}

function dewTarget({ airC, humidityPct }: Corner, marginK: number): number {
  const log = Math.log(humidityPct / 100) + (17.62 * airC) / (243.12 + airC)
  return (243.12 * log) / (17.62 - log) + marginK
}

const targetOf = (bench: Bench, corner: Corner): number =>
  bench.profile.drive.kind === 'dew' ? dewTarget(corner, bench.profile.drive.marginK) : -300

/** Over 3600 s by the package `odex` at a tolerance of 1e-8, from a bench at the temperature of the air. */
export function integrated(bench: Bench, corner: Corner, ratio: number, volts: number): Answer {
  const { part, cooler } = bench
  if (cooler.kind === 'chilled') throw new Error('a coolant that warms is meant here')
  const coreKPerW = part.coreResistanceKPerW / cores
  const dynamicW = powerOf(bench, ratio, volts, 0).dynamicW
  const target = targetOf(bench, corner) + 273.15
  const derivative = ([die = 0, plate = 0, coolant = 0]: number[]): number[] => {
    const { powerW } = powerOf(bench, ratio, volts, die + coreKPerW * dynamicW)
    const q = (die - plate) / part.packageResistanceKPerW
    const shed = (coolant - corner.airC) / radiatorOf(bench, coolant)
    const dieRate = (powerW - q) / part.dieHeatJPerK
    if (cooler.kind !== 'thermoelectric') {
      const x = (plate - coolant) / cooler.blockResistanceKPerW
      return [dieRate, (q - x) / cooler.plateHeatJPerK, (x - shed) / cooler.coolantHeatJPerK]
    }
    const { modules, seebeckVPerK: a, resistanceOhm: r, conductanceWPerK: k, blockResistanceKPerW: block } = cooler
    const hotOf = (i: number, cold: number): number =>
      (coolant + 273.15 + modules * block * ((i * i * r) / 2 + k * cold)) / (1 - modules * block * (a * i - k))
    const takenAt = (i: number, cold: number): number =>
      modules * (a * i * cold - (i * i * r) / 2 - k * (hotOf(i, cold) - cold))
    // The drive that would hold the plate at its target now, by halving.
    let [low, high] = [0, cooler.driveCurrentA]
    if (takenAt(high, target) > q)
      for (let round = 0; round < 40; round++) {
        const middle = (low + high) / 2
        if (takenAt(middle, target) < q) low = middle
        else high = middle
      }
    const cold = plate + 273.15
    const hot = hotOf(high, cold)
    const given = modules * (a * high * hot + (high * high * r) / 2 - k * (hot - cold))
    return [dieRate, (q - takenAt(high, cold)) / cooler.plateHeatJPerK, (given - shed) / cooler.coolantHeatJPerK]
  }
  const [die = 0] = solveByOdex(derivative, [corner.airC, corner.airC, corner.airC], 3600, 1e-8)
  const dieC = die + coreKPerW * dynamicW
  return { dieC, powerW: powerOf(bench, ratio, volts, dieC).powerW }
}

/** Repeats an assignment until it moves by less than 1e-9. */
function repeated(start: number, next: (from: number) => number): number {
  let value = start
  for (let round = 0; round < 100_000; round++) {
    const moved = next(value)
    if (Math.abs(moved - value) < 1e-9) return moved
    value = moved
  }
  throw new Error('it does not settle')
}

/** Plain fixed-point iteration to 1e-9: the die, within it the coolant, and the drive by halving. */
export function iterated(bench: Bench, corner: Corner, ratio: number, volts: number): Answer {
  const { part, cooler } = bench
  if (cooler.kind === 'chilled') throw new Error('a radiator is meant here')
  const coreKPerW = part.coreResistanceKPerW / cores
  const target = targetOf(bench, corner)
  const plateAt = (i: number, heatW: number): number => {
    if (cooler.kind !== 'thermoelectric') {
      const coolant = repeated(corner.airC, from => corner.airC + radiatorOf(bench, from) * heatW)
      return coolant + cooler.blockResistanceKPerW * heatW
    }
    const { modules, seebeckVPerK: a, resistanceOhm: r, conductanceWPerK: k, blockResistanceKPerW: block } = cooler
    const coldOf = (hot: number): number => (heatW / modules + (i * i * r) / 2 + k * hot) / (a * i + k)
    let cold = 0
    repeated(corner.airC, coolant => {
      const hot = repeated(coolant + 273.15, from => {
        cold = coldOf(from)
        return coolant + 273.15 + block * modules * (a * i * from + (i * i * r) / 2 - k * (from - cold))
      })
      const out = modules * (a * i * hot + (i * i * r) / 2 - k * (hot - cold))
      return corner.airC + radiatorOf(bench, coolant) * out
    })
    return cold - 273.15
  }
  const plateOf = (heatW: number): number => {
    if (cooler.kind !== 'thermoelectric') return plateAt(0, heatW)
    let [low, high] = [0, cooler.driveCurrentA]
    if (plateAt(high, heatW) > target) return plateAt(high, heatW)
    for (let round = 0; round < 40; round++) {
      const middle = (low + high) / 2
      if (plateAt(middle, heatW) > target) low = middle
      else high = middle
    }
    return plateAt(high, heatW)
  }
  const dieC = repeated(corner.airC, from => {
    const { powerW, dynamicW } = powerOf(bench, ratio, volts, from)
    return plateOf(powerW) + part.packageResistanceKPerW * powerW + coreKPerW * dynamicW
  })
  return { dieC, powerW: powerOf(bench, ratio, volts, dieC).powerW }
}
