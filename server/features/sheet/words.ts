/** The words of a sheet, the same on a terminal, on paper and in the editor. */

import type { Gone, Sheet, SheetLine } from './types.ts'

const notCovered = "Not covered by the board's menu"

/** What a line is called: the field in the person's own words, else the setting. */
export function fieldText({ field, setting, row }: Pick<SheetLine, 'field' | 'setting' | 'row'>): string {
  return field ?? (setting === 'also' ? row : setting)
}

/** Which of several values of a setting it is; empty where there is one. */
export function rowText({ field, setting, row }: Pick<SheetLine, 'field' | 'setting' | 'row'>): string {
  return setting === 'also' && field === undefined ? '' : row
}

/** What was asked for where something was rounded, and whatever else must be known of a value. */
export function remarkText({ asked, rounding, notes }: SheetLine): string {
  const rounded = rounding === undefined ? [] : [`asked ${asked}, ${rounding}`]
  return [...rounded, ...notes].join('; ')
}

function goneText(gone: Gone): string {
  const where = gone.page === undefined ? '' : `${gone.page}: `
  return `${where}${[fieldText(gone), rowText(gone)].filter(text => text !== '').join(', ')}: ${gone.before} there`
}

export function pageTitle(page: string | undefined): string {
  return page ?? notCovered
}

export function titleOf({ profile, from }: Sheet): string {
  return from === undefined ? `Entry sheet: ${profile}` : `Entry sheet: ${profile}, what differs from ${from.label}`
}

/** What the profile is for. */
export function restsText({ part, cooler, room, board }: Sheet): string {
  return Object.entries({ part, cooler, room, board })
    .flatMap(([kind, name]) => (name === undefined ? [] : [`${kind} ${name}`]))
    .join(', ')
}

/** Sentences that stand above the values. */
export function openingLines({ menu, from, pages, board }: Sheet): readonly string[] {
  const lines: string[] = []
  if (menu === 'none') {
    lines.push(
      board === undefined
        ? 'The profile names no board, so the labels of your menus and the voltage grid are missing here.'
        : `Board ${board} has no menu, so the labels of your menus are missing here.`,
    )
  }
  if (from !== undefined) {
    const same = from.unchanged === 1 ? '1 value is' : `${from.unchanged} values are`
    lines.push(`${same} the same in ${from.label} and not listed.`)
    if (pages.length === 0 && from.gone.length === 0) lines.push('Nothing differs: there is nothing to enter.')
  }
  return lines
}

/** Blocks of remarks behind the values; those without lines are left out. */
export function closingBlocks(sheet: Sheet): readonly { readonly title: string; readonly lines: readonly string[] }[] {
  const { from, leftOut, untouched, facts } = sheet
  const blocks = [
    {
      title: `Rows of ${from?.label} that those above replace: remove them`,
      lines: (from?.gone ?? []).filter(({ replaced }) => replaced).map(goneText),
    },
    {
      title: `Only in ${from?.label}: set these back to your board’s own values`,
      lines: (from?.gone ?? []).filter(({ replaced }) => !replaced).map(goneText),
    },
    { title: 'In the profile, but not entered', lines: leftOut.map(({ text, why }) => `${text}: ${why}`) },
    {
      title: 'Fields that the profile says nothing about: leave them as they are',
      lines: untouched.map(({ page, field, setting }) => `${page}: ${field} (${setting})`),
    },
    { title: 'Based on', lines: facts.map(({ name, text }) => `${name}: ${text}`) },
  ]
  return blocks.filter(({ lines }) => lines.length > 0)
}

/** What forbids entering the sheet as it is. */
export function troubles({ errors, incomplete }: Sheet): readonly string[] {
  return [
    ...(errors.length === 0
      ? []
      : [
          errors.length === 1
            ? 'An error was found. Fix it before you enter this:'
            : `${errors.length} errors were found. Fix them before you enter this:`,
        ]),
    ...errors,
    ...incomplete.map(text => `Incomplete: ${text}.`),
  ]
}
