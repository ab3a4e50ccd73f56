/** The words of what changed since a revision, the same on a terminal, in a review and above a profile. */

import { groupsCell } from '../../wording/cells.ts'
import { counted } from '../../wording/counts.ts'
import { column, noFigure, signed } from '../../wording/figures.ts'
import { cornerText, ofGroupText } from '../../wording/places.ts'
import { shortened } from '../compare/settings.ts'
import type { ChangedFinding, ChangedPrediction, ChangedProfile, Pair, Since, Verdict } from './types.ts'

export const caution =
  'Both sides are predictions; the makers’ limits, local codes and licensed practice come before any of these figures.'

/** How the two sides are spoken of. */
export interface Sides {
  readonly heads: readonly [before: string, now: string]
  /** An expectation with another verdict. */
  verdicts(text: string, before: NonNullable<Verdict>, now: NonNullable<Verdict>): string
}

/** `2 of 5 profiles differ` */
export function titleOf({ profiles, paired }: Since): string {
  const fresh = profiles.filter(({ change }) => change === 'new').length
  const gone = profiles.filter(({ change }) => change === 'gone').length
  const changed = profiles.length - fresh - gone
  const more = [fresh === 0 ? '' : `, ${fresh} new`, gone === 0 ? '' : `, ${gone} gone`].join('')
  if (profiles.length === 0) return `no profile differs (${counted(paired, 'profile')})`
  return `${changed} of ${counted(paired, 'profile')} ${changed === 1 ? 'differs' : 'differ'}${more}`
}

/** What a person must know to read the rest. */
export function notesOf({ withoutEffect }: Since): readonly string[] {
  if (withoutEffect.length === 0) return []
  return [`Settings differ, but no prediction, expectation or finding: ${withoutEffect.join(', ')}.`]
}

function difference([before, now]: Pair): number | undefined {
  return before === null || now === null ? undefined : now - before
}

/** Differences of a figure; where the room has other corners, that between the worst of those that only one side has. */
interface Figure {
  readonly of: (row: ChangedPrediction) => Pair
  readonly worst: (...values: readonly number[]) => number
}

const clock: Figure = { of: row => row.clockMhz, worst: Math.min }
/** The clock of one group of cores. */
const clockOf = (name: string): Figure => ({
  of: ({ groups = [] }) => groups.find(({ group }) => group === name)?.clockMhz ?? [null, null],
  worst: Math.min,
})
const margin: Figure = { of: row => row.marginW, worst: Math.min }
const die: Figure = { of: row => row.dieC, worst: Math.max }

/** The largest difference of a figure, with its sign. */
function largest(rows: readonly ChangedPrediction[], { of, worst }: Figure): number {
  const all = rows.flatMap(row => difference(of(row)) ?? [])
  const alone = [0, 1].map(side => rows.map(of).flatMap(pair => (pair[1 - side] === null ? (pair[side] ?? []) : [])))
  const [before = [], now = []] = alone
  if (before.length > 0 && now.length > 0) all.push(worst(...now) - worst(...before))
  return all.reduce((most, one) => (Math.abs(one) > Math.abs(most) ? one : most), 0)
}

/** The clock that changes most, in MHz: of a part with groups that of one of them, with its name. */
function largestClock(rows: readonly ChangedPrediction[]): { readonly mhz: number; readonly group?: string } {
  const names = [...new Set(rows.flatMap(({ groups = [] }) => groups.map(({ group }) => group)))]
  const all = names.map(group => ({ group, mhz: largest(rows, clockOf(group)) }))
  const [most] = all.sort((a, b) => Math.abs(b.mhz) - Math.abs(a.mhz))
  return most ?? { mhz: largest(rows, clock) }
}

/** The loads, work before idle; those whose clock changes most first, then those whose margin does. */
function byLoad(rows: readonly ChangedPrediction[]): readonly (readonly [string, readonly ChangedPrediction[]])[] {
  const loads = [...new Set(rows.map(({ load }) => load))].map(
    load => [load, rows.filter(row => row.load === load)] as const,
  )
  const size = (own: readonly ChangedPrediction[]): number =>
    Math.abs(largestClock(own).mhz) * 1e3 + Math.abs(largest(own, margin))
  const isWork = (own: readonly ChangedPrediction[]): boolean => own.some(({ cores }) => cores > 0)
  return loads.sort(([, a], [, b]) => Number(isWork(b)) - Number(isWork(a)) || size(b) - size(a))
}

/** `2 settings, render −0.10 GHz, +8 W margin`: what a glance tells of a profile. */
export function glanceOf({ change, settings, predicted, expectations, findings }: ChangedProfile): string {
  if (change !== 'changed') return change
  const parts = settings.length === 0 ? [] : [counted(settings.length, 'setting')]
  const [first] = byLoad(predicted)
  if (first !== undefined) {
    const [load, rows] = first
    const { mhz, group } = largestClock(rows)
    const [ghz, watts, kelvin] = [mhz / 1000, largest(rows, margin), largest(rows, die)]
    const figures = [
      Math.abs(ghz) < 0.005 ? [] : [`${signed(ghz, 2)} GHz${ofGroupText(group)}`],
      Math.abs(watts) < 0.5 ? [] : [`${signed(watts, 0)} W margin`],
    ].flat()
    const shown = figures.length > 0 || Math.abs(kelvin) < 0.05 ? figures : [`die ${signed(kelvin, 1)} K`]
    if (shown.length > 0) parts.push(`${load} ${shown.join(', ')}`)
  }
  const lost = expectations.filter(({ before, after }) => before === 'holds' && after !== 'holds' && after !== null)
  if (lost.length > 0)
    parts.push(`${counted(lost.length, 'expectation')} no longer ${lost.length === 1 ? 'holds' : 'hold'}`)
  if (findings.new.length > 0) parts.push(`${counted(findings.new.length, 'new finding')}`)
  if (findings.gone.length > 0) parts.push(`${counted(findings.gone.length, 'finding')} gone`)
  return parts.length === 0 ? 'small differences' : parts.join(', ')
}

/** `4.90 → 4.80`; one figure where both read the same. */
function pairText([before, now]: Pair, scale: number, decimals: number): string {
  const [a, b] = [before, now].map(value => column(value === null ? null : value * scale, decimals))
  return a === b ? (a ?? noFigure) : `${a} → ${b}`
}

export const predictedHead: readonly string[] = ['load', 'cores', 'air', 'GHz', 'watts', 'die °C', 'margin W']

export function predictedRow(row: ChangedPrediction): readonly string[] {
  const { load, cores, airC, humidityPct, groups, ...figures } = row
  type Own = Pick<ChangedPrediction, 'cores' | 'clockMhz'>
  const of = (cell: (own: Own) => string): string => groupsCell<Own>(row, groups, cell)
  return [
    load,
    cores === 0 ? noFigure : of(own => `${own.cores}`),
    cornerText({ airC, humidityPct }),
    of(own => pairText(own.clockMhz, 1e-3, 2)),
    pairText(figures.powerW, 1, 1),
    pairText(figures.dieC, 1, 1),
    pairText(figures.marginW, 1, 0),
  ]
}

export const settingHead = ({ heads }: Sides): readonly string[] => ['setting', ...heads]

export function settingRows({ settings }: ChangedProfile): readonly (readonly string[])[] {
  return shortened(settings).map(({ key, values }) => [key, ...values.map(value => value ?? noFigure)])
}

const verdicts: Readonly<Record<NonNullable<Verdict>, string>> = {
  holds: 'holds',
  failed: 'fails',
  undecided: 'is undecided',
}
const earlier: Readonly<Record<NonNullable<Verdict>, string>> = {
  holds: 'held',
  failed: 'failed',
  undecided: 'was undecided',
}

const then: Readonly<Record<NonNullable<Verdict>, string>> = {
  holds: 'would hold',
  failed: 'would fail',
  undecided: 'would be undecided',
}

/** Then and now. */
export const sinceSides: Sides = {
  heads: ['before', 'now'],
  verdicts: (text, before, now) => `${text}: ${earlier[before]} before, ${verdicts[now]} now.`,
}

/** Now, and with statements that are written nowhere. */
export const whatIfSides: Sides = {
  heads: ['now', 'what if'],
  verdicts: (text, before, now) => `${text}: ${verdicts[before]} now, ${then[now]}.`,
}

/** One line for each expectation with another verdict. */
export function expectationLines({ change, expectations }: ChangedProfile, sides: Sides): readonly string[] {
  if (change !== 'changed') return []
  return expectations.map(({ text, before, after }) => {
    if (before === null) return `New: ${text}, which ${verdicts[after ?? 'undecided']}.`
    if (after === null) return `Gone: ${text}, which ${earlier[before]}.`
    return sides.verdicts(text, before, after)
  })
}

function findingLine(word: string, { file, line, severity, code, message }: ChangedFinding): string {
  // A message of one group of cores begins with its name.
  const group = /^[a-z][a-z0-9-]*: /.exec(message)?.[0] ?? ''
  const rest = message.slice(group.length)
  const first = `${group}${/^.*?[.:](?=\s|$)/.exec(rest)?.[0] ?? rest}`
  return `${word} ${severity} ${code} (${file}:${line}): ${first.replace(/:$/, '.')}`
}

/** One line for each finding that came or went; with its first sentence, since the list of problems has the rest. */
export function findingLines({ findings }: ChangedProfile): readonly string[] {
  return [
    ...findings.new.map(found => findingLine('New', found)),
    ...findings.gone.map(found => findingLine('Gone:', found)),
  ]
}
