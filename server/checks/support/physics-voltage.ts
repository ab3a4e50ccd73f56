/** Which setting of a profile decides the voltage at a ratio, and how it is changed. */

import {
  type Bench,
  interpolateRows,
  isAboveRows,
  isByNeeds,
  isWork,
  ladderOf,
  RATIO_TOLERANCE,
  setVoltageRows,
  setVoltageV,
  stepRatio,
} from '../../model/index.ts'
import { loadConstants } from '../../semantic/constants.ts'
import { quantity } from '../../semantic/definitions.ts'
import { onceAmong } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Sourced } from '../../semantic/profile.ts'
import { inUnit, rounded } from '../../wording/entered.ts'
import { millivoltsText, voltageText } from '../../wording/figures.ts'
import type { Fix, Place } from '../types.ts'
import { decimalsOf, replace, setWhole } from './physics-edits.ts'
import { keyPlace, stepRow } from './physics-rows.ts'
import { settingPlace } from './place.ts'

/** The `set` row at exactly this ratio, where there is one. */
export function setRowAt({ profile }: Evaluation, ratio: number): Sourced | undefined {
  return profile.setRows().find(({ match }) => {
    const own = quantity(match, 'ratio')?.value
    return own !== undefined && Math.abs(own - ratio) <= RATIO_TOLERANCE
  })
}

/** The `set` row that the voltage at this ratio is read from, if it is one alone; `fixed` leaves none. */
export function decidingRow(evaluation: Evaluation, bench: Bench, ratio: number): Sourced | undefined {
  if (!isByNeeds(bench.profile.voltage)) return undefined
  const rows = setVoltageRows(bench.part, bench.profile.voltage)
  const first = rows[0]?.ratio ?? ratio
  const last = rows.at(-1)?.ratio ?? ratio
  return setRowAt(evaluation, Math.min(Math.max(ratio, first), last))
}

/** Where a finding about the voltage at a ratio stands: the `set` row, else `core`, else the step row that asks for it. */
export function voltagePlace(evaluation: Evaluation, bench: Bench, ratio: number, cores: number): Place {
  const { profile } = evaluation
  const sourced =
    decidingRow(evaluation, bench, ratio) ?? profile.inner('voltage', 'core') ?? stepRow(evaluation, cores)
  return sourced === undefined ? keyPlace(evaluation, 'voltage', 'steps') : settingPlace(profile, sourced)
}

/** A ratio that the profile can come to, with a core count that brings it there. */
export interface UsedRatio {
  readonly ratio: number
  readonly cores: number
  readonly setV: number
}

/**
 * The ratios that the steps of a bench ask for, less what bands and vector loads give back, with the fewest cores of each row
 * that do.
 */
export function* ratiosOfSteps(
  { profile: { loads } }: Evaluation,
  { part, profile }: Bench,
): Iterable<Omit<UsedRatio, 'setV'>> {
  const vectors = new Set([false, ...loads.map(load => loadConstants(load).value?.work.vector ?? false)])
  // Between two ends of rows every count has the same ratios.
  const rows = [...profile.steps, ...profile.bands]
  const begins = new Set([1, ...rows.flatMap(({ fromCores, toCores }) => [fromCores, toCores + 1])])
  for (let cores = 1; cores <= part.cores; cores++) {
    if (!begins.has(cores) || stepRatio(profile, cores) === undefined) continue
    for (const vector of vectors) {
      const levels = ladderOf(part, profile, { cores, vector })
      // Those at the die limit come last, one for each ratio-step down, and are not asked for.
      for (let index = 0; ; index++) {
        const level = levels.at(index)
        if (level === undefined || level.limiter === 'die-limit') break
        yield { ratio: level.ratio, cores }
      }
    }
  }
}

/**
 * Every ratio that the profile asks for: steps, less what bands and vector loads give back; and those that the
 * predictions settle at, however they came to them.
 */
export function usedRatios(evaluation: Evaluation): readonly UsedRatio[] {
  return ratiosAmong(evaluation) ?? []
}

const ratiosAmong = onceAmong((bench, points, evaluation): readonly UsedRatio[] => {
  const { part, profile } = bench
  const used = new Map<number, number>()
  const note = (ratio: number, cores: number): void => {
    const key = Math.round(ratio / RATIO_TOLERANCE) * RATIO_TOLERANCE
    if (!used.has(key)) used.set(key, cores)
  }
  for (const { ratio, cores } of ratiosOfSteps(evaluation, bench)) note(ratio, cores)
  for (const { load, settled } of points) {
    if (isWork(load)) for (const { ratio } of settled.notes.voltages) note(ratio, load.cores)
  }
  const rows = setVoltageRows(part, profile.voltage)
  return [...used].map(([ratio, cores]) => ({ ratio, cores, setV: setVoltageV(rows, bench.board, ratio) }))
})

/** The step in which voltages are written: the board's, or 1 mV. */
export function writingStepV(bench: Bench): number {
  return bench.board.coreVoltageStepV ?? 0.001
}

/** The nearest multiple of the writing step at or above a voltage, or at or below it. */
export function toStep(bench: Bench, voltageV: number, direction: 'up' | 'down'): number {
  const step = writingStepV(bench)
  const steps = direction === 'up' ? Math.ceil(voltageV / step - 1e-6) : Math.floor(voltageV / step + 1e-6)
  return Number((steps * step).toFixed(9))
}

function decimalsNeeded(value: number, most: number): number {
  for (let decimals = 0; decimals < most; decimals++) {
    if (Math.abs(Number(value.toFixed(decimals)) - value) < 1e-9) return decimals
  }
  return most
}

/** A fix that rewrites the voltage of a quantity which this profile states itself. */
export function rewriteVoltage(
  { profile }: Evaluation,
  sourced: Sourced | undefined,
  name: 'voltage' | 'fixed',
  voltageV: number,
): Fix | undefined {
  const written = sourced && quantity(sourced.match, name)
  if (sourced === undefined || written === undefined || sourced.definition !== profile.definition) return undefined
  const inVolts = written.unit.symbol === 'V'
  const scale = inVolts ? 1 : written.unit.symbol === 'mV' ? 1e3 : 1e6
  const decimals = Math.max(decimalsOf(sourced.definition, written), decimalsNeeded(voltageV * scale, 6))
  const text = inUnit(voltageV, written.unit, decimals)
  return { title: `Write ${text}`, edits: [replace(sourced.definition, written, text)], preferred: true }
}

/** `core needs + 10 mV`, in the language's spelling. */
export function coreNeedsText(offsetV: number): string {
  const offsetMv = Number((offsetV * 1000).toFixed(6))
  if (offsetMv === 0) return 'core needs'
  return `core needs ${offsetMv < 0 ? '-' : '+'} ${rounded(Math.abs(offsetMv), decimalsNeeded(Math.abs(offsetMv), 3), 'nearest')} mV`
}

/** A fix that sets the offset on what the part needs, stating `core` where it is inherited or absent. */
export function rewriteOffset({ profile }: Evaluation, offsetV: number): Fix | undefined {
  const line = coreNeedsText(offsetV)
  const edit = setWhole(profile, profile.inner('voltage', 'core'), 'voltage', line)
  return edit === undefined ? undefined : { title: `Write \`${line}\``, edits: [edit], preferred: true }
}

/** What is lost between the voltage that the rows say and the die: the load line, and the board's rounding. */
export function dropWords(bench: Bench, ratio: number, setV: number, dieV: number): string {
  const askedV = interpolateRows(setVoltageRows(bench.part, bench.profile.voltage), ratio)
  const lost: string[] = []
  if (setV - dieV > 5e-5) lost.push(`the load line takes ${millivoltsText(setV - dieV)}`)
  if (askedV - setV > 5e-7) lost.push(`rounding to the board's grid takes ${millivoltsText(askedV - setV)}`)
  return lost.length === 0 ? '' : `, ${lost.join(' and ')}`
}

/** Whether the voltage at a ratio is read beyond the last row. */
export function isBeyondRows(bench: Bench, ratio: number): boolean {
  return isAboveRows(bench.part.needs, ratio)
}

/** `0.650 V to 1.450 V`. */
export function rangeWords(range: { readonly lowV: number; readonly highV: number }): string {
  return `${voltageText(range.lowV)} to ${voltageText(range.highV)}`
}
