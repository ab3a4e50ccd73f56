/** Voltages, limits and the drive of a profile. */

import { setWhole, stateIn } from '../../../checks/support/physics-edits.ts'
import { coreNeedsText } from '../../../checks/support/physics-voltage.ts'
import { settingPlace } from '../../../checks/support/place.ts'
import type { FixEdit } from '../../../checks/types.ts'
import type { Bench, Drive, Limits } from '../../../model/index.ts'
import { drivenPlate } from '../../../semantic/coolers/index.ts'
import { entry, nameAfter, quantity } from '../../../semantic/definitions.ts'
import { driveText } from '../../../semantic/drives.ts'
import type { Evaluation } from '../../../semantic/evaluate.ts'
import { partNames } from '../../../semantic/part-names.ts'
import type { ResolvedProfile, Sourced } from '../../../semantic/profile.ts'
import { railVoltages } from '../../../semantic/rail-voltages.ts'
import { statedText } from '../../../wording/figures.ts'
import type { FoundLever, ReachKind } from '../types.ts'
import { forGroups, type Grain, inGroups, inSettings, outward, restate, wordOf, written } from './moves.ts'

const list = (edit: FixEdit | undefined): readonly FixEdit[] => (edit === undefined ? [] : [edit])

/** Of each group the offset or the fixed voltage, and each `set` row. */
export function voltageLevers({ profile, input }: Evaluation): readonly FoundLever[] {
  const { bench } = input
  if (bench === undefined) return []
  const grain = { one: 0.01, grain: bench.board.coreVoltageStepV ?? 0.005 }
  const within = (groups: readonly number[]): Grain => ({
    ...grain,
    high: Math.min(...groups.map(group => railVoltages(profile, bench.part, group)?.highV ?? Number.POSITIVE_INFINITY)),
  })
  return [
    ...forGroups(profile, name => profile.inner('voltage', 'core', name)).flatMap(({ sourced, groups, stated }) => {
      const { voltage } = bench.profile.groups?.[groups[0] ?? 0] ?? bench.profile
      if (voltage.kind === 'fixed') return fixedLevers(profile, sourced, groups, stated, within(groups))
      const place = settingPlace(profile, sourced ?? profile.key('voltage'))
      const moves = outward(voltage.offsetV, grain, to => ({
        to,
        edits: list(setWhole(profile, sourced, 'voltage', coreNeedsText(to).replace('core', wordOf('core', stated)))),
        numbers: inGroups(groups, one =>
          one.voltage.kind === 'fixed' ? {} : { voltage: { ...one.voltage, offsetV: to } },
        ),
      }))
      const name = `voltage ${wordOf('core', stated)} needs`
      const from = voltage.offsetV
      return [{ kind: 'voltage-offset' as const, name, place, from, unit: 'V', isBench: false, moves }]
    }),
    ...forGroups(profile, name => profile.setRows(name)[0]).flatMap(({ groups, name, stated }) =>
      setLevers(profile, profile.setRows(name), groups, stated, within(groups)),
    ),
  ]
}

function fixedLevers(
  profile: ResolvedProfile,
  core: Sourced | undefined,
  groups: readonly number[],
  stated: string | undefined,
  grain: Grain,
): FoundLever[] {
  const fixed = core && quantity(core.match, 'fixed')
  if (core === undefined || fixed === undefined) return []
  const moves = outward(fixed.value, grain, to => {
    const { text, value } = written(fixed, to)
    return {
      to,
      edits: restate(profile, core, 'voltage', [{ start: fixed.start, end: fixed.end, text }]),
      numbers: inGroups(groups, () => ({ voltage: { kind: 'fixed', voltageV: value } })),
    }
  })
  const name = `voltage ${wordOf('core', stated)} fixed`
  const place = settingPlace(profile, core)
  return [{ kind: 'fixed-voltage', name, place, from: fixed.value, unit: 'V', isBench: false, moves }]
}

function setLevers(
  profile: ResolvedProfile,
  rows: readonly Sourced[],
  groups: readonly number[],
  stated: string | undefined,
  grain: Grain,
): FoundLever[] {
  return rows.flatMap((row): FoundLever[] => {
    const [ratio, volts] = [quantity(row.match, 'ratio'), quantity(row.match, 'voltage')]
    if (ratio === undefined || volts === undefined) return []
    const isOwn = row.definition === profile.definition
    /** Own `set` rows take the place of all inherited ones, so the others come along. */
    const all = (text: string): string =>
      rows
        .map(one => {
          const { start, end } = one.match.statement
          const whole = one.definition.chunk.text
          return one === row
            ? whole.slice(start, volts.start) + text + whole.slice(volts.end, end)
            : whole.slice(start, end)
        })
        .join('\n')
    const moves = outward(volts.value, grain, to => {
      const { text, value } = written(volts, to)
      return {
        to,
        edits: isOwn
          ? restate(profile, row, 'voltage', [{ start: volts.start, end: volts.end, text }])
          : list(stateIn(profile.definition, 'voltage', all(text))),
        numbers: inGroups(groups, ({ voltage }) => {
          if (voltage.kind === 'fixed') return {}
          const set = voltage.set.map(one => (one.ratio === ratio.value ? { ...one, voltageV: value } : one))
          return { voltage: { ...voltage, set } }
        }),
      }
    })
    const name = `voltage ${wordOf('set', stated)} ${statedText(ratio.value, 'x')}`
    const place = settingPlace(profile, row)
    return [{ kind: 'set', name, place, from: volts.value, unit: 'V', isBench: false, moves }]
  })
}

interface LimitKind {
  readonly word: string
  readonly kind: ReachKind
  readonly one: number
  readonly unit: string
  readonly change: (value: number, limits: Limits) => Partial<Limits>
}

const limitKinds: readonly LimitKind[] = [
  {
    word: 'sustained-power',
    kind: 'sustained-power',
    one: 10,
    unit: 'W',
    change: value => ({ sustainedPowerW: value }),
  },
  { word: 'burst-power', kind: 'burst-power', one: 10, unit: 'W', change: value => ({ burstPowerW: value }) },
  { word: 'current', kind: 'current', one: 10, unit: 'A', change: value => ({ currentA: value }) },
  { word: 'die', kind: 'die', one: 2, unit: '°C', change: value => ({ dieC: value }) },
]

const currentOf = (rail: string): LimitKind => ({
  word: `current ${rail}`,
  kind: 'current',
  one: 10,
  unit: 'A',
  change: (value, { railCurrentA }) => ({ railCurrentA: { ...railCurrentA, [rail]: value } }),
})

/** The limits that the profile sets, those of supply rails among them, and the die limit, which is the part's where it sets none. */
export function limitLevers({ profile, input }: Evaluation): readonly FoundLever[] {
  const { bench } = input
  if (bench === undefined) return []
  const { rails } = partNames(profile.part)
  const ofRails = rails.flatMap(rail => {
    const sourced = profile.inner('limits', 'current', rail)
    return sourced !== undefined && nameAfter(sourced.match) === rail
      ? limitLever(profile, bench, currentOf(rail), sourced)
      : []
  })
  return [
    ...limitKinds.flatMap(kind => limitLever(profile, bench, kind, profile.inner('limits', kind.word))),
    ...ofRails,
  ]
}

function limitLever(
  profile: ResolvedProfile,
  bench: Bench,
  { word, kind, one, unit, change }: LimitKind,
  sourced: Sourced | undefined,
): readonly FoundLever[] {
  const stated = sourced && quantity(sourced.match)
  const from = stated?.value ?? (kind === 'die' ? bench.part.dieLimitC : undefined)
  if (from === undefined) return []
  const grain = { one, grain: 1, ...(kind === 'die' ? { high: bench.part.dieLimitC } : { low: 1 }) }
  const moves = outward(from, grain, to => {
    const found = stated === undefined ? { text: statedText(to, unit), value: to } : written(stated, to)
    return {
      to,
      edits:
        sourced === undefined || stated === undefined
          ? list(setWhole(profile, undefined, 'limits', `${word} ${found.text}`))
          : restate(profile, sourced, 'limits', [{ start: stated.start, end: stated.end, text: found.text }]),
      numbers: inSettings(({ limits }) => ({ limits: { ...limits, ...change(found.value, limits) } })),
    }
  })
  const place = settingPlace(profile, sourced ?? profile.key('limits'))
  return [{ kind, name: `limits ${word}`, place, from, unit, isBench: false, moves }]
}

/** What a drive can be set to, where it is a number with a unit. */
interface DriveValue {
  readonly kind: ReachKind
  readonly from: number
  readonly unit: string
  readonly grain: Grain
  readonly at: (value: number) => Drive
}

function driveValue({ profile, input }: Evaluation): DriveValue | undefined {
  const { bench } = input
  const plate = bench && drivenPlate(bench.cooler)
  if (bench === undefined || plate === undefined) return undefined
  const { drive } = bench.profile
  const kelvin = { one: 1, grain: 0.5 }
  const tenths = { one: 1, grain: 0.1, low: 0 }
  switch (drive.kind) {
    case 'dew': {
      const at = (marginK: number): Drive => ({ kind: 'dew', marginK })
      return { kind: 'dew-margin', from: drive.marginK, unit: 'K', grain: { ...kelvin, low: 0 }, at }
    }
    case 'hold': {
      const at = (temperatureC: number): Drive => ({ kind: 'hold', temperatureC })
      return {
        kind: 'held-temperature',
        from: drive.temperatureC,
        unit: '°C',
        grain: { ...kelvin, low: -60, high: 100 },
        at,
      }
    }
    case 'fixed': {
      const module = profile.cooler && entry(profile.cooler.match, 'module')
      const current = module && entry(module, 'current')
      // More than `drive-current` never flows, and the module's own current comes before it.
      const high = Math.min((current && quantity(current)?.value) ?? Number.POSITIVE_INFINITY, plate.driveCurrentA)
      const at = (currentA: number): Drive => ({ kind: 'fixed', currentA })
      return { kind: 'drive-current', from: drive.currentA, unit: 'A', grain: { ...tenths, high }, at }
    }
    case 'supply': {
      const at = (voltageV: number): Drive => ({ kind: 'supply', voltageV })
      return { kind: 'drive-voltage', from: drive.voltageV, unit: 'V', grain: tenths, at }
    }
    case 'full':
    case 'pulsed':
    case 'off':
      return undefined
  }
}

export function driveLevers(evaluation: Evaluation): readonly FoundLever[] {
  const found = driveValue(evaluation)
  if (found === undefined) return []
  const { profile } = evaluation
  const sourced = profile.key('drive')
  const moves = outward(found.from, found.grain, to => {
    const drive = found.at(to)
    return {
      to,
      edits: list(setWhole(profile, sourced, undefined, `drive ${driveText(drive)}`)),
      numbers: inSettings(() => ({ drive })),
    }
  })
  const { kind, from, unit } = found
  const name = `drive ${driveText(found.at(from)).split(' ')[0]}`
  return [{ kind, name, place: settingPlace(profile, sourced), from, unit, isBench: false, moves }]
}
