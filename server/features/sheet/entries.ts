/** Every setting of a profile as the values that are entered for it, in the language's order. */

import { limitWords, mostInherited } from '../../../grammar/vocabulary/index.ts'
import { groupSettings, partOfGroup } from '../../model/index.ts'
import type { Board, GroupSettings } from '../../model/types.ts'
import { boardConstants, partConstants } from '../../semantic/constants.ts'
import { coolerKinds } from '../../semantic/coolers/index.ts'
import { quantity } from '../../semantic/definitions.ts'
import { driveText } from '../../semantic/drives.ts'
import { type GroupView, groupViews, isForEvery } from '../../semantic/group-view.ts'
import { limitUnit } from '../../semantic/limiters.ts'
import { groupsByRail, partNames } from '../../semantic/part-names.ts'
import { type ResolvedProfile, tableRows } from '../../semantic/profile.ts'
import { bandsRows, partCores, partRatioStep, partRatios, stepsRows } from '../../semantic/profile-values.ts'
import { defaultSustainedOverS, settingsOf } from '../../semantic/settings.ts'
import { coresText } from '../../wording/counts.ts'

import { alsoRows, givenAgain, linesInError, written } from './left-out.ts'
import { dropOnGrid, numberEntry, ratioOnGrid, withUnit, wordEntry } from './numbers.ts'
import type { LeftOut, SheetEntry } from './types.ts'
import { fixedVoltage, voltagePerRatio } from './voltage.ts'

export interface ProfileEntries {
  readonly entries: readonly SheetEntry[]
  readonly leftOut: readonly LeftOut[]
  readonly incomplete: readonly string[]
}

function addOnce(list: string[], text: string): void {
  if (!list.includes(text)) list.push(text)
}

/** The place of the group in the part's order; 0 where all cores are alike. */
function groupIndex({ part, group }: GroupView): number {
  return group === undefined ? 0 : partNames(part).groups.indexOf(group)
}

/** The supply rail of the group; undefined where all cores are alike. */
function railOf({ part, group }: GroupView): string | undefined {
  return [...groupsByRail(part)].find(([, groups]) => group !== undefined && groups.includes(group))?.[0]
}

function settingsOfGroup(view: GroupView): GroupSettings {
  return groupSettings(settingsOf(view).profile, groupIndex(view))
}

interface Collecting {
  readonly profile: ResolvedProfile
  readonly entries: SheetEntry[]
  readonly leftOut: LeftOut[]
  readonly incomplete: string[]
  /** The part's ratio step; undefined where it is not known, and then nothing is rounded to it. */
  readonly step: number | undefined
}

function outsideNotes(profile: GroupView, ratio: number): readonly string[] {
  const range = partRatios(profile)
  if (range === undefined || (ratio >= range.low - 1e-9 && ratio <= range.high + 1e-9)) return []
  return [
    `outside ${profile.group ?? 'the part'}'s ${withUnit(range.low, 'x')} to ${withUnit(range.high, 'x')}: do not enter it`,
  ]
}

/** One entry for each core count: that is how firmware asks for them, and how a slip shows. */
function collectSteps({ entries, leftOut, step }: Collecting, profile: GroupView): void {
  const all = stepsRows(profile)
  const most = partCores(profile) ?? Math.max(0, ...all.map(row => row.to))
  const taken = new Set<number>()
  const byCount = new Map<number, SheetEntry>()
  for (const { from, to, ratio, sourced } of all) {
    const rowText = written(sourced.definition.chunk, sourced.match)
    const covered: number[] = []
    for (let count = from; count <= Math.min(to, most); count++) {
      if (taken.has(count)) {
        covered.push(count)
        continue
      }
      taken.add(count)
      const enter = step === undefined ? ratio : ratioOnGrid(ratio, step)
      const notes = outsideNotes(profile, enter)
      byCount.set(
        count,
        numberEntry({ setting: 'steps', row: coresText(count), asked: ratio, enter, unit: 'x', notes }),
      )
    }
    const first = covered[0]
    if (first !== undefined) {
      const which = coresText(first, covered.at(-1))
      leftOut.push({ text: rowText, why: `for ${which} an earlier row counts` })
    }
    // Rows of a table for every group may be for a larger one.
    if (to > most && !isForEvery(profile, profile.key('steps')))
      leftOut.push({
        text: rowText,
        why: `${profile.group ?? 'the part'} has ${coresText(most)}, so no more are entered`,
      })
  }
  entries.push(...[...byCount].sort(([a], [b]) => a - b).map(([, entry]) => entry))
}

function collectBands({ entries, leftOut, step }: Collecting, profile: GroupView): void {
  const deepest = new Map<string, { readonly drop: number; readonly entry: SheetEntry }>()
  for (const { from, to, aboveC, drop, sourced } of bandsRows(profile)) {
    const row = `${coresText(from, to)} above ${withUnit(aboveC, '°C')}`
    const enter = step === undefined ? drop : dropOnGrid(drop, step)
    const before = deepest.get(row)
    const why = 'another row for the same cores and temperature counts'
    if (before !== undefined && before.drop >= drop) {
      leftOut.push({ text: written(sourced.definition.chunk, sourced.match), why })
      continue
    }
    if (before !== undefined) leftOut.push({ text: `${row} ${before.entry.asked}`, why })
    deepest.set(row, { drop, entry: givenBack('bands', row, drop, enter) })
  }
  entries.push(...[...deepest.values()].map(({ entry }) => entry))
  const table = profile.key('bands')
  const back = table && quantity(table.match, 'return')
  if (back !== undefined) entries.push(numberEntry({ setting: 'bands', row: 'return', asked: back.value, unit: 'K' }))
}

/** Ratio that is given back, with its sign; the rounding speaks of how much is given back. */
function givenBack(setting: string, row: string, drop: number, enter: number): SheetEntry {
  const made = numberEntry({ setting, row, asked: drop, enter, unit: 'x' })
  return {
    ...made,
    asked: `-${made.asked}`,
    enter: `-${made.enter}`,
    askedValue: drop === 0 ? 0 : -drop,
    enterValue: enter === 0 ? 0 : -enter,
    rounding: made.rounding?.replace(/^rounded (up|down) (.*)$/, (_, way: string, by: string) =>
      way === 'up' ? `rounded ${by} more given back` : `rounded ${by} less given back`,
    ),
  }
}

function collectVector({ entries, step }: Collecting, profile: GroupView): void {
  const found = profile.key('vector')
  const drop = found && quantity(found.match)?.value
  if (drop !== undefined)
    entries.push(givenBack('vector', '', drop, step === undefined ? drop : dropOnGrid(drop, step)))
}

/** The profile's ratios as they are entered, since those are the ratios that need a voltage. */
function onGrid(profile: GroupSettings, step: number | undefined): GroupSettings {
  if (step === undefined) return profile
  return {
    ...profile,
    steps: profile.steps.map(row => ({ ...row, ratio: ratioOnGrid(row.ratio, step) })),
    bands: profile.bands.map(row => ({ ...row, drop: dropOnGrid(row.drop, step) })),
    vectorDrop: dropOnGrid(profile.vectorDrop, step),
  }
}

function collectVoltage(collecting: Collecting, profile: GroupView): void {
  const { entries, leftOut, incomplete } = collecting
  const stated = profile.board && boardConstants(profile.board).value
  const rail = railOf(profile)
  // The step of the group's own rail, where the board states one.
  const board = stated === undefined || rail === undefined ? stated : { ...stated, ...stated.rails?.[rail] }
  if (profile.board !== undefined && board === undefined) {
    addOnce(incomplete, `board ${profile.board.name} does not read, so no voltage is rounded to its grid`)
  }
  const { voltage } = settingsOfGroup(profile)
  switch (voltage.kind) {
    case 'fixed':
      entries.push(fixedVoltage(profile, board, voltage.voltageV))
      for (const { definition, match } of profile.setRows()) {
        leftOut.push({ text: written(definition.chunk, match), why: 'one fixed voltage is used for all ratios' })
      }
      return
    case 'needs':
      collectByNeeds(collecting, profile, board)
  }
}

function collectByNeeds(
  { entries, leftOut, incomplete, step }: Collecting,
  profile: GroupView,
  board: Board | undefined,
): void {
  const setRows = profile.setRows()
  const seen: number[] = []
  for (const { definition, match } of setRows) {
    const ratio = quantity(match, 'ratio')?.value ?? Number.NaN
    if (seen.some(other => Math.abs(other - ratio) <= 1e-9)) {
      leftOut.push({ text: written(definition.chunk, match), why: 'a row above has the same ratio' })
    } else seen.push(ratio)
  }
  const part = profile.part && partConstants(profile.part)
  if (part?.value !== undefined) {
    const group = partOfGroup(part.value, groupIndex(profile))
    entries.push(...voltagePerRatio(profile, group, onGrid(settingsOfGroup(profile), step), board))
    return
  }
  const lacks =
    part === undefined
      ? 'the part it names does not exist'
      : `the part lacks ${[...part.missing, ...part.broken].join(', ')}`
  const core = profile.inner('voltage', 'core')
  const why = `${lacks}, so no voltage can be worked out`
  addOnce(incomplete, `core voltage: ${why}`)
  if (core !== undefined) leftOut.push({ text: written(core.definition.chunk, core.match), why })
  for (const { definition, match } of setRows) leftOut.push({ text: written(definition.chunk, match), why })
}

/** The current of each supply rail by itself, where the part has several: its own, or the one for all of them. */
function collectRailCurrents({ profile, entries }: Collecting): void {
  for (const rail of partNames(profile.part).rails) {
    const found = profile.inner('limits', 'current', rail) ?? profile.inner('limits', 'current')
    const asked = found && quantity(found.match)?.value
    if (asked !== undefined)
      entries.push({ ...numberEntry({ setting: 'current', row: rail, asked, unit: limitUnit('current') }), rail })
  }
}

function collectLimits(collecting: Collecting): void {
  const { profile, entries } = collecting
  const byRail = partNames(profile.part).rails.length > 1
  for (const word of limitWords) {
    if (word === 'current' && byRail) {
      collectRailCurrents(collecting)
      continue
    }
    const found = profile.inner('limits', word)
    const value = found && quantity(found.match)
    if (found === undefined || value === undefined) continue
    const unit = limitUnit(word)
    const over = word === 'sustained-power' ? quantity(found.match, 'over') : undefined
    const unstated =
      word === 'sustained-power' && over === undefined
        ? [`the profile states no time; the predictions average over ${defaultSustainedOverS} s`]
        : []
    entries.push(numberEntry({ setting: word, asked: value.value, unit, notes: unstated }))
    if (over !== undefined)
      entries.push(numberEntry({ setting: word, row: 'averaged over', asked: over.value, unit: 's' }))
  }
}

function collectDrive({ profile, entries, leftOut }: Collecting): void {
  const found = profile.key('drive')
  if (found === undefined) return
  const kind = profile.cooler?.coolerKind
  const words = driveText(settingsOf(profile).profile.drive)
  if (kind !== undefined && !coolerKinds[kind].isDriven) {
    leftOut.push({
      text: `drive ${words}`,
      why: 'the cooler is not a thermoelectric plate, so there is nothing to drive',
    })
  } else entries.push(wordEntry('drive', '', words))
}

function collectFan({ profile, entries, leftOut }: Collecting): void {
  const kind = profile.cooler?.coolerKind
  const isIdle = kind !== undefined && coolerKinds[kind].fan !== 'cools'
  const seen = new Set<number>()
  for (const { match, definition } of tableRows(profile, 'fan')) {
    const coolantC = quantity(match, 'coolant')?.value
    const dutyPct = quantity(match, 'duty')?.value
    if (coolantC === undefined || dutyPct === undefined) continue
    if (seen.has(coolantC)) {
      leftOut.push({ text: written(definition.chunk, match), why: 'a row above has the same temperature' })
      continue
    }
    seen.add(coolantC)
    const notes = isIdle ? [`on a cooler of kind ${kind} the fan does not set the coolant temperature`] : []
    entries.push(
      numberEntry({ setting: 'fan', row: `at ${withUnit(coolantC, '°C')}`, asked: dutyPct, unit: '%', notes }),
    )
  }
}

function collectAlso({ profile, entries, leftOut }: Collecting): void {
  const { settings, leftOut: repeated } = alsoRows(profile)
  for (const [name, value] of settings) entries.push(wordEntry('also', name, value))
  leftOut.push(...repeated)
}

/** Collects what one group of cores is entered with; its rows begin with its name. */
function collectOf(into: Collecting, view: GroupView, collect: (into: Collecting, view: GroupView) => void): void {
  const { group } = view
  const own: Collecting = { ...into, entries: [], leftOut: [] }
  collect(own, view)
  const rail = railOf(view)
  const named = (entry: SheetEntry): SheetEntry => {
    if (group === undefined) return entry
    const ofRail = entry.setting === 'core-voltage' && rail !== undefined ? { rail } : {}
    return { ...entry, group, ...ofRail, row: entry.row === '' ? group : `${group} ${entry.row}` }
  }
  into.entries.push(...own.entries.map(named))
  for (const one of own.leftOut) {
    if (!into.leftOut.some(({ text, why }) => text === one.text && why === one.why)) into.leftOut.push(one)
  }
}

/** The values of a profile, each once, and what of it is not entered. */
export function profileEntries(profile: ResolvedProfile): ProfileEntries {
  const into: Collecting = { profile, entries: [], leftOut: [], incomplete: [], step: partRatioStep(profile) }
  const views = groupViews(profile)
  for (const collect of [collectSteps, collectBands, collectVector, collectVoltage]) {
    for (const view of views) collectOf(into, view, collect)
  }
  collectLimits(into)
  collectDrive(into)
  collectFan(into)
  collectAlso(into)
  const leftOut = [...into.leftOut, ...givenAgain(profile), ...linesInError(profile)]
  if (profile.broken === 'unknown') into.incomplete.push('the profile it starts from does not exist')
  if (profile.broken === 'cycle') into.incomplete.push('it starts from itself')
  if (profile.broken === 'deep') into.incomplete.push(`it starts from more than ${mostInherited} others in a row`)
  return { entries: into.entries, leftOut, incomplete: into.incomplete }
}
