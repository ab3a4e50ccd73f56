/** A thermoelectric module: its three constants, given or drawn from the datasheet. */

import type { Match } from '../../grammar/values.ts'
import { type ModuleDatasheet, moduleFromDatasheet, ZERO_C_IN_K } from '../model/index.ts'
import { type Definition, entry, quantity } from './definitions.ts'
import { type Gathering, noteMissing, noteUncertain, required } from './gather.ts'

export interface ModuleValues {
  readonly seebeckVPerK: number
  readonly resistanceOhm: number
  readonly conductanceWPerK: number
  /** Mean of cold and hot side that they hold at; absent where they are taken as the same at every temperature. */
  readonly constantsAtC?: number
}

const datasheetWords = ['at', 'current', 'voltage', 'difference'] as const
const constantFields = {
  seebeck: 'seebeckVPerK',
  resistance: 'resistanceOhm',
  conductance: 'conductanceWPerK',
} as const
const constantWords = Object.keys(constantFields) as (keyof typeof constantFields)[]

const optional = (block: Match, word: string): number | undefined => {
  const found = entry(block, word)
  return found && quantity(found)?.value
}

const given = (block: Match, word: string): number => optional(block, word) ?? Number.NaN

const uncertaintyOf = (block: Match, word: string): number | undefined => {
  const found = entry(block, word)
  return found && quantity(found)?.uncertainty
}

function sheetOf(block: Match): ModuleDatasheet {
  return {
    hotC: given(block, 'at'),
    currentA: given(block, 'current'),
    voltageV: given(block, 'voltage'),
    heatW: given(block, 'heat'),
    differenceK: given(block, 'difference'),
  }
}

function constantsOf(sheet: ModuleDatasheet): Required<ModuleValues> {
  const { seebeckVPerK, resistanceOhm, conductanceWPerK, meanC } = moduleFromDatasheet(sheet)
  return { seebeckVPerK, resistanceOhm, conductanceWPerK, constantsAtC: meanC }
}

/** A datasheet figure moves the three constants and the temperature they hold at; by how much is taken from the formulas on both sides of it. */
function noteDatasheetUncertainty(gathering: Gathering, block: Match, sheet: ModuleDatasheet): void {
  const fields = { current: 'currentA', voltage: 'voltageV', difference: 'differenceK' } as const
  for (const word of Object.keys(fields) as (keyof typeof fields)[]) {
    const uncertainty = uncertaintyOf(block, word)
    if (uncertainty === undefined) continue
    const value = sheet[fields[word]]
    const width = value * 1e-5
    const above = constantsOf({ ...sheet, [fields[word]]: value + width })
    const below = constantsOf({ ...sheet, [fields[word]]: value - width })
    const changes = [...Object.values(constantFields), 'constantsAtC' as const].map(field => ({
      field,
      per: (above[field] - below[field]) / (2 * width),
    }))
    noteUncertain(gathering, `module ${word}`, uncertainty, changes)
  }
}

/** The constants of the cooler's module; NaN, and noted as missing, where neither set is complete. */
export function moduleValues(gathering: Gathering): ModuleValues {
  const nothing = { seebeckVPerK: Number.NaN, resistanceOhm: Number.NaN, conductanceWPerK: Number.NaN }
  const block = required(gathering, 'module')
  if (block === undefined) return nothing
  if (constantWords.every(word => !Number.isNaN(given(block, word)))) {
    for (const word of constantWords) {
      noteUncertain(gathering, `module ${word}`, uncertaintyOf(block, word), [{ field: constantFields[word], per: 1 }])
    }
    const constantsAtC = optional(block, 'constants-at')
    return {
      ...(constantsAtC === undefined ? {} : { constantsAtC }),
      seebeckVPerK: given(block, 'seebeck'),
      resistanceOhm: given(block, 'resistance'),
      conductanceWPerK: given(block, 'conductance'),
    }
  }
  const sheet = sheetOf(block)
  const complete = datasheetWords.every(word => !Number.isNaN(given(block, word)))
  // A difference down to absolute zero would make a module without resistance.
  if (complete && sheet.differenceK < sheet.hotC + ZERO_C_IN_K) {
    noteDatasheetUncertainty(gathering, block, sheet)
    return constantsOf(sheet)
  }
  noteMissing(gathering, 'module')
  return nothing
}

/** Key words a `module` block still wants: the rest of the set that was begun, the datasheet's where none was. */
export function missingInModule(block: Match): readonly string[] {
  const stands = (word: string): boolean => entry(block, word) !== undefined
  const wanted = constantWords.some(stands) && !datasheetWords.some(stands) ? constantWords : datasheetWords
  return constantWords.every(stands) ? [] : wanted.filter(word => !stands(word))
}

/** The datasheet figures of a cooler's module, where all five are given. */
export function moduleDatasheet(
  cooler: Definition,
): { atC: number; currentA: number; voltageV: number; heatW: number; differenceK: number } | undefined {
  const block = entry(cooler.match, 'module')
  if (block === undefined) return undefined
  const { hotC, ...rest } = sheetOf(block)
  return [hotC, ...Object.values(rest)].some(Number.isNaN) ? undefined : { atC: hotC, ...rest }
}
