/** Model sections 5 and 9 (wet point), spelled out without haste. */
import type { Bench, Cooler, Corner, RadiatorPoint, ThermoelectricCooler } from '../../server/model/types.ts'
import { alongLines, crossing, evenly, lowestRoot } from './numeric.ts'

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

const powers = new WeakMap<readonly RadiatorPoint[], number>()

/** The power of the duty with which a resistance falls from one point to the other. */
const powerOf = (radiator: readonly RadiatorPoint[], first: RadiatorPoint, second: RadiatorPoint): number => {
  const known = powers.get(radiator)
  if (known !== undefined) return known
  const power = Math.log(first.resistanceKPerW / second.resistanceKPerW) / Math.log(second.dutyPct / first.dutyPct)
  powers.set(radiator, power)
  return power
}

export const radiatorKPerW = (radiator: readonly RadiatorPoint[], dutyPct: number): number => {
  const [first, second] = radiator
  if (!first) throw new Error('a radiator needs a point')
  if (!second || dutyPct <= first.dutyPct) return first.resistanceKPerW
  return second.resistanceKPerW * (second.dutyPct / dutyPct) ** powerOf(radiator, first, second)
}

/** The lowest coolant temperature with T_cool = T_air + θ_rad(u(T_cool)) · Q_out. */
const lowestCoolantC = (bench: Bench, corner: Corner, radiator: readonly RadiatorPoint[], heatOutW: number): number => {
  const thetaAt = (coolantC: number): number => radiatorKPerW(radiator, fanDutyPct(bench, coolantC))
  const given = (coolantC: number): number => {
    return corner.airC + thetaAt(coolantC) * heatOutW
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

/** Plate and coolant of a cooler without modules at a heat (model section 5). */
export const passivePlate = (
  bench: Bench,
  cooler: Exclude<Cooler, ThermoelectricCooler>,
  corner: Corner,
  heatW: number,
): { plateC: number; coolantC: number } => {
  if (cooler.kind === 'chilled') {
    const coolantC = cooler.coolantC + cooler.beyondKPerW * Math.max(0, heatW - cooler.capacityW)
    return { plateC: coolantC + cooler.blockResistanceKPerW * heatW, coolantC }
  }
  const coolantC = lowestCoolantC(bench, corner, cooler.radiator, heatW)
  return { plateC: coolantC + cooler.blockResistanceKPerW * heatW, coolantC }
}
