/** What the values rest on, and what must be said beside them. */

import { findWord, type Place } from '../../../grammar/vocabulary/index.ts'
import { boardConstants, coolerConstants } from '../../semantic/constants.ts'
import { coolerKinds, drivenPlate } from '../../semantic/coolers/index.ts'
import { type Definition, entry, quantity } from '../../semantic/definitions.ts'
import { shareOf } from '../../semantic/drives.ts'
import { type GroupView, groupViews } from '../../semantic/group-view.ts'
import { groupsByRail, partNames } from '../../semantic/part-names.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import { partRatioStep, partRatios, partVoltages } from '../../semantic/profile-values.ts'
import { settingsOf } from '../../semantic/settings.ts'
import { listed } from '../../wording/counts.ts'
import { plain } from '../../wording/figures.ts'
import { ofGroupText } from '../../wording/places.ts'
import { volts, withUnit } from './numbers.ts'
import type { SheetEntry, SheetFact } from './types.ts'

/** Supply rails that several groups of cores are on. */
function sharedRails(part: Definition | undefined): readonly (readonly [rail: string, groups: readonly string[]])[] {
  return [...groupsByRail(part)].filter(([, groups]) => groups.length > 1)
}

export function sheetFacts(profile: ResolvedProfile): readonly SheetFact[] {
  const facts: SheetFact[] = []
  const add = (name: string, text: string): void => {
    facts.push({ name, text })
  }
  const board = profile.board && boardConstants(profile.board).value
  if (board !== undefined) {
    const { coreVoltageStepV, loadLineOhm, supplyW, otherPowerW } = board
    const { rails } = partNames(profile.part)
    const whose = (rail: string | undefined): string => (rail === undefined ? '' : ` on rail ${rail}`)
    for (const rail of rails.length < 2 ? [undefined] : rails) {
      const own = rail === undefined ? undefined : board.rails?.[rail]
      const stepV = own?.coreVoltageStepV ?? coreVoltageStepV
      const ohm = own?.loadLineOhm ?? loadLineOhm
      add(`grid of core voltages${whose(rail)}`, stepV === undefined ? 'none stated' : `${plain(stepV * 1000)} mV`)
      add(`load line${whose(rail)} used in the predictions`, `${plain(ohm * 1000)} mΩ`)
    }
    add(
      'supply',
      supplyW === undefined ? 'not stated' : `${plain(supplyW)} W, ${plain(otherPowerW)} W of it for the rest`,
    )
  }
  const { part, cooler } = profile
  const step = partRatioStep(profile)
  const shared = partVoltages(profile)
  const ownVoltages = (view: GroupView): typeof shared => {
    const own = partVoltages(view)
    return own?.lowV === shared?.lowV && own?.highV === shared?.highV ? undefined : own
  }
  if (shared !== undefined) add('core voltages of the part', `${volts(shared.lowV)} to ${volts(shared.highV)}`)
  for (const view of groupViews(profile)) {
    const whose = view.group ?? 'the part'
    const range = ownVoltages(view)
    if (range !== undefined) add(`core voltages of ${whose}`, `${volts(range.lowV)} to ${volts(range.highV)}`)
    const ratios = partRatios(view)
    if (ratios === undefined) continue
    const steps = step === undefined ? '' : ` in steps of ${withUnit(step, 'x')}`
    add(`ratios of ${whose}`, `${withUnit(ratios.low, 'x')} to ${withUnit(ratios.high, 'x')}${steps}`)
  }
  for (const [rail, groups] of sharedRails(part)) {
    add(
      `rail ${rail}, shared by ${listed(groups)}`,
      'it gives the highest voltage that one of its active groups asks for, a fixed one always',
    )
  }
  const dieLimit = part && entry(part.match, 'die-limit')
  const dieLimitC = dieLimit && quantity(dieLimit)?.value
  if (dieLimitC !== undefined) add('die limit of the part', withUnit(dieLimitC, '°C'))
  const cooling = cooler && coolerConstants(cooler).value
  const plate = cooling && drivenPlate(cooling)
  const isSmooth = shareOf(settingsOf(profile).profile.drive) === 1
  if (plate !== undefined) {
    add(
      'drive current of the plate',
      `${withUnit(plate.driveCurrentA, 'A')}${isSmooth ? ', smooth direct current' : ' while it flows'}`,
    )
  }
  return facts
}

export interface ReachedRatio {
  readonly load: string
  /** On a part that has several kinds of cores. */
  readonly group: string | undefined
  readonly ratio: number
}

/** Where limits take a load below every ratio that a voltage is entered for: the sheet is silent about what holds there. */
export function reachedFacts(entries: readonly SheetEntry[], reached: readonly ReachedRatio[]): readonly SheetFact[] {
  const voltages = entries.filter(({ setting }) => setting === 'core-voltage')
  return [...new Set(voltages.map(({ group }) => group))].flatMap(group => {
    // One voltage for all ratios has no ratio in its row.
    const ratios = voltages.flatMap(own =>
      own.group === group ? (/(?:^| )(\d[\d.]*)x$/.exec(own.row)?.[1] ?? []) : [],
    )
    const lowest = Math.min(...ratios.map(Number))
    const below = reached.filter(own => own.group === group && own.ratio < lowest - 1e-6)
    if (below.length === 0 || ratios.length === 0) return []
    const loads = below.map(({ load, ratio }) => `${load} to ${withUnit(ratio, 'x')}`).join(', ')
    const text = `limits take ${loads}; the voltage there is the board's own straight line: check it before you trust it`
    return { name: `below ${withUnit(lowest, 'x')}, the lowest ratio${ofGroupText(group)} with a voltage here`, text }
  })
}

/** What the other profile rests on instead: its values belong to another bench. */
export function differentRests(
  profile: ResolvedProfile,
  from: { readonly label: string; readonly profile: ResolvedProfile } | undefined,
): readonly SheetFact[] {
  if (from === undefined) return []
  const others = (['part', 'cooler', 'room', 'board'] as const).flatMap(kind => {
    const [own, other] = [profile[kind]?.name, from.profile[kind]?.name]
    return own === other ? [] : `${kind} ${other ?? 'none'}`
  })
  return others.length === 0 ? [] : [{ name: `${from.label} is for another bench`, text: others.join(', ') }]
}

/** The settings whose caution in the vocabulary belongs on a sheet that enters them. */
const cautioned: readonly (readonly [setting: string, place: Place, word: string])[] = [
  ['core-voltage', 'profile', 'voltage'],
  ['drive', 'profile', 'drive'],
]

const always =
  'The values are yours. The limits of the makers of part, board, cooler and supply come first, then local codes and licensed practice: where they allow less, enter less.'
const wayBack =
  'Before you begin, write down the current values, and know how to reset your board if it does not start.'

/** Brief cautions for what is on the sheet. */
export function sheetCautions(profile: ResolvedProfile, entries: readonly SheetEntry[]): readonly string[] {
  const kind = profile.cooler?.coolerKind && coolerKinds[profile.cooler.coolerKind]
  const own = cautioned.flatMap(([setting, place, word]) => {
    const caution = findWord(place, word)?.caution
    const applies = entries.some(entry => entry.setting === setting) || (setting === 'drive' && kind?.isDriven === true)
    return applies && caution !== undefined ? [caution] : []
  })
  return [always, wayBack, ...own, ...(kind?.caution === undefined ? [] : [kind.caution])]
}
