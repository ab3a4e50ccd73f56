/** Model sections 5 and 9 (wet point), spelled out without haste. */
import type { Bench, Corner, RadiatorPoint, ThermoelectricCooler } from '../../server/model/types.ts'
import { alongLines, crossing, evenly, lowestRoot, valley } from './numeric.ts'

const zeroCelsiusK = 273.15

/** Dew point, or the frost point where the dew point lies below 0 °C (model section 9, Magnus form). */
export const wetPointC = (corner: Corner): number => {
  const logRatio = Math.log(corner.humidityPct / 100) + (17.62 * corner.airC) / (243.12 + corner.airC)
  const dewC = (243.12 * logRatio) / (17.62 - logRatio)
  return dewC < 0 ? (272.62 * logRatio) / (22.46 - logRatio) : dewC
}

interface FanTable {
  readonly rows: readonly (readonly [number, number])[]
  readonly falls: boolean
  readonly grid: readonly number[]
}

const fanTables = new WeakMap<Bench['profile'], FanTable>()

const fanTableOf = (bench: Bench): FanTable => {
  const known = fanTables.get(bench.profile)
  if (known) return known
  const { fan } = bench.profile
  const table = {
    rows: fan.map(row => [row.coolantC, row.dutyPct] as const),
    falls: fan.some((row, index) => index > 0 && row.dutyPct < (fan[index - 1]?.dutyPct ?? 0)),
    grid: fan.flatMap((row, index) => {
      const next = fan[index + 1]
      return next ? evenly(row.coolantC, next.coolantC, 12).slice(0, 12) : [row.coolantC]
    }),
  }
  fanTables.set(bench.profile, table)
  return table
}

export const fanDutyPct = (bench: Bench, coolantC: number): number =>
  bench.profile.fan.length === 0 ? 100 : alongLines(fanTableOf(bench).rows, coolantC)

export const radiatorKPerW = (radiator: readonly RadiatorPoint[], dutyPct: number): number => {
  const [first, second] = radiator
  if (!first) throw new Error('a radiator needs a point')
  if (!second || dutyPct <= first.dutyPct) return first.resistanceKPerW
  const power = Math.log(first.resistanceKPerW / second.resistanceKPerW) / Math.log(second.dutyPct / first.dutyPct)
  return second.resistanceKPerW * (second.dutyPct / dutyPct) ** power
}

/**
 * The lowest coolant temperature with T_cool = T_air + θ_rad(u(T_cool)) · Q_out.
 * `heatOutW` gives Q_out for a radiator resistance; it is constant for a loop
 * and depends on it for a thermoelectric plate (infinite: no sound solution).
 */
const lowestCoolantC = (
  bench: Bench,
  corner: Corner,
  radiator: readonly RadiatorPoint[],
  heatOutW: (thetaRad: number) => number,
): number => {
  const thetaAt = (coolantC: number): number => radiatorKPerW(radiator, fanDutyPct(bench, coolantC))
  const given = (coolantC: number): number => {
    const theta = thetaAt(coolantC)
    return corner.airC + theta * heatOutW(theta)
  }
  const fan = bench.profile.fan
  const first = fan[0]
  const last = fan[fan.length - 1]
  if (!first || !last) return given(corner.airC)
  const above = (coolantC: number): number => given(coolantC) - coolantC
  // Below the first fan point the duty is flat, so the right-hand side is one number.
  if (above(first.coolantC) <= 0) return given(first.coolantC)
  const table = fanTableOf(bench)
  if (table.falls) return lowestRoot(above, table.grid) ?? given(last.coolantC)
  // A fan that never slows down leaves exactly one solution.
  if (above(last.coolantC) >= 0) return given(last.coolantC)
  return crossing(above, first.coolantC, last.coolantC)
}

/** Plate, hot side and the flows of a cooler at one heat. */
export interface Plate {
  readonly plateC: number
  readonly coolantC: number
  readonly heatOutW: number
  readonly driveA: number | null
  readonly hotC: number | null
}

/** Tc, Th and Q_out of the module pair of equations at one current and one radiator resistance. */
const moduleState = (
  cooler: ThermoelectricCooler,
  airC: number,
  thetaRad: number,
  currentA: number,
  heatW: number,
): { coldK: number; hotK: number; heatOutW: number } => {
  const { modules: n, seebeckVPerK, resistanceOhm, conductanceWPerK: k } = cooler
  const theta = thetaRad + cooler.blockResistanceKPerW
  const pump = seebeckVPerK * currentA
  const joule = (currentA * currentA * resistanceOhm) / 2
  const soundness = (pump + k) * (pump - k - 1 / (n * theta)) + k * k
  if (!(soundness < 0)) return { coldK: Infinity, hotK: Infinity, heatOutW: Infinity }
  // (αi + K) Tc − K Th = Q/N + i²R/2 and K Tc + (αi − K − 1/(Nθ)) Th = −T_air/(Nθ) − i²R/2, by Cramer's rule.
  const right1 = heatW / n + joule
  const right2 = -(airC + zeroCelsiusK) / (n * theta) - joule
  const coldK = (right1 * (pump - k - 1 / (n * theta)) + k * right2) / soundness
  const hotK = ((pump + k) * right2 - k * right1) / soundness
  const heatOutW = n * (pump * hotK + joule - k * (hotK - coldK))
  return { coldK, hotK, heatOutW }
}

/** The thermoelectric plate with a given current. */
export const plateAtCurrent = (
  bench: Bench,
  cooler: ThermoelectricCooler,
  corner: Corner,
  heatW: number,
  currentA: number,
): Plate => {
  const coolantC = lowestCoolantC(
    bench,
    corner,
    cooler.radiator,
    theta => moduleState(cooler, corner.airC, theta, currentA, heatW).heatOutW,
  )
  const theta = radiatorKPerW(cooler.radiator, fanDutyPct(bench, coolantC))
  const state = moduleState(cooler, corner.airC, theta, currentA, heatW)
  return {
    plateC: state.coldK - zeroCelsiusK,
    coolantC,
    heatOutW: state.heatOutW,
    driveA: currentA,
    hotC: state.hotK - zeroCelsiusK,
  }
}

/**
 * i*: the current in [0, drive-current] that makes the plate coldest. Under a
 * fan table there may be several valleys; the bottom of each is looked up.
 * A fan that slows down makes them narrow.
 */
export const coldestCurrentA = (bench: Bench, cooler: ThermoelectricCooler, corner: Corner, heatW: number): number => {
  const currentParts = fanTableOf(bench).falls ? 80 : 24
  const grid = evenly(0, cooler.driveCurrentA, currentParts)
  const plate = (currentA: number): number => plateAtCurrent(bench, cooler, corner, heatW, currentA).plateC
  const values = grid.map(plate)
  const at = (index: number): number => values[index] ?? Number.POSITIVE_INFINITY
  const coldest = Math.min(...values)
  let bestA = 0
  let bestC = at(0)
  for (let index = 0; index <= currentParts; index += 1) {
    if (at(index) > at(index - 1) || at(index) > at(index + 1) || at(index) > coldest + 5) continue
    const bottomA = valley(plate, grid[Math.max(0, index - 1)] ?? 0, grid[Math.min(currentParts, index + 1)] ?? 0)
    const bottomC = plate(bottomA)
    if (bottomC >= bestC) continue
    bestA = bottomA
    bestC = bottomC
  }
  return bestA
}

const targetC = (bench: Bench, corner: Corner): number => {
  const drive = bench.profile.drive
  if (drive.kind === 'dew') return wetPointC(corner) + drive.marginK
  if (drive.kind === 'hold') return drive.temperatureC
  throw new Error('this drive has no target')
}

/** T_plate alone, with the drive rule acting; it spares the search for a current that holds the target. */
export const plateTemperatureC = (bench: Bench, corner: Corner, heatW: number): number => {
  const { cooler, profile } = bench
  if (cooler.kind !== 'thermoelectric' || profile.drive.kind === 'full' || profile.drive.kind === 'off')
    return plateFor(bench, corner, heatW).plateC
  const target = targetC(bench, corner)
  const plate = (currentA: number): number => plateAtCurrent(bench, cooler, corner, heatW, currentA).plateC
  const undriven = plate(0)
  if (undriven <= target) return undriven
  for (const currentA of evenly(0, cooler.driveCurrentA, 4)) if (plate(currentA) <= target) return target
  return Math.max(target, plate(coldestCurrentA(bench, cooler, corner, heatW)))
}

/** The whole state of the cooler at a heat, with the drive rule acting (model section 5). */
export const plateFor = (bench: Bench, corner: Corner, heatW: number): Plate => {
  const { cooler, profile } = bench
  if (cooler.kind === 'chilled') {
    const coolantC = cooler.coolantC + cooler.beyondKPerW * Math.max(0, heatW - cooler.capacityW)
    const plateC = coolantC + cooler.blockResistanceKPerW * heatW
    return { plateC, coolantC, heatOutW: heatW, driveA: null, hotC: null }
  }
  if (cooler.kind !== 'thermoelectric') {
    const coolantC = lowestCoolantC(bench, corner, cooler.radiator, () => heatW)
    const plateC = coolantC + cooler.blockResistanceKPerW * heatW
    return { plateC, coolantC, heatOutW: heatW, driveA: null, hotC: null }
  }
  const at = (currentA: number): Plate => plateAtCurrent(bench, cooler, corner, heatW, currentA)
  if (profile.drive.kind === 'full') return at(cooler.driveCurrentA)
  if (profile.drive.kind === 'off') return at(0)
  const target = targetC(bench, corner)
  if (at(0).plateC <= target) return at(0)
  const coldestA = coldestCurrentA(bench, cooler, corner, heatW)
  if (at(coldestA).plateC >= target) return at(coldestA)
  const grid = evenly(0, coldestA, 60)
  const reached = grid.findIndex(currentA => at(currentA).plateC <= target)
  return at(crossing(currentA => at(currentA).plateC - target, grid[reached - 1] ?? 0, grid[reached] ?? coldestA))
}
