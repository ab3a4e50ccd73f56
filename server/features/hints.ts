import type { Match } from '../../grammar/values.ts'
import { dewPointC, wetPointC } from '../model/index.ts'
import { roomCorners } from '../semantic/constants.ts'
import { counts, type Definition, entry, rows } from '../semantic/definitions.ts'
import { type Evaluation, evaluate } from '../semantic/evaluate.ts'
import type { Prediction } from '../semantic/predict.ts'
import type { Workspace } from '../workspace/workspace.ts'
import { clock, temperature } from './figures.ts'
import { loadText, settledCell } from './hover/predicted.ts'
import { stepRowHover } from './hover/steps.ts'
import { activeCores, highest } from './profiles.ts'

/** Figures beside the text, where a person asks for them: the predicted clock of a step, the dew point of a room. */

export interface Hint {
  readonly offset: number
  /** Undefined while nothing can be predicted because something is in error; what was shown last may stay. */
  readonly label: string | undefined
  /** The same for the same row of the same profile, wherever it moves. */
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

function stepHints(evaluation: Evaluation, base: number): readonly Hint[] {
  const table = entry(evaluation.profile.definition.match, 'steps')
  if (table === undefined) return []
  const { definition } = evaluation.profile
  return rows(table).flatMap((row): Hint[] => {
    const { start, end } = row.statement
    const place = {
      offset: base + end,
      key: `${definition.name} ${definition.chunk.text.slice(start, end)}`,
      kind: 'clock' as const,
    }
    if (evaluation.input.bench === undefined) return [{ ...place, label: undefined, tooltip: undefined }]
    const found = slowest(evaluation, row)
    if (found === undefined) return []
    const { settled, load } = found
    const label = `${clock(settled.clockMhz)} ${loadText({ name: load.name, cores: activeCores(load) })}`
    const tooltip = stepRowHover(evaluation, row) ?? settledCell(settled)
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
  return [{ offset: base + room.nameSpan.end, label, key: room.name, kind: 'dew', tooltip: undefined }]
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
    return predicted.has(definition) ? stepHints(evaluate(view.scope, definition), base) : []
  })
  return found.sort((a, b) => a.offset - b.offset)
}
