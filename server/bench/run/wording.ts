/** A run in the words of messages and tables: its figures beside their predictions, and what can be wrong with its log. */

import { fromBase, type Unit } from '../../../grammar/units/units.ts'
import type { CourseLine } from '../../semantic/courses.ts'
import { mentions, text } from '../../semantic/definitions.ts'
import { decimalsOfUnit, fixed, rounded, signed } from '../../wording/figures.ts'
import { durationText, waitText } from '../../wording/times.ts'
import { type Figure, figureUnit, groupOfFigure, kindOfFigure } from '../log/figures.ts'
import { HEADER_WITHIN, type LogResult } from '../log/reader.ts'
import { hasSettled } from '../steady/settled-log.ts'
import type { ComparedFigure, ComparedRun } from './compared.ts'
import type { MeasuredRun } from './measured.ts'
import type { OddFigure } from './plausible.ts'
import type { RunRecord } from './record.ts'
import type { RunSettings } from './settings.ts'

/** A time since a log's first row, to the second: `12 min 4 s`. */
const sinceStart = (seconds: number): string => durationText(Math.round(seconds))

/** A time of the log's clock; behind the first midnight with the day. */
function clockTime(seconds: number): string {
  const whole = Math.round(seconds)
  const two = (count: number): string => String(count).padStart(2, '0')
  const day = Math.floor(whole / 86_400)
  const time = [Math.floor(whole / 3600) % 24, Math.floor(whole / 60) % 60, whole % 60].map(two).join(':')
  return day === 0 ? time : `${time} of day ${day + 1}`
}

/** When the load was on, at the end of a log: as the log's clock has it, else since the log's first row. Undefined without a log. */
function stretchText({ log, settled }: Pick<MeasuredRun, 'log' | 'settled'>): string | undefined {
  if (settled === undefined) return undefined
  const start = log?.state === 'read' ? log.clockStartS : undefined
  const at = (seconds: number): string => (start === undefined ? sinceStart(seconds) : clockTime(start + seconds))
  return `${at(settled.fromS)} to ${at(settled.toS)}`
}

/** A settled value that is known to less than this is worth a longer log. */
export const LOOSE_K = 2

/** A log that says nothing. */
export const tooLittleText = 'its log is too short, or has neither power nor die temperature'

/** How far a log went, and how much longer would tell more; undefined where the run has no log that was read. */
export function settledText(run: Pick<MeasuredRun, 'record' | 'log' | 'settled' | 'figures'>): string | undefined {
  const { log, settled, record } = run
  if (record.course !== undefined) return undefined
  if (log?.state !== 'read' || log.rows === 0) return undefined
  if (settled === undefined) return tooLittleText
  const when = `under load from ${stretchText(run)}`
  const { die } = settled.figures
  const { toGoK } = settled
  if (toGoK === undefined || die === undefined) return `${when}, the means of its end`
  const known = `± ${rounded(die.standardUncertainty, 2)} K`
  const way = hasSettled(settled)
    ? `the die settled (${known})`
    : `the die has ${rounded(Math.abs(toGoK), 2)} K still to ${toGoK > 0 ? 'rise' : 'fall'} (${known})`
  const longer = die.standardUncertainty > LOOSE_K ? longerText(settled.secondsToHalve()) : undefined
  return `${when}, ${way}${longer === undefined ? '' : `; ${longer}`}`
}

/** Which steps of a course its log has, and for how long; why they are not found; undefined for a run under a load. */
export function courseLogText({ courseLog, predicted, series }: ComparedRun): string | undefined {
  if (courseLog === undefined || typeof courseLog === 'string') return courseLog
  const lines = predicted?.ofCourse?.resolved.lines ?? []
  const stepCount = lines.filter(({ kind }) => kind === 'step').length
  const found = courseLog.steps.map(({ line, from, to }) => {
    const name = stepName(lines[line])
    return `${name} ${sinceStart((series?.toS[to - 1] ?? 0) - (series?.fromS[from] ?? 0))}`
  })
  const count = found.length === stepCount ? '' : `${found.length} of ${stepCount} `
  return `${count}steps by their power: ${found.join(', ')}`
}

/** The load of a step as its line names it. */
export function stepName(line: CourseLine | undefined): string {
  return line === undefined ? '' : (text(line.match, 'load')?.text ?? '')
}

/** How much more of the load would tell twice as well: `12 min more would halve the ±`. */
export function longerText(seconds: number | undefined): string | undefined {
  if (seconds === undefined) return undefined
  return `${waitText(seconds)} more would halve the ±`
}

/** How a run ended: `held 30 min`, `stopped after 12 min (“hang”)`; undefined where it does not say. */
export function outcomeText({ outcome }: RunRecord): string | undefined {
  if (outcome === undefined) return undefined
  return outcome.kind === 'held'
    ? `held ${durationText(outcome.forS)}`
    : `stopped after ${durationText(outcome.afterS)} (“${outcome.what}”)`
}

/** Why a log gave no figures; `read` where it did. */
export function logText(log: LogResult): string {
  switch (log.state) {
    case 'missing':
      return 'its log is not there'
    case 'unreadable':
      return `its log cannot be read: ${log.why}`
    case 'no-header':
      return `none of its columns stands in the first ${HEADER_WITHIN} lines of the log`
    case 'read':
      return log.rows === 0 ? 'its log has no row that can be taken' : 'its log was read'
  }
}

/** Why a run without any figure has none, where it is not for its log. */
export function unmeasuredText({ definition }: RunRecord): string {
  return mentions(definition.match, 'log')
    ? 'its `log` does not read: the columns stand in a block behind the path'
    : 'nothing was measured: it has neither `log` nor `measured`'
}

/** A number, to three figures behind the point, with its thousands apart: `3,650`. */
export function grouped(value: number): string {
  const [whole = '', rest] = rounded(value, 3).split('.')
  let text = whole
  // Not a number with an exponent.
  if (/^-?\d+$/.test(whole))
    for (let at = whole.length - 3; at > (value < 0 ? 1 : 0); at -= 3) text = `${text.slice(0, at)},${text.slice(at)}`
  return rest === undefined ? text : `${text}.${rest}`
}

function between([low, high]: readonly [number, number], unit: Unit): string {
  const [from, to] = [low, high].map(value => grouped(fromBase(value, unit))) as [string, string]
  return from === to ? `${from} ${unit.symbol}` : `${from} to ${to} ${unit.symbol}`
}

/** A figure in words: `clock`, `clock of small`. */
export function figureText(figure: Figure): string {
  const group = groupOfFigure(figure)
  return group === undefined ? figure : `${kindOfFigure(figure)} of ${group}`
}

/** What is odd about a figure, and which unit it may be in. */
export function oddText({ kind, problem, seen, limits, unit, others }: OddFigure): string {
  const what = `the ${kind === 'time' ? kind : figureText(kind)}`
  if (problem === 'empty') return `${what} has no value in any row`
  if (problem === 'still') return `${what} reads ${kind === 'time' ? 'the same' : between(seen, unit)} in every row`
  const meant = others.map(other => other.symbol).join(' or ')
  const ask = meant === '' ? '' : `: is the unit ${meant}?`
  if (kind === 'time') {
    const [step, all] = seen.map(value => between([value, value], unit))
    return `${what} goes on by ${step} from row to row, ${all} in all${ask}`
  }
  return `${what} reads ${between(seen, unit)}, where ${between(limits, unit)} can be${ask}`
}

/** Which settings a run is compared with, where it names a revision; undefined where it names none. */
export function settingsText(settings: RunSettings): string | undefined {
  switch (settings.from) {
    case 'now':
      return undefined
    case 'unchanged':
      return `what its profile sets is the same as at revision ${settings.revision}`
    case 'revision':
      return `predicted with what its profile set at revision ${settings.revision}, and today’s constants`
    case 'pending':
      return `predicted with what its profile sets now: revision ${settings.revision} is not looked up yet`
    case 'not-had':
      return `predicted with what its profile sets now, because revision ${settings.revision} cannot be read: ${settings.why}`
  }
}

/** A measured figure beside its prediction, as every table shows it, to the digits of its unit. */
export interface FigureCells {
  readonly figure: string
  /** With the unit, as is the prediction. */
  readonly measured: string
  readonly predicted: string
  /** With its sign. */
  readonly difference: string
  /** One standard uncertainty of the difference. */
  readonly uncertainty: string
}

export function figureCells({
  figure,
  measured,
  predicted,
  difference,
  combinedUncertainty,
}: ComparedFigure): FigureCells {
  const unit = figureUnit[kindOfFigure(figure)]
  const places = decimalsOfUnit(unit)
  return {
    figure: figureText(figure),
    measured: `${fixed(measured.value, places)} ${unit}`,
    predicted: `${fixed(predicted, places)} ${unit}`,
    difference: signed(difference, places),
    uncertainty: fixed(combinedUncertainty, places),
  }
}
