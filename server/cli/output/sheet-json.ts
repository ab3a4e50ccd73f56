/** The sheet for scripts. */

import type { Sheet } from '../../features/sheet/types.ts'

export interface PlacedSheet {
  /** The file's path as outputs show it. */
  readonly file: string
  /** The line of the profile's name, from 1. */
  readonly line: number
  readonly sheet: Sheet
}

/** Every key but `group` and `rail` is always there; what does not apply is null, or an empty list. */
export function sheetJson({ file, sheet }: PlacedSheet): string {
  const { from } = sheet
  const value = {
    version: 1,
    file,
    profile: sheet.profile,
    part: sheet.part ?? null,
    cooler: sheet.cooler ?? null,
    room: sheet.room ?? null,
    board: sheet.board ?? null,
    from: from === undefined ? null : from.label,
    entries: sheet.pages.flatMap(({ page, lines }) =>
      lines.map(line => ({
        number: line.number,
        covered: page !== undefined,
        page: page ?? null,
        field: line.field ?? null,
        setting: line.setting,
        ...(line.group === undefined ? {} : { group: line.group }),
        ...(line.rail === undefined ? {} : { rail: line.rail }),
        row: line.row,
        asked: line.asked,
        enter: line.enter,
        asked_value: line.askedValue,
        enter_value: line.enterValue,
        unit: line.unit,
        rounding: line.rounding ?? null,
        notes: line.notes,
        before: line.before ?? null,
      })),
    ),
    unchanged: from?.unchanged ?? 0,
    gone: (from?.gone ?? []).map(({ setting, row, before, replaced, page, field }) => ({
      setting,
      row,
      before,
      replaced,
      page: page ?? null,
      field: field ?? null,
    })),
    left_out: sheet.leftOut,
    untouched: sheet.untouched,
    facts: sheet.facts,
    cautions: sheet.cautions,
    errors: sheet.errors,
    incomplete: sheet.incomplete,
  }
  return `${JSON.stringify(value, undefined, 2)}\n`
}
