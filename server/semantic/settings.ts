/** A resolved profile's own settings as plain numbers for the model. */

import type { BandRow, CoreVoltage, Drive, FanPoint, Limits, Profile, StepRow } from '../model/types.ts'
import { coolerKinds } from './coolers/index.ts'
import { counts, defaultOf, quantity } from './definitions.ts'
import { driveIn } from './drives.ts'
import { type ResolvedProfile, tableRows } from './profile.ts'

const nan = Number.NaN

function stepRows(profile: ResolvedProfile): StepRow[] {
  return tableRows(profile, 'steps').map(({ match }) => ({
    fromCores: counts(match, 'cores')?.from ?? nan,
    toCores: counts(match, 'cores')?.to ?? nan,
    ratio: quantity(match, 'ratio')?.value ?? nan,
  }))
}

function bandRows(profile: ResolvedProfile): BandRow[] {
  return tableRows(profile, 'bands').map(({ match }) => ({
    fromCores: counts(match, 'cores')?.from ?? nan,
    toCores: counts(match, 'cores')?.to ?? nan,
    aboveC: quantity(match, 'above')?.value ?? nan,
    drop: quantity(match, 'drop')?.value ?? nan,
  }))
}

function coreVoltage(profile: ResolvedProfile, assumed: string[]): CoreVoltage {
  const core = profile.inner('voltage', 'core')
  if (core === undefined) assumed.push('core needs')
  const fixed = core && quantity(core.match, 'fixed')
  if (fixed !== undefined) return { kind: 'fixed', voltageV: fixed.value }
  const set = profile.setRows().map(({ match }) => ({
    ratio: quantity(match, 'ratio')?.value ?? nan,
    voltageV: quantity(match, 'voltage')?.value ?? nan,
  }))
  set.sort((a, b) => a.ratio - b.ratio)
  return { kind: 'needs', offsetV: (core && quantity(core.match, 'offset')?.value) ?? 0, set }
}

/** The averaging time of `sustained-power` where the profile does not state one. */
export const defaultSustainedOverS = 30

function limits(profile: ResolvedProfile, assumed: string[]): Limits {
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
  return Object.fromEntries(Object.entries(given).filter(([, number]) => number !== undefined))
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
  if (points.length === 0 && (kind === undefined || coolerKinds[kind].hasFan)) assumed.push('fan 100 %')
  return points.sort((a, b) => a.coolantC - b.coolantC)
}

export interface Settings {
  readonly profile: Profile
  readonly assumed: readonly string[]
}

/** The settings of a profile; defaults that took a value's place are named in `assumed`. */
export function settingsOf(profile: ResolvedProfile): Settings {
  const assumed: string[] = []
  const bands = profile.key('bands')
  const vector = profile.key('vector')
  if (vector === undefined) assumed.push('vector -0x')
  const settings: Profile = {
    steps: stepRows(profile),
    bands: bandRows(profile),
    returnK: (bands && quantity(bands.match, 'return')?.value) ?? 0,
    vectorDrop: (vector && quantity(vector.match)?.value) ?? 0,
    voltage: coreVoltage(profile, assumed),
    limits: limits(profile, assumed),
    drive: drive(profile, assumed),
    fan: fan(profile, assumed),
  }
  return { profile: settings, assumed }
}
