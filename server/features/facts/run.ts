/** Hover of a run: what was measured beside what is predicted for it, and how the measured figures were obtained. */

import type { ComparedRun } from '../../bench/run/compared.ts'
import {
  courseLogText,
  figureCells,
  logText,
  oddText,
  outcomeText,
  settingsText,
  settledText,
} from '../../bench/run/wording.ts'
import { list, prose, table } from '../markdown.ts'
import { type Told, told } from './told.ts'

function logLines(run: ComparedRun): string[] {
  const { log } = run
  if (log === undefined) return []
  if (log.state !== 'read') return [logText(log)]
  const lost = log.malformed.count === 0 ? [] : [`${log.malformed.count} rows of the log could not be read`]
  const settled = settledText(run)
  const steps = courseLogText(run)
  return [
    `${log.rows} rows of the log`,
    ...lost,
    ...(settled === undefined ? [] : [settled]),
    ...(steps === undefined ? [] : [steps]),
  ]
}

export function runFigures(run: ComparedRun): Told {
  const { record, compared, cannot, predicted } = run
  const rows = compared.map(one => {
    const { figure, measured, predicted, difference, uncertainty } = figureCells(one)
    return [figure, measured, predicted, `${difference} ± ${uncertainty}${one.off ? ' (off)' : ''}`]
  })
  const off = compared.filter(one => one.off).map(one => one.figure)
  const verdict =
    rows.length === 0
      ? 'Nothing to compare.'
      : off.length === 0
        ? 'Measured agrees with predicted, within two standard uncertainties.'
        : `**Off**: ${off.join(', ')}, by more than two standard uncertainties.`
  const lines = [...run.odd.map(oddText), ...logLines(run), ...(predicted?.assumed ?? [])]
  return told({
    lines: [verdict, ...[cannot, outcomeText(record), settingsText(run.settings)].map(one => one && prose(one))],
    tables: [rows.length === 0 ? '' : table(['Figure', 'Measured', 'Predicted', 'Difference'], rows)],
    rest: [
      rows.length === 0
        ? undefined
        : 'Predicted at the air and humidity of the run; ± is one standard uncertainty of reading, constants and instrument together, and `off` means more than two of them.',
      list(lines.map(prose)),
    ],
  })
}
