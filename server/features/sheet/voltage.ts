/**
 * Core voltages as they are entered: one value for all where the profile fixes one, else one for each ratio that the steps,
 * and what bands and vector loads give back, can lead to, and for each `set` row. What lies between them is the board's own
 * straight line; the limits may take the ratio below the lowest of them.
 */

import {
  interpolateRows,
  isAboveRows,
  isByNeeds,
  ratioAfter,
  roundToStep,
  setVoltageRows,
  stepRatio,
} from '../../model/index.ts'
import type { Board, GroupSettings, Part } from '../../model/types.ts'
import type { GroupView } from '../../semantic/group-view.ts'
import { partVoltages } from '../../semantic/profile-values.ts'
import { numberEntry, withUnit } from './numbers.ts'
import type { SheetEntry } from './types.ts'

/** Two ratios closer than this are one. */
const sameRatio = 1e-9

interface UsedRatio {
  readonly ratio: number
  readonly by: 'step' | 'given-back' | 'set'
}

/** The ratios that a profile can run at by its own settings, fastest first, each once. */
export function usedRatios(part: Part, profile: GroupSettings): readonly UsedRatio[] {
  const found: UsedRatio[] = []
  const add = (ratio: number, by: UsedRatio['by']): void => {
    if (!found.some(other => Math.abs(other.ratio - ratio) <= sameRatio)) found.push({ ratio, by })
  }
  const counts = Array.from({ length: part.cores }, (_, index) => index + 1)
  for (const count of counts) {
    const step = stepRatio(profile, count)
    if (step !== undefined) add(step, 'step')
  }
  for (const count of counts) {
    const step = stepRatio(profile, count)
    if (step === undefined) continue
    const bands = profile.bands.filter(row => count >= row.fromCores && count <= row.toCores)
    for (const vector of [0, profile.vectorDrop]) {
      for (const drop of [0, ...deepening(bands)]) add(ratioAfter(part, step, vector, drop), 'given-back')
    }
  }
  if (isByNeeds(profile.voltage)) for (const row of profile.voltage.set) add(row.ratio, 'set')
  return found.sort((a, b) => b.ratio - a.ratio)
}

/** What is given back in turn as the die warms: a row above which a deeper one holds already is never seen. */
function deepening(bands: GroupSettings['bands']): readonly number[] {
  const drops: number[] = []
  for (const row of [...bands].sort((a, b) => a.aboveC - b.aboveC || b.drop - a.drop)) {
    if (row.drop > (drops.at(-1) ?? 0)) drops.push(row.drop)
  }
  return drops
}

function byText(by: UsedRatio['by']): readonly string[] {
  if (by === 'given-back') return ['reached by giving ratio back']
  return by === 'set' ? ['no step, band or vector load leads here'] : []
}

/** A voltage that is worked out has as many digits as the arithmetic gives it; without a grid it is cut to millivolts. */
const withoutGridV = 0.001

function rangeNotes(profile: GroupView, enterV: number): readonly string[] {
  const range = partVoltages(profile)
  if (range === undefined) return []
  const side = enterV > range.highV + 1e-9 ? 'above' : enterV < range.lowV - 1e-9 ? 'below' : undefined
  if (side === undefined) return []
  return [
    `${side} ${profile.group ?? 'the part'}'s ${withUnit(range.lowV, 'V')} to ${withUnit(range.highV, 'V')}: do not enter it`,
  ]
}

/** The entry of one fixed core voltage. */
export function fixedVoltage(profile: GroupView, board: Board | undefined, voltageV: number): SheetEntry {
  const enter = roundToStep(voltageV, board?.coreVoltageStepV)
  return numberEntry({
    setting: 'core-voltage',
    row: 'all ratios',
    asked: voltageV,
    enter,
    unit: 'V',
    notes: rangeNotes(profile, enter),
  })
}

/** An entry for each used ratio. */
export function voltagePerRatio(
  resolved: GroupView,
  part: Part,
  profile: GroupSettings,
  board: Board | undefined,
): readonly SheetEntry[] {
  if (!isByNeeds(profile.voltage)) return []
  const rows = setVoltageRows(part, profile.voltage)
  const { set } = profile.voltage
  return usedRatios(part, profile).map(({ ratio, by }) => {
    const stated = set.find(row => Math.abs(row.ratio - ratio) <= sameRatio)
    const asked = stated?.voltageV ?? interpolateRows(rows, ratio)
    const stepV = board?.coreVoltageStepV ?? (stated === undefined ? withoutGridV : undefined)
    const enter = roundToStep(asked, stepV)
    const short = stated === undefined && isAboveRows(rows, ratio)
    return numberEntry({
      setting: 'core-voltage',
      row: withUnit(ratio, 'x'),
      asked,
      enter,
      unit: 'V',
      notes: [
        ...(short ? ['nothing was measured at this ratio: this is the value of the highest row'] : []),
        ...(stated === undefined ? [] : ['as the profile sets it']),
        ...byText(by),
        ...rangeNotes(resolved, enter),
      ],
    })
  })
}
