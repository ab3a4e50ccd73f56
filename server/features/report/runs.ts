/** What a report says of a run: its log over the prediction, and the figures side by side. */

import type { ComparedRun } from '../../bench/run/compared.ts'
import { underText } from '../../bench/run/record.ts'
import {
  courseLogText,
  figureCells,
  logText,
  oddText,
  outcomeText,
  settingsText,
  settledText,
} from '../../bench/run/wording.ts'
import { column, plain } from '../../wording/figures.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import { benchDifferences, shortened } from '../compare/settings.ts'
import { drawnRun } from '../views/index.ts'
import { type Block, heading, none, table, text } from './blocks.ts'

const size = { width: 640, height: 470 }

/** What is known of the bench by other figures now than at the run's revision. */
function constantsThen({ asRun, asKnownThen, settings }: ComparedRun): Block[] {
  if (asRun === undefined || asKnownThen === undefined || !('revision' in settings)) return []
  const rows = shortened(benchDifferences([asKnownThen, asRun])).map(({ key, values }) => [
    key,
    ...values.map(value => value ?? none),
  ])
  if (rows.length === 0) return []
  return [
    text(`Constants that have changed since revision ${settings.revision}; the prediction uses today’s:`),
    table(['constant', `at ${settings.revision}`, 'now'], rows),
  ]
}

/** The air of a run, and the fan that is predicted for it. */
function surroundings({ record, predicted, figures }: ComparedRun): string {
  const { air, humidity } = record
  const fan = predicted?.prediction.settled.fanPct
  return [
    ...(air === undefined ? [] : [`air ${plain(air.value)} °C`]),
    ...(humidity === undefined ? [] : [`humidity ${plain(humidity.value)} %`]),
    ...(fan === undefined || fan === null
      ? []
      : [`fan ${figures.fan === undefined ? 'predicted' : 'measured'} at ${column(fan, 0)} %`]),
  ].join(', ')
}

export function runBlocks(workspace: Workspace, run: ComparedRun): Block[] {
  const { record, compared, log, cannot } = run
  const words: string[] = []
  if (record.date !== undefined) words.push(`run on ${record.date}`)
  const around = surroundings(run)
  if (around !== '') words.push(around)
  const outcome = outcomeText(record)
  if (outcome !== undefined) words.push(outcome)
  words.push(...run.odd.map(oddText))
  const settings = settingsText(run.settings)
  if (settings !== undefined) words.push(settings)
  if (log?.state === 'read') words.push(`${log.rows} rows of its log, ${log.malformed.count} not read`)
  else if (log !== undefined) words.push(logText(log))
  const settled = settledText(run)
  if (settled !== undefined) words.push(settled)
  const steps = courseLogText(run)
  if (steps !== undefined) words.push(steps)
  if (cannot !== undefined) words.push(cannot)
  const rows = compared.map(one => {
    const { figure, measured, predicted, difference, uncertainty } = figureCells(one)
    return [figure, measured, predicted, difference, uncertainty, one.off ? 'off' : '']
  })
  return [
    heading(3, `Run ${record.name} of ${record.profile} under ${underText(record)}`),
    ...(words.length === 0 ? [] : [text(`${words.join('; ')}.`)]),
    ...runPictures(workspace, run),
    rows.length === 0
      ? text('Nothing to compare.')
      : table(['figure', 'measured', 'predicted', 'difference', '±', ''], rows),
    ...constantsThen(run),
    ...(record.scores.length === 0
      ? []
      : [
          text(
            `Scores: ${record.scores.map(({ value, unit, better }) => `${value} ${unit} (${better} is better)`).join(', ')}.`,
          ),
        ]),
  ]
}

/** A run's log over what is predicted for it; nothing where it has no log to draw. */
function runPictures(workspace: Workspace, run: ComparedRun): Block[] {
  const picture = drawnRun(workspace, run, { ...size, id: `run-${run.record.name}` })
  return picture === undefined ? [] : [{ kind: 'pictures', pictures: [picture] }]
}
