/** Set voltage, die voltage behind the load line, and needed voltage (model section 2). */

import type { Board, CoreVoltage, Part, VoltageRow } from './types.ts'

/** Two ratios closer than this are one ratio: sums of decimal steps do not meet exactly in binary. */
export const RATIO_TOLERANCE = 1e-9

/** A core voltage that follows what the part needs: an offset, and rows that stand as entered. */
export type VoltageByNeeds = Extract<CoreVoltage, { readonly kind: 'needs' }>

/** Which kinds of core voltage are entered by ratio; a new kind has its row. */
const byNeeds: Readonly<Record<CoreVoltage['kind'], boolean>> = { fixed: false, needs: true }

/** Whether a core voltage follows what the part needs, so that it has an offset and rows. */
export const isByNeeds = (voltage: CoreVoltage): voltage is VoltageByNeeds => byNeeds[voltage.kind]

/**
 * Value of a voltage table at a ratio: straight lines between rows, flat below the first row.
 * Above the last row there is no measured value; the last row is returned and `isAboveRows` tells it.
 */
export function interpolateRows(rows: readonly VoltageRow[], ratio: number): number {
  const first = rows[0]
  if (first === undefined) return Number.NaN
  if (ratio <= first.ratio) return first.voltageV
  let low = first
  for (let index = 1; index < rows.length; index++) {
    const high = rows[index] as VoltageRow
    if (ratio <= high.ratio) {
      return low.voltageV + ((high.voltageV - low.voltageV) * (ratio - low.ratio)) / (high.ratio - low.ratio)
    }
    low = high
  }
  return low.voltageV
}

/** Whether a ratio lies beyond the last row of a table (`needs-short`). */
export function isAboveRows(rows: readonly VoltageRow[], ratio: number): boolean {
  const last = rows[rows.length - 1]
  return last === undefined || ratio > last.ratio + RATIO_TOLERANCE
}

/**
 * The rows that the set voltage is read from: the measured rows plus the offset, overlaid by the `set`
 * rows, which stand as entered. A `set` row at a measured ratio replaces that row, else it is added.
 */
export function setVoltageRows(part: Part, voltage: CoreVoltage): readonly VoltageRow[] {
  switch (voltage.kind) {
    case 'fixed':
      return [{ ratio: part.ratioLow, voltageV: voltage.voltageV }]
    case 'needs':
      return rowsByNeeds(part, voltage)
  }
}

function rowsByNeeds(part: Part, { offsetV, set }: VoltageByNeeds): readonly VoltageRow[] {
  if (offsetV === 0 && set.length === 0) return part.needs
  const rows = part.needs
    .filter(row => !set.some(own => Math.abs(own.ratio - row.ratio) <= RATIO_TOLERANCE))
    .map(row => ({ ratio: row.ratio, voltageV: row.voltageV + offsetV }))
  for (const own of set) rows.push({ ratio: own.ratio, voltageV: own.voltageV })
  return rows.sort((a, b) => a.ratio - b.ratio)
}

/**
 * Rounds a voltage to the board's step: first to 1 µV, so that binary noise decides nothing, then to the
 * step with exact halves upward. Without a step the value is returned as it is.
 */
export function roundToStep(voltageV: number, stepV: number | undefined): number {
  if (stepV === undefined || !(stepV > 0)) return voltageV
  const microvolts = Math.round(voltageV * 1e6)
  const stepMicrovolts = Math.round(stepV * 1e12) / 1e6
  return (Math.floor(microvolts / stepMicrovolts + 0.5) * stepMicrovolts) / 1e6
}

/** Set voltage in V at a ratio from rows of `setVoltageRows`, rounded as the board rounds. */
export function setVoltageV(
  rows: readonly VoltageRow[],
  board: Pick<Board, 'coreVoltageStepV'>,
  ratio: number,
): number {
  return roundToStep(interpolateRows(rows, ratio), board.coreVoltageStepV)
}

/**
 * Lowest die voltage in V at which the part is stable: needs(r) + slope · (T − T_needs), and
 * `vectorNeedsV` on top under a vector load. From the measured rows alone.
 */
export function needVoltageV(part: Part, ratio: number, dieC: number, load: { readonly vector: boolean }): number {
  const base = interpolateRows(part.needs, ratio) + part.needsSlopeVPerK * (dieC - part.needsAtC)
  return load.vector ? base + part.vectorNeedsV : base
}

/**
 * Die voltage behind a load line: the one V in (0, V_set] with
 *
 *     V = V_set − R · (A·V + L·V^(k−1)),
 *
 * where A·V² is the dynamic and L·V^k the leakage power. The left side minus the right rises with V for
 * every k ≥ 1, so there is one such V. (At k = 1 a leakage current beyond V_set / R leaves none; the
 * limit V = 0 is then returned, which keeps the power continuous.)
 *
 * @param setV set voltage V_set in V
 * @param loadLineOhm R in Ω
 * @param dynamicWPerV2 A in W/V²
 * @param leakageWPerVk L in W/V^k
 * @param exponent k ≥ 1
 */
export function dieVoltageV(
  setV: number,
  loadLineOhm: number,
  dynamicWPerV2: number,
  leakageWPerVk: number,
  exponent: number,
): number {
  if (loadLineOhm === 0) return setV
  // Leakage beyond any number takes all there is.
  if (leakageWPerVk === Number.POSITIVE_INFINITY) return 0
  const linear = 1 + loadLineOhm * dynamicWPerV2
  const droop = loadLineOhm * leakageWPerVk
  if (exponent === 3) return (2 * setV) / (linear + Math.sqrt(linear * linear + 4 * droop * setV))
  if (exponent === 2) return setV / (linear + droop)
  if (exponent === 1) return Math.max(0, (setV - droop) / linear)
  if (droop === 0) return setV / linear
  return exponent > 2
    ? convexDieVoltage(setV, linear, droop, exponent - 1)
    : concaveDieVoltage(setV, linear, droop, exponent - 1)
}

/** A power of a voltage; whole ones, which most parts have, by multiplication. */
export function raised(volts: number, power: number): number {
  switch (power) {
    case 0:
      return 1
    case 1:
      return volts
    case 2:
      return volts * volts
    case 3:
      return volts * volts * volts
    case 4:
      return volts * volts * (volts * volts)
    // Halves are common as well: a root takes a fraction of what a power takes.
    case 1.5:
      return volts * Math.sqrt(volts)
    case 2.5:
      return volts * volts * Math.sqrt(volts)
    case 3.5:
      return volts * volts * volts * Math.sqrt(volts)
    default:
      return volts ** power
  }
}

/** Leakage current in A of a die at `volts`; beyond any number it is what the load line carries at most. */
export function leakageA(volts: number, setV: number, loadLineOhm: number, perVk: number, exponent: number): number {
  return perVk === Number.POSITIVE_INFINITY ? setV / loadLineOhm : perVk * raised(volts, exponent - 1)
}

/** Newton from the right: linear·V + droop·V^p − V_set is convex for p > 1, so the steps never overshoot. */
function convexDieVoltage(setV: number, linear: number, droop: number, power: number): number {
  let volts = setV / linear
  // Where leakage takes most of the voltage, what it would take alone is the better start.
  if (droop * raised(volts, power) > setV) volts = Math.min(volts, (setV / droop) ** (1 / power))
  for (let round = 0; round < 60; round++) {
    const leaked = droop * raised(volts, power)
    const step = (linear * volts + leaked - setV) / (linear + (power * leaked) / volts)
    if (!(step > 1e-15 * volts)) break
    volts -= step
  }
  return volts
}

/** Newton from the left: the same function is concave for 0 < p < 1. */
function concaveDieVoltage(setV: number, linear: number, droop: number, power: number): number {
  const open = setV / linear
  let volts = Math.max(
    (setV - droop * open ** power) / linear,
    Math.min(setV / (2 * linear), (setV / (2 * droop)) ** (1 / power)),
  )
  for (let round = 0; round < 60; round++) {
    const leaked = droop * volts ** power
    const step = (setV - linear * volts - leaked) / (linear + (power * leaked) / volts)
    if (!(step > 1e-15 * volts)) break
    volts += step
  }
  return volts
}
