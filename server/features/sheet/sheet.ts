/** The entry sheet of a profile: every value once, page by page as the board's menu has it. */

import type { ResolvedProfile } from '../../semantic/profile.ts'
import { profileEntries } from './entries.ts'
import { differentRests, type ReachedRatio, reachedFacts, sheetCautions, sheetFacts } from './facts.ts'
import { type MenuField, menuFields, menuKey } from './menu.ts'
import type { Gone, Sheet, SheetEntry, SheetFact, SheetFrom, SheetLine, SheetPage } from './types.ts'

export interface SheetOptions {
  /** Another profile: only what differs from it is listed. */
  readonly from?: { readonly label: string; readonly profile: ResolvedProfile }
  /** Messages of what was found at error level in the profile. */
  readonly errors?: readonly string[]
  /** The lowest ratio that each load comes to, limits and die limit counted. */
  readonly reached?: readonly ReachedRatio[]
  /** What to set at the supply of a driven plate. */
  readonly plate?: readonly SheetFact[]
  /** What runs say against the voltages entered, a sentence each. */
  readonly against?: readonly string[]
  /** What trials show of the ratios that voltages are entered for. */
  readonly tried?: readonly SheetFact[]
}

interface Difference {
  /** The entries that are listed, each with what the other profile has in its place. */
  readonly listed: readonly { readonly entry: SheetEntry; readonly before: string | undefined }[]
  readonly unchanged: number
  readonly gone: readonly SheetEntry[]
}

const keyOf = ({ setting, row }: SheetEntry): string => `${setting}\n${row}`

function differenceOf(entries: readonly SheetEntry[], others: readonly SheetEntry[]): Difference {
  const byKey = new Map(others.map(entry => [keyOf(entry), entry]))
  const own = new Set(entries.map(keyOf))
  const listed = entries
    .map(entry => ({ entry, before: byKey.get(keyOf(entry))?.enter }))
    .filter(({ entry, before }) => before !== entry.enter)
  return {
    listed,
    unchanged: entries.length - listed.length,
    gone: others.filter(entry => !own.has(keyOf(entry))),
  }
}

/** Pages in the order in which the menu first names them, and behind them what it does not cover. */
function pagesOf(listed: Difference['listed'], fields: readonly MenuField[]): readonly SheetPage[] {
  const pages = new Map<string | undefined, Omit<SheetLine, 'number'>[]>()
  const add = (page: string | undefined, line: Omit<SheetLine, 'number'>): void => {
    const lines = pages.get(page) ?? []
    pages.set(page, lines)
    lines.push(line)
  }
  for (const { page } of fields) if (!pages.has(page)) pages.set(page, [])
  for (const { key, page, field } of fields) {
    for (const { entry, before } of listed) if (menuKey(fields, entry) === key) add(page, { ...entry, field, before })
  }
  const covered = new Set(fields.map(({ key }) => key))
  for (const { entry, before } of listed) {
    if (!covered.has(menuKey(fields, entry))) add(undefined, { ...entry, field: undefined, before })
  }
  let number = 0
  return [...pages].flatMap(([page, lines]) =>
    lines.length === 0
      ? []
      : [
          {
            page,
            lines: lines.map(line => {
              number++
              return { number, ...line }
            }),
          },
        ],
  )
}

function goneWithLabels(
  gone: readonly SheetEntry[],
  fields: readonly MenuField[],
  own: readonly SheetEntry[],
): readonly Gone[] {
  const tables = new Set(own.flatMap(({ setting, row }) => (row === '' ? [] : setting)))
  return gone.map(entry => {
    const label = fields.find(({ key }) => key === menuKey(fields, entry))
    return {
      setting: entry.setting,
      row: entry.row,
      before: entry.enter,
      replaced: entry.row !== '' && tables.has(entry.setting),
      page: label?.page,
      field: label?.field,
    }
  })
}

/** The sheet of a resolved profile. */
export function sheetOf(
  profile: ResolvedProfile,
  { from, errors = [], reached = [], plate = [], against = [], tried = [] }: SheetOptions = {},
): Sheet {
  const own = profileEntries(profile)
  const fields = menuFields(profile.board)
  const other = from && profileEntries(from.profile)
  const difference: Difference =
    other === undefined
      ? { listed: own.entries.map(entry => ({ entry, before: undefined })), unchanged: 0, gone: [] }
      : differenceOf(own.entries, other.entries)
  const stated = new Set(own.entries.map(entry => menuKey(fields, entry)))
  const start: SheetFrom | undefined = from && {
    label: from.label,
    unchanged: difference.unchanged,
    gone: goneWithLabels(difference.gone, fields, own.entries),
  }
  return {
    profile: profile.definition.name,
    part: profile.part?.name,
    cooler: profile.cooler?.name,
    room: profile.room?.name,
    board: profile.board?.name,
    menu: fields.length === 0 ? 'none' : 'stated',
    pages: pagesOf(difference.listed, fields),
    from: start,
    leftOut: own.leftOut,
    untouched: fields
      .filter(({ key }) => !stated.has(key))
      .map(({ setting, page, field }) => ({ setting, page, field })),
    facts: [
      ...differentRests(profile, from),
      ...sheetFacts(profile),
      ...plate,
      ...tried,
      ...reachedFacts(own.entries, reached),
    ],
    cautions: [...against, ...sheetCautions(profile, own.entries)],
    errors,
    incomplete: [...own.incomplete, ...(other?.incomplete.map(text => `${from?.label}: ${text}`) ?? [])],
  }
}
