/** Runs beside their predictions, for reading and for scripts. */

import {
  type ComparedFigure,
  type ComparedRun,
  courseLogText,
  figureCells,
  figuresOfCourse,
  figureUnit,
  groupOfFigure,
  kindOfFigure,
  logText,
  oddText,
  outcomeText,
  settingsText,
  settledText,
  stepName,
  underText,
  unmeasuredText,
} from '../../service.ts'
import { paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { tableText, widthOf, wrapped } from './table.ts'

export interface ShownRun {
  readonly file: string
  readonly run: ComparedRun
}

const orNull = <T>(value: T | undefined): T | null => value ?? null

export function runsJson(runs: readonly ShownRun[]): string {
  const list = runs.map(({ file, run }) => {
    const { record, predicted, compared, log, settled, settings } = run
    const read = log?.state === 'read' ? log : undefined
    return {
      file,
      run: record.name,
      profile: record.profile,
      load: record.course === undefined ? record.load : null,
      course: orNull(record.course),
      revision: orNull(record.revision),
      settings: settings.from,
      settings_why: settings.from === 'not-had' ? settings.why : null,
      air_c: orNull(predicted?.corner.airC),
      humidity_pct: orNull(predicted?.corner.humidityPct),
      held_s: record.outcome?.kind === 'held' ? record.outcome.forS : null,
      stopped_s: record.outcome?.kind === 'stopped' ? record.outcome.afterS : null,
      stopped_why: record.outcome?.kind === 'stopped' ? record.outcome.what : null,
      log: log === undefined ? null : log.state,
      rows: orNull(read?.rows),
      malformed_rows: orNull(read?.malformed.count),
      window_s: settled === undefined ? null : [settled.fromS, settled.toS],
      to_go_k: orNull(settled?.toGoK),
      halved_after_s: orNull(settled?.secondsToHalve()),
      why: run.cannot ?? (read === undefined || settled !== undefined ? null : orNull(settledText(run))),
      figures: compared.map(figureJson),
      steps: stepsJson(run),
      odd: run.odd.map(oddText),
      assumed: [...(predicted?.assumed ?? []), ...(read?.assumed ?? [])],
    }
  })
  return `${JSON.stringify({ version: 1, runs: list }, undefined, 2)}\n`
}

function figureJson(one: ComparedFigure) {
  const [kind, group] = [kindOfFigure(one.figure), groupOfFigure(one.figure)]
  return {
    figure: kind,
    ...(group === undefined ? {} : { group }),
    unit: figureUnit[kind],
    measured: one.measured.value,
    measured_uncertainty: one.measured.standardUncertainty,
    predicted: one.predicted,
    predicted_uncertainty: one.predictedUncertainty,
    difference: one.difference,
    combined_uncertainty: one.combinedUncertainty,
    off: one.off,
  }
}

/** The steps of a course that were found in the log, in s since its first row; null for a run under a load. */
function stepsJson({ courseLog, predicted, series }: ComparedRun) {
  if (courseLog === undefined || typeof courseLog === 'string' || predicted === undefined) return null
  return courseLog.steps.map(step => ({
    load: stepName(predicted.ofCourse?.resolved.lines[step.line]),
    start_s: series?.fromS[step.from] ?? null,
    end_s: series?.toS[step.to - 1] ?? null,
    figures: (figuresOfCourse(predicted, courseLog, step) ?? []).map(figureJson),
  }))
}

/** What there is to say of a run's log. */
function logWords(run: ComparedRun): string[] {
  const { log } = run
  const words: string[] = []
  if (log !== undefined && log.state !== 'read') words.push(logText(log))
  if (log?.state === 'read') {
    const { rows, malformed, gapCount, missingColumns } = log
    words.push(rows === 0 ? logText(log) : `${rows} row${rows === 1 ? '' : 's'}`)
    if (!log.hasTime) words.push('1 s assumed between rows')
    const first = malformed.first[0]
    if (malformed.count > 0)
      words.push(
        `${malformed.count} not read${first === undefined ? '' : `, the first at line ${first.line}: ${first.reason}`}`,
      )
    if (gapCount > 0) words.push(`${gapCount} gap${gapCount === 1 ? '' : 's'}`)
    for (const { header } of missingColumns) words.push(`it has no column "${header}"`)
  }
  const settled = settledText(run)
  if (settled !== undefined) words.push(settled)
  const steps = courseLogText(run)
  if (steps !== undefined) words.push(steps)
  return words
}

/** What is off in each step of a course. */
function stepsText({ courseLog, predicted }: ComparedRun, width: number): string {
  if (courseLog === undefined || typeof courseLog === 'string' || predicted === undefined) return ''
  const lines = courseLog.steps.map(step => {
    const name = stepName(predicted.ofCourse?.resolved.lines[step.line])
    const cells = (figuresOfCourse(predicted, courseLog, step) ?? []).map(one => {
      const { figure, measured, difference, uncertainty } = figureCells(one)
      return `${figure} ${measured} (${difference} ± ${uncertainty}${one.off ? ', off' : ''})`
    })
    return wrapped(`${name}: ${cells.join(', ')}`, '  ', width)
  })
  return lines.length === 0 ? '' : `  by step, measured less predicted:\n${lines.join('')}`
}

export function runsText(runs: readonly ShownRun[], io: Io): string {
  if (runs.length === 0) return 'No runs here.\n'
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  return runs
    .map(({ file, run }) => {
      const { record, compared, predicted, cannot } = run
      const head = `${paint('bold', `run ${record.name}`)} of ${record.profile} under ${underText(record)}  ${paint('dim', file)}\n`
      const known = [outcomeText(record), cannot, settingsText(run.settings), ...run.odd.map(oddText)].filter(
        one => one !== undefined,
      )
      const isBare = record.log === undefined && Object.keys(record.measured).length === 0
      const words = [...known, ...(isBare ? [unmeasuredText(record)] : logWords(run)), ...(predicted?.assumed ?? [])]
      const about = words.length === 0 ? '' : wrapped(words.join('; '), '  ', width)
      if (compared.length === 0) return `${head}${about}  nothing to compare\n`
      const table = tableText(
        [
          { head: 'figure', side: 'left', key: true },
          { head: 'measured', side: 'right' },
          { head: 'predicted', side: 'right' },
          { head: 'difference', side: 'right' },
          { head: '±', side: 'right' },
          { head: '', side: 'left' },
        ],
        compared.map(one => {
          const { figure, measured, predicted, difference, uncertainty } = figureCells(one)
          const off = one.off ? 'off by more than twice the ±' : ''
          const plain = [figure, measured, predicted, difference, uncertainty].map(text => ({ text }))
          return [...plain, { text: off, shown: one.off ? paint('yellow', off) : off }]
        }),
        width,
      )
      return `${head}${about}${table}${stepsText(run, width)}`
    })
    .join('\n')
}
