/** Hover of a load: what it settles at under each profile. */

import type { Settled } from '../../model/types.ts'
import { loadConstants } from '../../semantic/constants.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { coresText, listed } from '../../wording/counts.ts'
import { plain } from '../../wording/figures.ts'
import { cornerText } from '../../wording/places.ts'
import { code, paragraphs, shortened } from '../markdown.ts'
import { innerCorners, loadsWithin, outerCorners, settledAt } from '../profiles.ts'
import { loadDetail } from './load-detail.ts'
import { answerLines, endsText, settledTable } from './predicted.ts'
import { type Told, together, told } from './told.ts'

const mostRows = 8

export function loadFacts(load: Definition): string | undefined {
  const constants = loadConstants(load).value
  if (constants === undefined) return undefined
  const { fromCores, toCores, groups, activities, work } = constants
  const { activity, vector, uneven } = work
  const hottest = uneven === 1 ? '' : `, its hottest core at ${plain(uneven)} times the mean`
  const rest = `${vector ? ', vector' : ''}${hottest}`
  if (groups.length === 0) {
    const own = [...activities].map(([group, value]) => `, ${plain(value)} of ${group}`)
    return `${coresText(fromCores, toCores)}, activity ${plain(activity)}${own.join('')}${rest}`
  }
  const each = groups.map(({ group, from, to }) => {
    return `${coresText(from, to)} of ${group} at activity ${plain(activities.get(group) ?? activity)}`
  })
  return `${listed(each)}${rest}`
}

interface Row {
  readonly corner: 'warmest' | 'coolest'
  readonly name: string
  readonly settled: Settled | undefined
}

/** A load under a profile in the room's warmest corner, and in its coolest where that is another. */
function rowsOf(evaluation: Evaluation, name: string): readonly Row[] {
  const corners = outerCorners(evaluation)
  const profile = evaluation.profile.definition.name
  const loads =
    name === 'idle' || name === 'off' ? [{ name, cores: 0, vector: false }] : loadsWithin(evaluation, () => true)
  return corners.toReversed().flatMap((corner, index) =>
    loads
      .filter(load => load.name === name)
      .map(load => ({
        corner: index === 0 ? 'warmest' : 'coolest',
        name: `${load.cores === 0 ? profile : `${profile} (${coresText(load.cores)})`}, ${cornerText(corner)}`,
        settled: settledAt(evaluation, load, corner),
      })),
  )
}

/** What the table leaves out: corners between the outer ones, counts between the fewest and the most. */
function leftOut(seen: readonly Evaluation[], name: string): string | undefined {
  const inner = Math.max(...seen.map(one => innerCorners(one).length))
  const corners = inner === 0 ? undefined : `Rooms have up to ${inner} more corners between these two.`
  const ends = seen.map(one => endsText(loadsWithin(one, () => true).filter(load => load.name === name)))
  const lines = [corners, ends.find(one => one !== undefined)].filter(line => line !== undefined)
  return lines.length === 0 ? undefined : lines.join(' ')
}

/** What a load settles at under each profile, or that none predicts it. */
export function loadFigures(evaluations: readonly Evaluation[], name: string): Told {
  const seen = evaluations.filter(one => one.input.bench !== undefined)
  const all = seen.flatMap(one => rowsOf(one, name))
  if (all.length === 0) return told({ lines: [`No profile here predicts ${code(name)}.`] })
  const tableOf = (corner: Row['corner'], head: string): string => {
    const { rows, more } = shortened(
      all.filter(row => row.corner === corner),
      mostRows,
    )
    return rows.length === 0 ? '' : paragraphs(settledTable(head, rows), more)
  }
  const coolest = tableOf('coolest', 'Coolest corner')
  const isShort = all.length <= mostRows
  return together(
    told({
      lines: answerLines(seen, ({ load }) => load.name === name),
      tables: [tableOf('warmest', 'Warmest corner'), isShort ? coolest : ''],
      rest: [isShort ? '' : coolest, leftOut(seen, name)],
    }),
    loadDetail(seen, name),
  )
}
