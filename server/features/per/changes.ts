/** Small changes of the bench and of its air, one at a time. */

import type { Bench, Cooler, Corner, GroupSettings, Load, Part, Profile, WorkLoad } from '../../model/index.ts'
import { activeGroups, groupSettings, partOfGroup, withGroupSettings } from '../../model/index.ts'
import { drivenPlate, kindOf } from '../../semantic/coolers/index.ts'
import { limitRows, limitText } from '../../semantic/limiters.ts'
import { coresText } from '../../wording/counts.ts'
import { statedText } from '../../wording/figures.ts'

/** A bench in a corner. */
export interface Setting {
  readonly bench: Bench
  readonly corner: Corner
}

/** One change. */
export interface Change {
  /** In the language's words: `air`, `limits current`, `steps 1 to 4 cores`, of one group of cores `steps small 1 to 4 cores`. */
  readonly name: string
  readonly amount: number
  readonly unit: string
  /** The setting with so many times the amount more; -1 for the other side. Undefined where there is no such side. */
  readonly apply: (setting: Setting, times: 1 | -1) => Setting | undefined
}

type PartConstants = Pick<Part, 'needsSlopeVPerK' | 'leakageW'>

const percent = (value: number, amount: number, times: number): number => value * (1 + (times * amount) / 100)

function change(
  name: string,
  amount: number,
  unit: string,
  apply: (setting: Setting, by: number, times: 1 | -1) => Setting | undefined,
): Change {
  return { name, amount, unit, apply: (setting, times) => apply(setting, times * amount, times) }
}

const withPart = (setting: Setting, part: Partial<Part>): Setting => ({
  ...setting,
  bench: { ...setting.bench, part: { ...setting.bench.part, ...part } },
})
const withCooler = (setting: Setting, cooler: Cooler): Setting => ({ ...setting, bench: { ...setting.bench, cooler } })
const withProfile = (setting: Setting, profile: Partial<Profile>): Setting => ({
  ...setting,
  bench: { ...setting.bench, profile: { ...setting.bench.profile, ...profile } },
})

function airChanges({ corner }: Setting): readonly Change[] {
  const points = Math.min(10, 100 - corner.humidityPct)
  return [
    change('air', 1, 'K', (setting, by) => ({
      ...setting,
      corner: { ...setting.corner, airC: setting.corner.airC + by },
    })),
    ...(points <= 0
      ? []
      : [
          change('humidity', points, '%', (setting, by) => {
            const humidityPct = setting.corner.humidityPct + by
            return humidityPct <= 0 ? undefined : { ...setting, corner: { ...setting.corner, humidityPct } }
          }),
        ]),
  ]
}

function coolerChanges({ bench: { cooler } }: Setting): readonly Change[] {
  const share = 10
  const block = change('block-resistance', share, '%', (setting, _, times) => {
    const { blockResistanceKPerW } = setting.bench.cooler
    return withCooler(setting, {
      ...setting.bench.cooler,
      blockResistanceKPerW: percent(blockResistanceKPerW, share, times),
    })
  })
  if (kindOf(cooler).radiatorOf(cooler).length === 0) return [block]
  const radiator = change('radiator', share, '%', (setting, _, times) => {
    const own = setting.bench.cooler
    const resized = kindOf(own).withRows(own, row => ({
      ...row,
      resistanceKPerW: percent(row.resistanceKPerW, share, times),
    }))
    return resized === own ? undefined : withCooler(setting, resized)
  })
  return [radiator, block]
}

/** Power and temperature that a profile can limit, each with its unit and what is little of it. */
const limits = [
  ['sustained-power', 'sustainedPowerW', 10, 'W'],
  ['burst-power', 'burstPowerW', 10, 'W'],
  ['die', 'dieC', 2, 'K'],
] as const

function limitChanges({ bench }: Setting): readonly Change[] {
  const current = limitRows(bench, 'current').map(row =>
    change(`limits ${limitText(row)}`, 10, 'A', (setting, by) => {
      const { limits: own } = setting.bench.profile
      const value = row.value + by
      if (value <= 0) return undefined
      const moved = row.rail === undefined ? { currentA: value } : {}
      // Of one rail alone; where a part has only one, its own line and that for all are the same limit.
      const rails = [...new Set((setting.bench.part.groups ?? []).map(({ rail }) => rail))]
      const ofRails = Object.fromEntries((row.rail === undefined ? rails : [row.rail]).map(rail => [rail, value]))
      const railCurrentA = { ...own.railCurrentA, ...ofRails }
      return withProfile(setting, { limits: { ...own, ...moved, ...(rails.length > 0 && { railCurrentA }) } })
    }),
  )
  const others = limits.flatMap(([word, key, amount, unit]) => {
    if (bench.profile.limits[key] === undefined) return []
    return [
      change(`limits ${word}`, amount, unit, (setting, by) => {
        const value = (setting.bench.profile.limits[key] ?? 0) + by
        // The part's own limit stays the highest.
        if (value <= 0 || (key === 'dieC' && value > setting.bench.part.dieLimitC)) return undefined
        return withProfile(setting, { limits: { ...setting.bench.profile.limits, [key]: value } })
      }),
    ]
  })
  return [...others.slice(0, -1), ...current, ...others.slice(-1)]
}

const withGroup = (setting: Setting, index: number, own: Partial<GroupSettings>): Setting => ({
  ...setting,
  bench: withGroupSettings(setting.bench, index, own),
})

/** ` small` behind the word of a setting, where it is that of one group of several. */
const nameBehind = ({ groups }: Part, index: number): string => (groups === undefined ? '' : ` ${groups[index]?.name}`)

/** A group's voltages with so many volts more. */
function raisedBy(setting: Setting, index: number, moreV: number): Setting {
  const { voltage } = groupSettings(setting.bench.profile, index)
  if (voltage.kind === 'fixed')
    return withGroup(setting, index, { voltage: { ...voltage, voltageV: voltage.voltageV + moreV } })
  return withGroup(setting, index, {
    voltage: {
      ...voltage,
      offsetV: voltage.offsetV + moreV,
      set: voltage.set.map(row => ({ ...row, voltageV: row.voltageV + moreV })),
    },
  })
}

/** The set voltages of each group that the load keeps busy, and of all of them: on one rail the highest alone serves. */
function voltageChanges({ bench: { part } }: Setting, load: WorkLoad): readonly Change[] {
  const busy = activeGroups(part, load).map(({ index }) => index)
  const each = busy.map(index =>
    change(`voltage${nameBehind(part, index)}`, 10, 'mV', (setting, by) => raisedBy(setting, index, by / 1000)),
  )
  if (busy.length < 2) return each
  const every = change('voltage', 10, 'mV', (setting, by) =>
    busy.reduce((so, index) => raisedBy(so, index, by / 1000), setting),
  )
  return [every, ...each]
}

/** Of the rows of `steps` those that the load runs by. */
function stepChanges({ bench: { part, profile } }: Setting, load: WorkLoad): readonly Change[] {
  return activeGroups(part, load).flatMap(({ index: group, cores }) => {
    const { ratioLow, ratioHigh } = partOfGroup(part, group)
    return groupSettings(profile, group).steps.flatMap((row, index) => {
      if (cores < row.fromCores || cores > row.toCores) return []
      const name = `steps${nameBehind(part, group)} ${coresText(row.fromCores, row.toCores)}`
      return [
        change(name, part.ratioStep, 'x', (setting, by) => {
          const ratio = row.ratio + by
          if (ratio > ratioHigh || ratio < ratioLow) return undefined
          const { steps } = groupSettings(setting.bench.profile, group)
          return withGroup(setting, group, { steps: steps.map((one, at) => (at === index ? { ...one, ratio } : one)) })
        }),
      ]
    })
  })
}

function driveChanges({ bench: { cooler, profile } }: Setting): readonly Change[] {
  const plate = drivenPlate(cooler)
  if (plate === undefined) return []
  const { drive } = profile
  const most = plate.driveCurrentA
  switch (drive.kind) {
    case 'fixed':
      return [
        change('drive', 1, 'A', (setting, by) => {
          const currentA = drive.currentA + by
          if (currentA < 0 || currentA > most) return undefined
          return withProfile(setting, { drive: { ...drive, currentA } })
        }),
      ]
    case 'dew':
      return [
        change('drive dew', 1, 'K', (setting, by) => {
          const marginK = drive.marginK + by
          return marginK < 0 ? undefined : withProfile(setting, { drive: { ...drive, marginK } })
        }),
      ]
    case 'hold':
      return [
        change('drive hold', 1, 'K', (setting, by) =>
          withProfile(setting, { drive: { ...drive, temperatureC: drive.temperatureC + by } }),
        ),
      ]
    case 'full':
    case 'supply':
    case 'pulsed':
    case 'off':
      return []
  }
}

/** A constant of every group of cores; of a plain part its own. */
function ofCores(setting: Setting, move: (own: PartConstants) => Partial<PartConstants>): Setting {
  const { part } = setting.bench
  const groups = part.groups?.map(own => ({ ...own, ...move(own) }))
  return withPart(setting, { ...move(part), ...(groups && { groups }) })
}

function partChanges(): readonly Change[] {
  return [
    change('needs-slope', 0.1, 'mV/K', (setting, by) =>
      ofCores(setting, ({ needsSlopeVPerK }) => ({ needsSlopeVPerK: needsSlopeVPerK + by / 1000 })),
    ),
    change('leakage', 10, '%', (setting, _, times) =>
      ofCores(setting, ({ leakageW }) => ({ leakageW: percent(leakageW, 10, times) })),
    ),
  ]
}

/** All that applies to a load in a corner. */
export function changesFor(setting: Setting, load: Load): readonly Change[] {
  return [
    ...airChanges(setting),
    ...coolerChanges(setting),
    ...limitChanges(setting),
    ...(load.kind === 'work' ? voltageChanges(setting, load) : []),
    ...(load.kind === 'work' ? stepChanges(setting, load) : []),
    ...driveChanges(setting),
    ...partChanges(),
  ]
}

/** `air +1 K` */
export function changeText({ name, amount, unit }: Pick<Change, 'name' | 'amount' | 'unit'>): string {
  return `${name} +${statedText(amount, unit)}`
}
