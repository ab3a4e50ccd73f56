/** A resolved profile's own settings as plain numbers for the model. */

import type { BandRow, CoreVoltage, Drive, FanPoint, GroupSettings, Limits, Profile, StepRow } from '../model/types.ts'
import { coolerKinds } from './coolers/index.ts'
import { counts, defaultOf, nameAfter, quantity } from './definitions.ts'
import { driveIn } from './drives.ts'
import { type PartNames, partNames } from './part-names.ts'
import { type ResolvedProfile, tableRows } from './profile.ts'

const nan = Number.NaN

function stepRows(profile: ResolvedProfile, group: string | undefined): StepRow[] {
  return tableRows(profile, 'steps', group).map(({ match }) => ({
    fromCores: counts(match, 'cores')?.from ?? nan,
    toCores: counts(match, 'cores')?.to ?? nan,
    ratio: quantity(match, 'ratio')?.value ?? nan,
  }))
}

function bandRows(profile: ResolvedProfile, group: string | undefined): BandRow[] {
  return tableRows(profile, 'bands', group).map(({ match }) => ({
    fromCores: counts(match, 'cores')?.from ?? nan,
    toCores: counts(match, 'cores')?.to ?? nan,
    aboveC: quantity(match, 'above')?.value ?? nan,
    drop: quantity(match, 'drop')?.value ?? nan,
  }))
}

function coreVoltage(profile: ResolvedProfile, group: string | undefined, assumed: string[]): CoreVoltage {
  const core = profile.inner('voltage', 'core', group)
  if (core === undefined) assumed.push(forGroup('core', group, 'needs'))
  const fixed = core && quantity(core.match, 'fixed')
  if (fixed !== undefined) return { kind: 'fixed', voltageV: fixed.value }
  const set = profile.setRows(group).map(({ match }) => ({
    ratio: quantity(match, 'ratio')?.value ?? nan,
    voltageV: quantity(match, 'voltage')?.value ?? nan,
  }))
  set.sort((a, b) => a.ratio - b.ratio)
  return { kind: 'needs', offsetV: (core && quantity(core.match, 'offset')?.value) ?? 0, set }
}

/** The averaging time of `sustained-power` where the profile does not state one. */
export const defaultSustainedOverS = 30

/** A default in the language's spelling, for the group that takes it. */
function forGroup(word: string, group: string | undefined, value: string): string {
  return group === undefined ? `${word} ${value}` : `${word} ${group} ${value}`
}

function limits(profile: ResolvedProfile, rails: readonly string[], assumed: string[]): Limits {
  const value = (word: string): number | undefined => {
    const found = profile.inner('limits', word)
    return found && quantity(found.match)?.value
  }
  const sustained = profile.inner('limits', 'sustained-power')
  const over = sustained && quantity(sustained.match, 'over')?.value
  if (sustained !== undefined && over === undefined) assumed.push(`sustained-power over ${defaultSustainedOverS} s`)
  const given = {
    dieC: value('die'),
    sustainedPowerW: value('sustained-power'),
    sustainedOverS: sustained === undefined ? undefined : (over ?? defaultSustainedOverS),
    burstPowerW: value('burst-power'),
    currentA: value('current'),
  }
  const ofRails = rails.flatMap(rail => {
    const found = profile.inner('limits', 'current', rail)
    const own = found !== undefined && nameAfter(found.match) === rail ? quantity(found.match)?.value : undefined
    return own === undefined ? [] : [[rail, own] as const]
  })
  return {
    ...Object.fromEntries(Object.entries(given).filter(([, number]) => number !== undefined)),
    ...(ofRails.length === 0 ? {} : { railCurrentA: Object.fromEntries(ofRails) }),
  }
}

function drive(profile: ResolvedProfile, assumed: string[]): Drive {
  const found = profile.key('drive')
  const stated = found && driveIn(found.match)
  if (stated !== undefined) return stated
  const kind = profile.cooler?.coolerKind
  if (kind !== undefined && coolerKinds[kind].isDriven) assumed.push(`drive ${defaultOf('profile', 'drive')?.text}`)
  return { kind: 'full' }
}

function fan(profile: ResolvedProfile, assumed: string[]): FanPoint[] {
  const points = tableRows(profile, 'fan').map(({ match }) => ({
    coolantC: quantity(match, 'coolant')?.value ?? nan,
    dutyPct: quantity(match, 'duty')?.value ?? nan,
  }))
  const kind = profile.cooler?.coolerKind
  if (points.length === 0 && (kind === undefined || coolerKinds[kind].fan === 'cools')) assumed.push('fan 100 %')
  return points.sort((a, b) => a.coolantC - b.coolantC)
}

export interface Settings {
  readonly profile: Profile
  readonly assumed: readonly string[]
}

/** What the profile sets for one group; without one, for every group. */
function groupSettings(profile: ResolvedProfile, group: string | undefined, assumed: string[]): GroupSettings {
  const bands = profile.key('bands', group)
  const vector = profile.key('vector', group)
  if (vector === undefined) assumed.push(forGroup('vector', group, '-0x'))
  return {
    steps: stepRows(profile, group),
    bands: bandRows(profile, group),
    returnK: (bands && quantity(bands.match, 'return')?.value) ?? 0,
    vectorDrop: (vector && quantity(vector.match)?.value) ?? 0,
    voltage: coreVoltage(profile, group, assumed),
  }
}

/**
 * The settings of a profile; defaults that took a value's place are named in `assumed`.
 * @param groups names of the part's groups in its order, and of their supply rails; none where its cores are alike
 */
export function settingsOf(profile: ResolvedProfile, { groups, rails }: PartNames = partNames(profile.part)): Settings {
  const assumed: string[] = []
  const [first = groupSettings(profile, undefined, assumed), ...others] = groups.map(name =>
    groupSettings(profile, name, assumed),
  )
  const settings: Profile = {
    ...first,
    limits: limits(profile, rails, assumed),
    drive: drive(profile, assumed),
    fan: fan(profile, assumed),
    ...(groups.length === 0 ? {} : { groups: [first, ...others] }),
  }
  return { profile: settings, assumed }
}
