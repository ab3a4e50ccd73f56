/** The board's menu: the person's own pages and fields, in their own order. */

import { type Definition, entry, nameAfter, rows, text } from '../../semantic/definitions.ts'
import type { SheetEntry } from './types.ts'

export interface MenuField {
  /** The setting's word, or `also` and the setting in the person's own words. */
  readonly key: string
  readonly setting: string
  readonly page: string
  readonly field: string
}

const keyOf = (setting: string, name: string | undefined): string =>
  name === undefined ? setting : `${setting} ${name}`

/**
 * What an entry is looked up by: the field for its group of cores where the menu has one, else that for its supply rail,
 * else the one for all.
 */
export function menuKey(
  fields: readonly MenuField[],
  { setting, row, group, rail }: Pick<SheetEntry, 'setting' | 'row' | 'group' | 'rail'>,
): string {
  if (setting === 'also') return keyOf(setting, row)
  const named = [group, rail].flatMap(name => (name === undefined ? [] : keyOf(setting, name)))
  return named.find(name => fields.some(({ key }) => key === name)) ?? setting
}

/** The fields of a board's menu in its order; of two for one setting the last counts. None where it states no menu. */
export function menuFields(board: Definition | undefined): readonly MenuField[] {
  const table = board && entry(board.match, 'menu')
  const fields = new Map<string, MenuField>()
  for (const row of table === undefined ? [] : rows(table)) {
    const named = text(row, 'setting')
    if (named === undefined) continue
    const group = nameAfter(row)
    const key = named.kind === 'string' ? keyOf('also', named.text) : keyOf(named.text, group)
    fields.delete(key)
    fields.set(key, {
      key,
      setting: keyOf(named.text, group),
      page: text(row, 'page')?.text ?? '',
      field: text(row, 'field')?.text ?? '',
    })
  }
  return [...fields.values()]
}
