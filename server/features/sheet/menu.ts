/** The board's menu: the person's own pages and fields, in their own order. */

import { type Definition, entry, rows, text } from '../../semantic/definitions.ts'
import type { SheetEntry } from './types.ts'

export interface MenuField {
  /** The setting's word, or `also` and the setting in the person's own words. */
  readonly key: string
  readonly setting: string
  readonly page: string
  readonly field: string
}

/** What a menu row or an entry is looked up by. */
export function menuKey({ setting, row }: Pick<SheetEntry, 'setting' | 'row'>): string {
  return setting === 'also' ? `also ${row}` : setting
}

/** The fields of a board's menu in its order; of two for one setting the last counts. None where it states no menu. */
export function menuFields(board: Definition | undefined): readonly MenuField[] {
  const table = board && entry(board.match, 'menu')
  const fields = new Map<string, MenuField>()
  for (const row of table === undefined ? [] : rows(table)) {
    const named = text(row, 'setting')
    if (named === undefined) continue
    const setting = named.kind === 'string' ? 'also' : named.text
    const key = menuKey({ setting, row: named.text })
    fields.delete(key)
    fields.set(key, {
      key,
      setting: named.text,
      page: text(row, 'page')?.text ?? '',
      field: text(row, 'field')?.text ?? '',
    })
  }
  return [...fields.values()]
}
