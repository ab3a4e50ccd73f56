/** What it would take, in words for terminal and editor. */

import { counted, listed } from '../../wording/counts.ts'
import { clockText, millivoltsText, plain, predictedIn, statedText } from '../../wording/figures.ts'
import type { Looked, LostClock, Reach, ReachAnswer, ReachChange, ReachKind, ReachValue } from './types.ts'

function valueText({ kind, unit }: ReachChange, value: ReachValue): string {
  if (typeof value === 'string' || unit === null) return String(value)
  switch (kind) {
    case 'voltage-offset':
      return `${value < 0 ? '-' : '+'} ${millivoltsText(Math.abs(value))}`
    case 'band-drop':
      return `-${statedText(value, 'x')}`
    case 'fan':
      return `${value < 0 ? '-' : '+'}${statedText(Math.abs(value), '%')}`
    case 'load-cores':
      return counted(value, 'core')
    default:
      return statedText(value, unit)
  }
}

/** What changes and how far: `steps 9 to 12 cores 49x → 47x`. */
function changeText(change: ReachChange): string {
  const to = valueText(change, change.to)
  if (change.kind === 'cooler') return `cooler ${valueText(change, change.from)} → ${to}`
  // All rows move by the same: there is no one value to start from.
  if (change.kind === 'fan') return `${change.name} ${to}`
  return `${change.name} ${valueText(change, change.from)} → ${to}`
}

/** All that changes together. */
export const changesText = ({ changes }: ReachAnswer): string => changes.map(changeText).join(', ')

/** What other loads pay; undefined where they pay nothing. */
function costsText(costs: readonly LostClock[]): string | undefined {
  if (costs.length === 0) return undefined
  const lost = costs.map(({ load, clockMhz }) => `${load} ${clockText(clockMhz)}`)
  return `lost elsewhere: ${listed(lost)}`
}

/** What comes of an answer. */
export function outcomeText({ predicted, asks, costs }: ReachAnswer, unit: string): string {
  const lost = costsText(costs)
  const parts = [`${predictedIn(predicted, unit)} then`, `asks ${plain(Number(asks.toPrecision(3)))}`]
  return [...parts, ...(lost === undefined ? [] : [lost])].join(', ')
}

/** How it stands now. */
export function nowText({ expectation, now }: Reach): string {
  const verdict = now.holds === true ? 'Holds already' : now.holds === false ? 'Does not hold' : 'Undecided'
  return `${verdict}: \`${expectation}\`, ${now.predicted === null ? 'no figure' : predictedIn(now.predicted, now.unit)} now.`
}

function pairsText({ asks, isCut }: Looked): string {
  if (isCut && asks < 2) return 'no pair of settings could be tried in full before 20 s were up'
  const upTo = `of all pairs of settings up to a sum of ${asks}`
  return isCut ? `${upTo} none does; then 20 s were up` : `${upTo} none does`
}

/** What was found, in one sentence. */
export function verdictText(reach: Reach): string {
  const { answers, pairs, looked } = reach
  if (reach.now.holds === true) return 'Nothing needs to change.'
  if (answers.length > 0) {
    const settings = answers.filter(({ changes }) => changes.every(({ isBench }) => !isBench)).length
    const bench = answers.length - settings
    const anyOf = (count: number): string => (count === 1 ? '' : 'any one of ')
    const changes = `${counted(bench, 'change')} of the bench`
    if (settings === 0) return `No setting alone does it; ${anyOf(bench)}${changes} would.`
    if (bench > 0) return `Any one of these would do it: ${counted(settings, 'setting')}, ${changes}.`
    return settings === 1 ? '1 setting alone would do it.' : `Any one of ${settings} settings would do it.`
  }
  if (looked === undefined) return 'Nothing alone does it.'
  if (pairs.length === 0) {
    const text = pairsText(looked)
    return `Nothing alone does it, and ${text}.`
  }
  return `Nothing alone does it. The least that two settings together ask for is ${looked.asks}:`
}

/** An answer in one line. */
export const answerText = (answer: ReachAnswer, unit: string): string =>
  `${changesText(answer)}: ${outcomeText(answer, unit)}`

/** Where a change is made, as outputs show places. */
type PlaceText = (change: ReachChange) => string

function withPlace(answer: ReachAnswer, unit: string, placeOf: PlaceText): string {
  return `${answerText(answer, unit)}; ${[...new Set(answer.changes.map(placeOf))].join(', ')}`
}

/** All that was found in a few words: of the answers those that are least, the bench named with its place. */
export function gistText(reach: Reach, placeOf: PlaceText): string {
  const all = [...reach.answers, ...reach.pairs]
  const bench = all.find(({ changes }) => changes.some(({ isBench }) => isBench))
  const setting = all.find(({ changes }) => changes.every(({ isBench }) => !isBench))
  const least = [setting, bench].flatMap(one => (one === undefined ? [] : [withPlace(one, reach.now.unit, placeOf)]))
  return [nowText(reach), verdictText(reach), ...least.map(text => `${text}.`)].join(' ')
}

/** All that was found, a line for each. */
export function listText(reach: Reach, placeOf: PlaceText): string {
  const lines = [...reach.answers, ...reach.pairs].map(one => `- ${withPlace(one, reach.now.unit, placeOf)}`)
  const caution = cautionText(reach)
  return [nowText(reach), verdictText(reach), ...lines, ...(caution === undefined ? [] : [caution])].join('\n')
}

/** Settings with which more is asked of the part than before. */
const hotter: ReadonlySet<ReachKind> = new Set<ReachKind>([
  ...(['step', 'voltage-offset', 'set', 'fixed-voltage', 'sustained-power', 'burst-power'] as const),
  ...(['current', 'die', 'band-threshold', 'drive-current', 'drive-voltage'] as const),
])

/** Undefined where no answer asks more of the part. */
export function cautionText({ answers, pairs }: Reach): string | undefined {
  const asksMore = ({ kind, from, to }: ReachChange): boolean => hotter.has(kind) && to > from
  const isAsked = [...answers, ...pairs].some(({ changes }) => changes.some(asksMore))
  return isAsked
    ? "Caution: more ratio, voltage, power or heat wears the part. The maker's limits come before any of this."
    : undefined
}
