/** α, R and K of a thermoelectric module at the mean temperature of its sides (model section 5), spelled out. */
import type { ThermoelectricCooler } from '../../server/model/types.ts'

const zeroK = 273.15

/** α, R and K of one module. */
export interface Constants {
  readonly seebeck: number
  readonly ohm: number
  readonly conductance: number
}

/**
 * Bismuth telluride after the printed polynomials of a couple, in kelvin; only their shape counts. The source stands beside
 * the same coefficients in `server/model/cooler/thermoelectric/stack.ts`.
 */
const seebeckOf = (t: number): number => 22224 + 930.6 * t - 0.9905 * t * t
const ohmOf = (t: number): number => 5112 + 163.4 * t + 0.6279 * t * t
const conductanceOf = (t: number): number => 62605 - 277.7 * t + 0.4131 * t * t

const within = (kelvin: number): number => Math.min(450, Math.max(200, kelvin))

/** The constants divided by their polynomials where they were stated. */
const shares = new WeakMap<ThermoelectricCooler, Constants>()

const sharesOf = (cooler: ThermoelectricCooler, constantsAtC: number): Constants => {
  const known = shares.get(cooler)
  if (known) return known
  const there = within(constantsAtC + zeroK)
  const made = {
    seebeck: cooler.seebeckVPerK / seebeckOf(there),
    ohm: cooler.resistanceOhm / ohmOf(there),
    conductance: cooler.conductanceWPerK / conductanceOf(there),
  }
  shares.set(cooler, made)
  return made
}

/** The constants at a mean of hot and cold side. */
export const constantsAt = (cooler: ThermoelectricCooler, meanK: number): Constants => {
  const { seebeckVPerK, resistanceOhm, conductanceWPerK, constantsAtC } = cooler
  if (constantsAtC === undefined) return { seebeck: seebeckVPerK, ohm: resistanceOhm, conductance: conductanceWPerK }
  const here = within(meanK)
  const share = sharesOf(cooler, constantsAtC)
  return {
    seebeck: share.seebeck * seebeckOf(here),
    ohm: share.ohm * ohmOf(here),
    conductance: share.conductance * conductanceOf(here),
  }
}
