import { figureUnit } from '../../bench/log/figures.ts'
import type { ComparedRun } from '../../bench/run/compared.ts'
import { logText, oddText, outcomeText, settingsText, stretchText, unsteadyText } from '../../bench/run/wording.ts'
import { decimalsOfUnit, signed } from '../../wording/figures.ts'
import { list, paragraphs, prose, table } from '../markdown.ts'

/** Hover of a run: what was measured beside what is predicted for it, and how the measured figures were obtained. */

function logLines(run: ComparedRun): string[] {
  const { log, window, unsteady, windowS } = run
  if (log === undefined) return []
  if (log.state !== 'read') return [logText(log)]
  const steady =
    window === undefined
      ? unsteady === undefined
        ? []
        : [unsteadyText(unsteady, windowS)]
      : [`means of the steady stretch from ${stretchText(run)}`]
  const lost = log.malformed.count === 0 ? [] : [`${log.malformed.count} rows of the log could not be read`]
  return [`${log.rows} rows of the log`, ...lost, ...steady]
}

export function runFigures(run: ComparedRun): string {
  const { record, compared, cannot, predicted } = run
  const rows = compared.map(one => {
    const unit = figureUnit[one.figure]
    const digits = decimalsOfUnit(unit)
    return [
      one.figure,
      `${one.measured.value.toFixed(digits)} ${unit}`,
      `${one.predicted.toFixed(digits)} ${unit}`,
      `${signed(one.difference, digits)} ± ${one.combinedUncertainty.toFixed(digits)}${one.off ? ' (off)' : ''}`,
    ]
  })
  const about = [outcomeText(record), cannot, settingsText(run.settings), ...run.odd.map(oddText)].filter(
    one => one !== undefined,
  )
  const lines = [...about, ...logLines(run), ...(predicted?.assumed ?? [])]
  return paragraphs(
    rows.length === 0 ? 'Nothing to compare.' : table(['Figure', 'Measured', 'Predicted', 'Difference'], rows),
    rows.length === 0
      ? undefined
      : 'Predicted at the air and humidity of the run; ± is one standard uncertainty of reading, constants and instrument together, and `off` means more than two of them.',
    lines.length === 0 ? undefined : list(lines.map(prose)),
  )
}
