import type { Match } from '../../grammar/values.ts'
import { dewPointC, wetPointC } from '../model/index.ts'
import { roomCorners } from '../semantic/constants.ts'
import { counts, type Definition, entry } from '../semantic/definitions.ts'
import { type Evaluation, evaluate } from '../semantic/evaluate.ts'
import type { Prediction } from '../semantic/predict.ts'
import type { FileView, Workspace } from '../workspace/workspace.ts'
import { clock, temperature } from './figures.ts'
import { loadText, settledCell } from './hover/predicted.ts'
import { stepRowHover } from './hover/steps.ts'
import { activeCores, highest } from './profiles.ts'
import { isSettled } from './settled.ts'

/** Figures beside the text, where a person asks for them: the predicted clock of a step, the dew point of a room. */

export interface Hint {
  readonly offset: number
  /** Undefined while nothing can be predicted because something is in error; what was shown last may stay. */
  readonly label: string | undefined
  /** False while a line that the figure rests on does not read: what was shown last may stay. */
  readonly settled: boolean
  /** The same for the same row of the same profile, wherever it moves and while its ratio is being typed. */
  readonly key: string
  readonly kind: 'clock' | 'dew'
  /** Markdown. */
  readonly tooltip: string | undefined
}

/** The prediction with the lowest clock among the loads that a row covers. */
function slowest(evaluation: Evaluation, row: Match): Prediction | undefined {
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

function stepHints(view: FileView, evaluation: Evaluation, base: number): readonly Hint[] {
  const table = entry(evaluation.profile.definition.match, 'steps')
  if (table === undefined) return []
  const { definition } = evaluation.profile
  const settled = isSettled(view, evaluation)
  return [...rowsByKey(table)].flatMap(([key, row]): Hint[] => {
    const place = {
      offset: base + row.statement.end,
      key: `${definition.name} ${key}`,
      kind: 'clock' as const,
      settled,
    }
    const found = evaluation.input.bench === undefined ? undefined : slowest(evaluation, row)
    // A row that no load reaches has no figure; one that does not read now may have had one.
    if (found === undefined) return settled ? [] : [{ ...place, label: undefined, tooltip: undefined }]
    const label = `${clock(found.settled.clockMhz)} ${loadText({ name: found.load.name, cores: activeCores(found.load) })}`
    const tooltip = stepRowHover(evaluation, row) ?? settledCell(found.settled)
    return [{ ...place, label, tooltip }]
  })
}

function roomHint(room: Definition, base: number): readonly Hint[] {
  const corners = roomCorners(room).value
  if (corners === undefined || corners.length === 0) return []
  const points = corners.map(({ airC, humidityPct }) => wetPointC(airC, humidityPct))
  const [low, high] = [Math.min(...points), Math.max(...points)].map(temperature)
  const dew = corners.every(({ airC, humidityPct }) => dewPointC(airC, humidityPct) >= 0)
  const label = `${dew ? 'dew' : 'dew or frost'} point ${low === high ? low : `${low} to ${high}`}`
  return [{ offset: base + room.nameSpan.end, label, key: room.name, kind: 'dew', tooltip: undefined, settled: true }]
}

/** The hints of a file, in order. */
export function hints(workspace: Workspace, uri: string): readonly Hint[] {
  const view = workspace.view(uri)
  if (view === undefined) return []
  const predicted = new Set(view.predicted)
  const found = view.document.definitions.flatMap(definition => {
    const base = view.document.starts.get(definition.chunk)
    if (base === undefined) return []
    if (definition.kind === 'room') return roomHint(definition, base)
    return predicted.has(definition) ? stepHints(view, evaluate(view.scope, definition), base) : []
  })
  return found.sort((a, b) => a.offset - b.offset)
}
