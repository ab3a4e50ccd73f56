/**
 * Dew and frost point of room air (model section 9).
 * Magnus form after the WMO Guide No. 8, Annex 4.B, with the coefficients of Sonntag (1990).
 */

const WATER_SLOPE = 17.62
const WATER_OFFSET_C = 243.12
const ICE_SLOPE = 22.46
const ICE_OFFSET_C = 272.62

/** Zero of the Celsius scale in kelvin. */
export const ZERO_C_IN_K = 273.15

/**
 * Natural logarithm of vapour pressure over 6.112 hPa, the quantity both inversions start from.
 * `airC` in °C, `humidityPct` in percent (1 to 100).
 */
function logVapour(airC: number, humidityPct: number): number {
  return Math.log(humidityPct / 100) + (WATER_SLOPE * airC) / (WATER_OFFSET_C + airC)
}

/** Dew point over liquid water in °C, also where that water would be supercooled. */
export function dewPointC(airC: number, humidityPct: number): number {
  const log = logVapour(airC, humidityPct)
  return (WATER_OFFSET_C * log) / (WATER_SLOPE - log)
}

/** Frost point over ice in °C for the same vapour pressure; it has a meaning only below 0 °C. */
export function frostPointC(airC: number, humidityPct: number): number {
  const log = logVapour(airC, humidityPct)
  return (ICE_OFFSET_C * log) / (ICE_SLOPE - log)
}

/**
 * The temperature in °C at which a surface becomes wet or white: the dew point, or the frost point where
 * the dew point lies below 0 °C, since ice then forms first.
 */
export function wetPointC(airC: number, humidityPct: number): number {
  const log = logVapour(airC, humidityPct)
  // Both curves pass through 6.112 hPa at 0 °C, so the sign of the logarithm alone tells which one matters.
  return log < 0 ? (ICE_OFFSET_C * log) / (ICE_SLOPE - log) : (WATER_OFFSET_C * log) / (WATER_SLOPE - log)
}
