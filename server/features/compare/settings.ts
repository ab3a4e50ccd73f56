/** What profiles state, key by key, as they state it: before any rounding, inherited settings included. */

import type { Chunk } from '../../../grammar/tree.ts'
import type { Match, Value } from '../../../grammar/values.ts'
import { limitWords, profileSettings, remarkWords } from '../../../grammar/vocabulary/index.ts'
import { groupSettings } from '../../model/index.ts'
import type { CoreVoltage } from '../../model/types.ts'
import { type Definition, quantity, text } from '../../semantic/definitions.ts'
import { driveText } from '../../semantic/drives.ts'
import { type GroupView, groupViews } from '../../semantic/group-view.ts'
import { partNames } from '../../semantic/part-names.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import { settingsOf } from '../../semantic/settings.ts'
import { coresText } from '../../wording/counts.ts'
import { plain } from '../../wording/figures.ts'
import { profileEntries } from '../sheet/entries.ts'
import { withUnit } from '../sheet/numbers.ts'
import type { ComparedSetting } from './types.ts'

/** Text and what is compared by it: 1.2 V and 1200 mV are the same. */
interface Stated {
  readonly text: string
  readonly same: string
}

type Values = ReadonlyMap<string, Stated>

function keyOf(setting: string, row: string): string {
  const word = limitWords.includes(setting) ? `limits ${setting}` : setting
  return row === '' ? word : `${word} ${row}`
}

function coreText(voltage: CoreVoltage): string {
  switch (voltage.kind) {
    case 'fixed':
      return `fixed ${withUnit(voltage.voltageV, 'V')}`
    case 'needs': {
      const { offsetV } = voltage
      return `needs${offsetV === 0 ? '' : ` ${offsetV < 0 ? '-' : '+'} ${plain(Math.abs(offsetV) * 1000)} mV`}`
    }
  }
}

function voltageValues(profile: GroupView): readonly (readonly [string, string])[] {
  const core = profile.inner('voltage', 'core')
  const named = profile.group === undefined ? '' : ` ${profile.group}`
  const settings = settingsOf(profile).profile
  const { voltage } = groupSettings(settings, Math.max(0, partNames(profile.part).groups.indexOf(profile.group ?? '')))
  const rows = profile.setRows().flatMap(({ match }) => {
    const [ratio, volts] = [quantity(match, 'ratio'), quantity(match, 'voltage')]
    if (ratio === undefined || volts === undefined) return []
    return [[`voltage set${named} ${withUnit(ratio.value, 'x')}`, withUnit(volts.value, 'V')] as const]
  })
  return [...(core === undefined ? [] : [[`voltage core${named}`, coreText(voltage)] as const]), ...rows]
}

/** The settings that a profile states. */
function statedSettings(profile: ResolvedProfile): ReadonlyMap<string, string> {
  const found = new Map<string, string>()
  for (const kind of ['part', 'cooler', 'room', 'board'] as const) {
    const name = profile[kind]?.name
    if (name !== undefined) found.set(kind, name)
  }
  for (const { setting, row, asked } of profileEntries(profile).entries) {
    if (setting === 'drive' || setting === 'core-voltage') continue
    found.set(keyOf(setting, row), asked)
  }
  for (const view of groupViews(profile)) for (const [key, text] of voltageValues(view)) found.set(key, text)
  if (profile.key('drive') !== undefined) found.set('drive', driveText(settingsOf(profile).profile.drive))
  return found
}

/** Whether two profiles set the same: what was run with one was run with the other. */
export function setsTheSame(a: ResolvedProfile, b: ResolvedProfile): boolean {
  const [first, second] = [statedSettings(a), statedSettings(b)]
  return first.size === second.size && [...first].every(([key, text]) => second.get(key) === text)
}

function meaning(value: Value): unknown {
  if (value.kind === 'range') return [meaning(value.low), meaning(value.high)]
  if (value.kind === 'counts') return [value.from, value.to]
  if (value.kind === 'unit') return value.unit.symbol
  return 'text' in value ? value.text : [value.value, value.uncertainty]
}

/** The statements of a block as keys: rows by their first cell, blocks by their words. */
function collect({ text }: Pick<Chunk, 'text'>, block: Match, before: string, into: Map<string, Stated>): void {
  for (const match of block.children) {
    const word = match.word?.word
    if (!match.sound || word === undefined || remarkWords.includes(word) || match.word?.carried === true) continue
    const { items } = match.statement
    // What may stand several times is told apart by all but its value.
    const isOneOfMany = match.word?.many === true && match.statement.block === undefined
    const [leading] = match.slots
    const head = leading?.slot.slot === 'part-name' ? leading.to : 1
    const named = word === '' ? (leading?.to ?? 0) : isOneOfMany ? items.length - 1 : head
    const cut = (from: number, to: number): string => {
      const [first, last] = [items[from], items[to - 1]]
      if (first === undefined || last === undefined || to <= from) return ''
      // As the formatter writes it: a unit behind a space, a ratio without.
      return text
        .slice(first.start, last.end)
        .replace(/\s+/g, ' ')
        .replace(/(?<![\w".]|\w-)([\d.]+)(?=[A-Za-wyz°%µμΩ\u2126])/g, '$1 ')
    }
    const key = `${before} ${cut(0, named)}`
    if (items.length > named) {
      const same = JSON.stringify([...match.values].map(([name, value]) => [name, meaning(value)]))
      into.set(key, { text: cut(named, items.length), same })
    }
    collect({ text }, match, key, into)
  }
}

function constantsOf(definition: Definition): Values {
  const found = new Map<string, Stated>()
  collect(definition.chunk, definition.match, definition.kind, found)
  return found
}

function compared(key: string, values: readonly (Stated | undefined)[]): ComparedSetting {
  const first = values[0]?.same
  return {
    key,
    values: values.map(value => value?.text ?? null),
    isSame: values.every(value => value?.same === first),
  }
}

/** Every key of these lists, in the order in which they first stand. */
function allKeys(lists: readonly ReadonlyMap<string, unknown>[]): readonly string[] {
  return [...new Set(lists.flatMap(list => [...list.keys()]))]
}

/** Neighbouring core counts with the same ratios become one row. */
function groupedSteps(rows: readonly ComparedSetting[]): readonly ComparedSetting[] {
  const grouped: { from: number; to: number; row: ComparedSetting }[] = []
  for (const row of rows) {
    const count = stepCount(row)
    const last = grouped.at(-1)
    const follows =
      count > 1 &&
      last?.to === count - 1 &&
      stepsGroup(last.row) === stepsGroup(row) &&
      last.row.values.join('\n') === row.values.join('\n')
    if (last !== undefined && follows) last.to = count
    else grouped.push({ from: count, to: count, row })
  }
  return grouped.map(({ from, to, row }) =>
    from === 0 ? row : { ...row, key: `steps ${stepsGroup(row)}${coresText(from, to)}` },
  )
}

/**
 * The settings of profiles side by side. Constants of the bench that bear one name and are not the same, as at another
 * revision, stand behind them: predictions differ by these as well.
 */
export function comparedSettings(profiles: readonly ResolvedProfile[]): readonly ComparedSetting[] {
  const stated = profiles.map(statedSettings)
  const settings = allKeys(stated).map(key =>
    compared(
      key,
      stated.map(list => {
        const text = list.get(key)
        return text === undefined ? undefined : { text, same: text }
      }),
    ),
  )
  const groups = [...new Set(profiles.flatMap(({ part }) => partNames(part).groups))]
  const order = (row: ComparedSetting): number => groups.indexOf(stepsGroup(row).trimEnd())
  const inOrder = [...settings].sort((a, b) => rank(a) - rank(b) || order(a) - order(b) || stepCount(a) - stepCount(b))
  return [...groupedSteps(inOrder), ...benchDifferences(profiles)]
}

/** Settings stand in the language's order, whichever profile states them first. */
function rank({ key }: ComparedSetting): number {
  return profileSettings.indexOf(key.split(' ')[0] ?? '')
}

/** The group of cores that a row of steps is for, with a space behind it; empty where it is for all. */
function stepsGroup({ key }: ComparedSetting): string {
  return /^steps (\S+ )\d+ cores?$/.exec(key)?.[1] ?? ''
}

/** So do core counts; everything else keeps its place. */
function stepCount({ key }: ComparedSetting): number {
  return Number(/^steps (?:\S+ )?(\d+) cores?$/.exec(key)?.[1] ?? 0)
}

/** Constants of the bench that bear one name in all of these profiles and are not the same. */
export function benchDifferences(profiles: readonly ResolvedProfile[]): readonly ComparedSetting[] {
  const groups: (readonly (Definition | undefined)[])[] = (['part', 'cooler', 'room', 'board'] as const).map(kind =>
    profiles.map(profile => profile[kind]),
  )
  for (const { name } of profiles[0]?.loads ?? []) {
    groups.push(profiles.map(({ loads }) => loads.find(load => load.name === name)))
  }
  return [...groups.flatMap(constantDifferences), ...courseDifferences(profiles)]
}

/** The lines of courses that the profiles expect something of, where they are not the same. */
function courseDifferences(profiles: readonly ResolvedProfile[]): readonly ComparedSetting[] {
  const expected = new Set(
    profiles.flatMap(profile => profile.expectations().flatMap(({ match }) => text(match, 'course')?.text ?? [])),
  )
  return [...expected].sort().flatMap(name => {
    const courses = profiles.map(profile => profile.courses.find(one => one.name === name))
    const lists = courses.map(course => (course === undefined ? new Map<string, Stated>() : courseValues(course)))
    return allKeys(lists)
      .map(key =>
        compared(
          key,
          lists.map(list => list.get(key)),
        ),
      )
      .filter(({ isSame }) => !isSame)
  })
}

/** The lines of a course by their load or fault; a second one of the same says so. The order counts by itself. */
function courseValues({ chunk, match, name }: Definition): Values {
  const found = new Map<string, Stated>()
  const order: string[] = []
  for (const line of match.children) {
    const word = line.word?.word
    if (!line.sound || word === undefined || (word !== '' && word !== 'fault' && word !== 'start')) continue
    const { items } = line.statement
    const head = word === 'fault' ? 2 : 1
    const [first, value, last] = [items[0], items[head], items.at(-1)]
    if (first === undefined || value === undefined || last === undefined) continue
    const of = chunk.text.slice(first.start, items[head - 1]?.end).replace(/\s+/g, ' ')
    if (word !== 'start') order.push(of)
    const before = order.filter(one => one === of).length
    const key = `course ${name} ${of}${before > 1 ? ` (${before})` : ''}`
    const same = JSON.stringify([...line.values].map(([slot, one]) => [slot, meaning(one)]))
    found.set(key, { text: chunk.text.slice(value.start, last.end).replace(/\s+/g, ' '), same })
  }
  const lines = order.join(', ')
  if (order.length > 0) found.set(`course ${name} order`, { text: lines, same: lines })
  return found
}

function constantDifferences(definitions: readonly (Definition | undefined)[]): readonly ComparedSetting[] {
  const [first] = definitions
  const named = definitions.filter(one => one !== undefined)
  if (first === undefined || named.length < definitions.length || named.some(one => one.name !== first.name)) return []
  if (named.every(one => one === first)) return []
  const lists = named.map(constantsOf)
  const head = first.kind === 'load' ? `load ${first.name}` : first.kind
  return allKeys(lists)
    .map(key =>
      compared(
        key.replace(first.kind, head),
        lists.map(list => list.get(key)),
      ),
    )
    .filter(({ isSame }) => !isSame)
}

/** So many lines of correlations that differ are shown; more become one row. */
const SHOWN_CORRELATIONS = 3

/** Settings as a person reads them: a fit writes dozens of correlations, which say little one by one. */
export function shortened(settings: readonly ComparedSetting[]): readonly ComparedSetting[] {
  const ofKind = (key: string): string | undefined => /^(?:part|cooler) correlated(?= )/.exec(key)?.[0]
  return settings.flatMap(row => {
    const kind = ofKind(row.key)
    const own = kind === undefined ? [] : settings.filter(({ key }) => ofKind(key) === kind)
    if (own.length <= SHOWN_CORRELATIONS) return [row]
    if (own[0] !== row) return []
    const values = row.values.map((_, index) => {
      const count = own.filter(one => one.values[index] !== null).length
      return count === 0 ? null : `${count} line${count === 1 ? '' : 's'}`
    })
    return [{ key: `${kind}: ${own.length} lines differ`, values, isSame: false }]
  })
}
