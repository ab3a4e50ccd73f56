/** Figures at the end of lines: the predicted clock of a step, the dew point of a room. What is behind them is looked up. */

import { onceFor } from '../../grammar/once.ts'
import type { Span } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import { dewPointC, wetPointC } from '../model/index.ts'
import { roomCorners } from '../semantic/constants.ts'
import { counts, type Definition, entries, entry, nameAfter } from '../semantic/definitions.ts'
import { type Evaluation, evaluate } from '../semantic/evaluate.ts'
import type { Judge } from '../semantic/expectations.ts'
import type { Prediction } from '../semantic/predict.ts'
import { clockText, temperatureText } from '../wording/figures.ts'
import { definitionsIn, type FileView, type Workspace } from '../workspace/workspace.ts'
import { definitionHover } from './facts/definition.ts'
import { evaluationOfGroup, groupsOfRow } from './facts/group.ts'
import { stepRowHover } from './facts/steps.ts'
import { answerOf } from './facts/told.ts'
import { activeCores, highest } from './profiles.ts'
import { isSettled } from './settled.ts'

export interface Hint {
  readonly offset: number
  /** Undefined while nothing can be predicted because something is in error; what was shown last may stay. */
  readonly label: string | undefined
  /** False while a line that the figure rests on does not read: what was shown last may stay. */
  readonly settled: boolean
  /** The same for the same row of the same profile, wherever it moves and while its ratio is being typed. */
  readonly key: string
  readonly kind: 'clock' | 'dew'
}

/** The end of the line on which this place is, or the place itself where another statement of the line follows it. */
function lineEnd(text: string, offset: number): number {
  const end = text.indexOf('\n', offset)
  const rest = text.slice(offset, end < 0 ? text.length : end).trimEnd()
  return /^[\s{}]*(?:#.*)?$/.test(rest) ? offset + rest.length : offset
}

/** The prediction with the lowest clock among the loads that a row covers. */
function slowest(whole: Evaluation, row: Match): Prediction | undefined {
  const [group] = groupsOfRow(whole.profile, row)
  const evaluation = group === undefined ? whole : evaluationOfGroup(whole, group)
  const range = counts(row, 'cores')
  if (!row.sound || range === undefined) return undefined
  const covered = evaluation.predictions.filter(({ load }) => {
    const cores = activeCores(load)
    return cores >= range.from && cores <= range.to
  })
  return highest(covered, settled => (settled.clockMhz === null ? null : -settled.clockMhz))?.prediction
}

/**
 * The rows of a table by the fewest cores they hold for, which can be read first while a row is typed. Of several with
 * the same, those that read come first, so that what is begun beside them takes nothing from them.
 */
function rowsByKey(table: Match): ReadonlyMap<string, Match> {
  const rows = table.children.filter(row => row.word?.word === '')
  const found = new Map<string, Match>()
  for (const row of [...rows.filter(one => one.sound), ...rows.filter(one => !one.sound)]) {
    const first = row.statement.items[0]
    if (first?.kind !== 'number') continue
    let key = `${first.value}`
    while (found.has(key)) key += ' again'
    found.set(key, row)
  }
  return found
}

/** The rows of the tables of steps that a profile states itself, those for a group of cores under its name. */
function stepRows(definition: Definition): readonly (readonly [key: string, row: Match])[] {
  const names = [...new Set(entries(definition.match, 'steps').map(nameAfter))]
  return names.flatMap(name => {
    const table = entry(definition.match, 'steps', name)
    if (table === undefined) return []
    return [...rowsByKey(table)].map(([key, row]) => [name === undefined ? key : `${name} ${key}`, row] as const)
  })
}

/** The clock of each row of steps, its place counted from where the chunk begins; kept with the evaluation. */
const rowClocks = onceFor((evaluation: Evaluation): readonly Pick<Hint, 'offset' | 'key' | 'label'>[] => {
  const { definition } = evaluation.profile
  return stepRows(definition).map(([key, row]) => {
    const found = evaluation.input.bench === undefined ? undefined : slowest(evaluation, row)
    return {
      offset: lineEnd(definition.chunk.text, row.statement.end),
      key: `${definition.name} ${key}`,
      label: found && clockText(found.settled.clockMhz),
    }
  })
})

function stepHints(view: FileView, evaluation: Evaluation, base: number): readonly Hint[] {
  const settled = isSettled(view, evaluation)
  return rowClocks(evaluation).flatMap(({ offset, key, label }): Hint[] =>
    // A row that no load reaches has no figure; one that does not read now may have had one.
    label === undefined && settled ? [] : [{ offset: base + offset, key, label, kind: 'clock', settled }],
  )
}

/** What stands behind the figure of a row: whose clock it is, and what each load comes to. The row's own hover has more. */
function stepText(evaluation: Evaluation, key: string): string | undefined {
  const { definition } = evaluation.profile
  if (evaluation.input.bench === undefined) return undefined
  const row = stepRows(definition).find(([one]) => `${definition.name} ${one}` === key)?.[1]
  const found = row && slowest(evaluation, row)
  if (row === undefined || found === undefined) return undefined
  const shown = stepRowHover(evaluation, row)
  return shown && answerOf(shown)
}

function roomHint(room: Definition, base: number): readonly Hint[] {
  const corners = roomCorners(room).value
  if (corners === undefined || corners.length === 0) return []
  const points = corners.map(({ airC, humidityPct }) => wetPointC(airC, humidityPct))
  const [low, high] = [Math.min(...points), Math.max(...points)].map(temperatureText)
  const dew = corners.every(({ airC, humidityPct }) => dewPointC(airC, humidityPct) >= 0)
  const label = `${dew ? 'dew' : 'dew or frost'} point ${low === high ? low : `${low} to ${high}`}`
  return [
    { offset: base + lineEnd(room.chunk.text, room.nameSpan.end), label, key: room.name, kind: 'dew', settled: true },
  ]
}

/**
 * The hints of a file, in order.
 * @param within the stretch that is visible: of definitions outside of it nothing is predicted for their sake
 */
export function hints(workspace: Workspace, uri: string, within?: Span): readonly Hint[] {
  const view = workspace.view(uri)
  if (view === undefined) return []
  const { document } = view
  const visible = within === undefined ? document.definitions : definitionsIn(document, within)
  const found = visible.flatMap(definition => {
    const base = document.starts.get(definition.chunk)
    if (base === undefined) return []
    if (definition.kind === 'room') return roomHint(definition, base)
    return definition.kind === 'profile' ? stepHints(view, evaluate(view.scope, definition), base) : []
  })
  return found.sort((a, b) => a.offset - b.offset)
}

/** What stands behind a hint, as Markdown; undefined where there is no more to say, or the hint is gone. */
export function hintText(
  workspace: Workspace,
  uri: string,
  { kind, key }: Pick<Hint, 'kind' | 'key'>,
  judge: Judge,
): string | undefined {
  const view = workspace.view(uri)
  if (view === undefined) return undefined
  if (kind === 'dew') {
    const room = view.document.definitions.find(one => one.kind === 'room' && one.name === key)
    return room && answerOf(definitionHover(workspace, view, room, judge))
  }
  const definition = view.profiles.find(({ name }) => key.startsWith(`${name} `))
  return definition && stepText(evaluate(view.scope, definition), key)
}
