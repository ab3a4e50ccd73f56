/** Hover of a part and its keys: what its figures come to with all cores busy. */

import type { Match } from '../../../grammar/values.ts'
import type { PartWord } from '../../../grammar/vocabulary/part.ts'
import {
  boardOfRail,
  groupSettings,
  leakageWPerVk,
  partOfGroup,
  powerAt,
  setVoltageRows,
  setVoltageV,
} from '../../model/index.ts'
import type { Part } from '../../model/types.ts'
import { coreVoltageRange, partConstants } from '../../semantic/constants.ts'
import { type Definition, quantity as quantityOf, text as textOf } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { coresText, listed } from '../../wording/counts.ts'
import {
  clockText,
  millivoltsText,
  noFigure,
  plain,
  powerText,
  quantityText,
  ratioText,
  significant,
  voltageText,
} from '../../wording/figures.ts'
import { code, shortened, table } from '../markdown.ts'
import { groupsOfKey } from './group.ts'
import { type Told, together, told } from './told.ts'

export function partFacts(definition: Definition): string | undefined {
  const { value: part } = partConstants(definition)
  if (part === undefined) return undefined
  const [low, high] = clockEnds(part)
  const range = coreVoltageRange(definition)
  const volts = range === undefined ? '' : `, ${voltageText(range.lowV)} to ${voltageText(range.highV)}`
  return `${coresText(part.cores)}, ${low} to ${high}${volts}`
}

export function partFigures(definition: Definition): Told | undefined {
  const { value: part } = partConstants(definition)
  if (part === undefined) return undefined
  if (part.groups !== undefined) return groupFigures(part.groups, part)
  return needsFigures(part, 'Power of all cores')
}

/** One group of a part: its cores, clocks and rail, and what its ratios need. */
export function oneGroupFigures(definition: Definition, match: Match): Told | undefined {
  const { value: whole } = partConstants(definition)
  const group = whole?.groups?.find(({ name }) => name === textOf(match, 'name')?.text)
  if (whole === undefined || group === undefined) return undefined
  const part = partOfGroup(whole, (whole.groups ?? []).indexOf(group))
  const { cores, rail, name } = group
  const [low, high] = clockEnds(part)
  return together(
    told({ lines: [`group **${name}**: ${coresText(cores)}, ${low} to ${high}, on rail ${code(rail)}`] }),
    needsFigures(part, `Power of the cores of ${name} alone, without leakage of other groups,`),
  )
}

/** The slowest and the fastest clock of a kind of cores. */
function clockEnds({ ratioLow, ratioHigh, referenceGhz }: Part): readonly [low: string, high: string] {
  return [clockText(ratioLow * referenceGhz * 1000), clockText(ratioHigh * referenceGhz * 1000)]
}

function needsFigures(part: Part, whose: string): Told {
  const rows = part.needs.map(row => {
    const whole = powerAt(part, { cores: part.cores, activity: 1 }, row.voltageV, 0, row.ratio, part.needsAtC)
    return [
      ratioText(row.ratio),
      clockText(row.ratio * part.referenceGhz * 1000),
      voltageText(row.voltageV),
      powerText(whole.powerW),
    ]
  })
  const top = rows.at(-1)
  return told({
    lines: [
      top &&
        `Fastest measured: **${top[0]}** (${top[1]}) needs ${top[2]}; all ${part.cores} cores then take ${top[3]}.`,
    ],
    tables: [table(['Ratio', 'Clock', 'Needs', `All ${part.cores} cores`], rows)],
    rest: [
      `${whose} at activity 1 and ${plain(part.needsAtC)} °C: cores · C · V² · f + leakage + shared power (model section 3).`,
    ],
  })
}

/** The groups of a part: how many cores each has, and the fastest of them that was measured. */
function groupFigures(groups: NonNullable<Part['groups']>, { referenceGhz }: Part): Told {
  const rows = groups.map(({ name, cores, rail, needs }) => {
    const top = needs.at(-1)
    const fastest =
      top && `${ratioText(top.ratio)} (${clockText(top.ratio * referenceGhz * 1000)}), ${voltageText(top.voltageV)}`
    return [name, String(cores), fastest ?? noFigure, rail]
  })
  return told({ tables: [table(['Group', 'Cores', 'Fastest measured, needs', 'Rail'], rows)] })
}

/** Leakage in W at a voltage and a die temperature. */
function leakageAt(part: Part, volts: number, dieC: number): number {
  return leakageWPerVk(part, dieC) * volts ** part.leakageExponent
}

/** Leakage in W of the kinds of cores that a key is of, together. */
function leakageOf(parts: readonly Part[], volts: number, dieC: number): number {
  return parts.reduce((sum, part) => sum + leakageAt(part, volts, dieC), 0)
}

/** The slowest and the fastest clock of each kind of cores. */
function clocksOf(parts: readonly (readonly [name: string | undefined, part: Part])[]): string {
  const each = parts.map(([name, part]) => {
    const [low, high] = clockEnds(part)
    return `${name === undefined ? '' : `of ${name} `}from ${low} to ${high}`
  })
  return `Clocks ${listed(each)}.`
}

/** What one key of a part comes to, in a line; nothing for keys that say it themselves. */
export function partKeyFigure(definition: Definition, word: PartWord, match: Match): string | undefined {
  const { value: whole } = partConstants(definition)
  if (whole === undefined) return undefined
  const at = groupsOfKey(whole, definition.match, match)
  const named = at.map(index => [whole.groups?.[index]?.name, partOfGroup(whole, index)] as const)
  const kinds = named.length === 0 ? [[undefined, whole] as const] : named
  const parts = kinds.map(([, part]) => part)
  const part = parts[0] ?? whole
  const { leakageAtV, leakageAtC, dieLimitC, referenceGhz } = part
  switch (word) {
    case 'reference':
    case 'ratio':
      return clocksOf(kinds)
    case 'ratio-step':
      return `One step is ${clockText(part.ratioStep * referenceGhz * 1000)}.`
    case 'leakage':
    case 'leakage-doubling':
    case 'leakage-exponent': {
      const [there, hot] = [leakageOf(parts, leakageAtV, leakageAtC), leakageOf(parts, leakageAtV, dieLimitC)]
      return `At ${plain(leakageAtV)} V: ${powerText(there)} at ${plain(leakageAtC)} °C, ${powerText(hot)} at the die limit of ${plain(dieLimitC)} °C.`
    }
    case 'switching': {
      const top = part.needs.at(-1)
      if (top === undefined) return undefined
      const watts = part.switchingNf * top.voltageV ** 2 * top.ratio * referenceGhz
      return `One busy core at ${ratioText(top.ratio)} and ${voltageText(top.voltageV)} switches ${powerText(watts)} (C · V² · f).`
    }
    case 'package-resistance':
      return `Each 100 W warms the die by ${significant(part.packageResistanceKPerW * 100, 3)} K over the plate.`
    case 'core-resistance':
      return `A core that switches 10 W stands ${significant(part.coreResistanceKPerW * 10, 3)} K over the die.`
    case 'needs-slope':
      return `From ${plain(part.needsAtC)} °C to the die limit of ${plain(dieLimitC)} °C: ${quantityText(part.needsSlopeVPerK * (dieLimitC - part.needsAtC) * 1000, 'mV')} more.`
    default:
      return undefined
  }
}

const mostProfiles = 8

/** A row of `needs`: how steeply it goes on, and what the profiles set at its ratio. */
export function needsRowHover(
  definition: Definition,
  row: Match,
  evaluations: readonly Evaluation[],
): Told | undefined {
  const [ratioX, needV] = [quantityOf(row, 'ratio')?.value, quantityOf(row, 'voltage')?.value]
  const { value: whole } = partConstants(definition)
  const [index = 0, ...others] = whole === undefined ? [] : groupsOfKey(whole, definition.match, row)
  const part = whole && partOfGroup(whole, index)
  if (!row.sound || ratioX === undefined || needV === undefined) return undefined
  const group = whole?.groups?.[index]?.name
  const of = group === undefined || others.length > 0 ? '' : `group ${group} of `
  const title = `**${ratioText(ratioX)} needs ${voltageText(needV)}** at the die, ${of}part ${code(definition.name)}`
  if (part === undefined) return told({ lines: [title] })
  const next = part.needs.find(one => one.ratio > ratioX)
  const slope =
    next === undefined
      ? 'The highest ratio that was measured: nothing is known above it.'
      : `To ${ratioText(next.ratio)} ${millivoltsText(next.voltageV - needV)} more: ${millivoltsText((next.voltageV - needV) / (next.ratio - ratioX))} for each 1x (${clockText(part.referenceGhz * 1000)}).`
  const { rows, more } = shortened(
    evaluations.flatMap(({ profile, input }) => {
      if (input.bench === undefined) return []
      const { voltage } = groupSettings(input.bench.profile, index)
      const rail = input.bench.part.groups?.[index]?.rail
      const board = rail === undefined ? input.bench.board : boardOfRail(input.bench.board, rail)
      const setV = setVoltageV(setVoltageRows(part, voltage), board, ratioX)
      return [[profile.definition.name, voltageText(setV), millivoltsText(setV - needV)]]
    }),
    mostProfiles,
  )
  return told({
    lines: [`${title}: ${clockText(ratioX * part.referenceGhz * 1000)}, measured at ${plain(part.needsAtC)} °C`, slope],
    tables: [
      rows.length === 0 ? undefined : table(['Profile', 'Sets at this ratio', 'Over the need'], rows),
      more === '' ? undefined : `${more} profiles`,
    ],
  })
}
