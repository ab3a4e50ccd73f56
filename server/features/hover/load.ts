import { loadConstants } from '../../semantic/constants.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { settledCell } from '../../wording/cells.ts'
import { coresText } from '../../wording/counts.ts'
import { plain } from '../../wording/figures.ts'
import { cornerText } from '../../wording/places.ts'
import { code, paragraphs, shortened, table } from '../markdown.ts'
import { innerCorners, loadsWithin, outerCorners, settledAt } from '../profiles.ts'
import { loadDetail } from './load-detail.ts'
import { endsText } from './predicted.ts'

/** Hover of a load: what it settles at under each profile. */

const mostRows = 8

export function loadFacts(load: Definition): string | undefined {
  const constants = loadConstants(load).value
  if (constants === undefined) return undefined
  const { fromCores, toCores, work } = constants
  const { activity, vector, uneven } = work
  const hottest = uneven === 1 ? '' : `, its hottest core at ${plain(uneven)} times the mean`
  return `${coresText(fromCores, toCores)}, activity ${plain(activity)}${vector ? ', vector' : ''}${hottest}`
}

function rowsOf(evaluation: Evaluation, name: string): readonly (readonly string[])[] {
  const corners = outerCorners(evaluation)
  const profile = evaluation.profile.definition.name
  const warmest = corners.at(-1)
  if (warmest === undefined) return []
  const coolest = corners.length > 1 ? corners[0] : undefined
  const loads =
    name === 'idle' || name === 'off' ? [{ name, cores: 0, vector: false }] : loadsWithin(evaluation, () => true)
  return loads
    .filter(load => load.name === name)
    .map(load => [
      load.cores === 0 ? profile : `${profile} (${coresText(load.cores)})`,
      coolest === undefined ? '' : `${cornerText(coolest)}: ${settledCell(settledAt(evaluation, load, coolest))}`,
      `${cornerText(warmest)}: ${settledCell(settledAt(evaluation, load, warmest))}`,
    ])
}

/** What the table leaves out: corners between the outer ones, counts between the fewest and the most. */
function leftOut(seen: readonly Evaluation[], name: string): string | undefined {
  const inner = Math.max(...seen.map(one => innerCorners(one).length))
  const corners = inner === 0 ? undefined : `Rooms have up to ${inner} more corners between these two.`
  const ends = seen.map(one => endsText(loadsWithin(one, () => true).filter(load => load.name === name)))
  const lines = [corners, ends.find(one => one !== undefined)].filter(line => line !== undefined)
  return lines.length === 0 ? undefined : lines.join(' ')
}

/** A table of profiles for a load, or why there is none. */
export function loadFigures(evaluations: readonly Evaluation[], name: string): string {
  const seen = evaluations.filter(one => one.input.bench !== undefined)
  const all = seen.flatMap(one => rowsOf(one, name))
  if (all.length === 0) return `No profile here predicts ${code(name)}.`
  const { rows, more } = shortened(all, mostRows)
  return paragraphs(
    table(['Profile', 'Coolest corner', 'Warmest corner'], rows),
    more,
    leftOut(seen, name),
    loadDetail(seen, name),
  )
}
