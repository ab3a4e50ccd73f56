/** The core counts that a profile's loads stand for on its part. */

import { onceFor } from '../../grammar/once.ts'
import type { GroupLoad, Load, Part } from '../model/types.ts'
import { type LoadConstants, loadConstants } from './constants.ts'
import type { Definition } from './definitions.ts'

export interface LoadCase {
  readonly name: string
  /** Absent for the built-in loads. */
  readonly definition: Definition | undefined
  readonly load: Load
  /** Seen as one group of cores: what the others do, in words, where that tells it from a load with the same count. */
  readonly beside?: string
}

/** More points of one load are not predicted: that is a finding. */
export const mostPoints = 1000

/** Why a load is left out on a part; undefined where it is not. */
export type LeftOut = 'unknown-group' | 'too-many'

/** Numbers of busy cores of each group, in the part's order. */
type Point = readonly number[]

/** The points of a load that names groups. @returns why there is none, where there is a reason */
function grid(groups: NonNullable<Part['groups']>, { groups: named }: LoadConstants): readonly Point[] | LeftOut {
  if (named.some(({ group }) => !groups.some(({ name }) => name === group))) return 'unknown-group'
  let points: Point[] = [[]]
  for (const { name, cores } of groups) {
    const own = named.find(({ group }) => group === name) ?? { from: 0, to: 0 }
    const to = Math.min(own.to, cores)
    if (points.length * (to - own.from + 1) > mostPoints + 1) return 'too-many'
    const next: Point[] = []
    for (const point of points) for (let count = own.from; count <= to; count++) next.push([...point, count])
    points = next
  }
  const busy = points.filter(point => point.some(count => count > 0))
  return busy.length > mostPoints ? 'too-many' : busy
}

function filled(groups: NonNullable<Part['groups']>, cores: number): Point {
  let left = cores
  return groups.map(group => {
    const own = Math.min(left, group.cores)
    left -= own
    return own
  })
}

/** What a load asks of each group of a part. */
function groupLoadsOf(groups: NonNullable<Part['groups']>, point: Point, constants: LoadConstants): GroupLoad[] {
  return groups.map(({ name }, index) => ({
    cores: point[index] as number,
    activity: constants.activities.get(name) ?? constants.work.activity,
  }))
}

/** A load at some counts of its groups. @param point busy cores of each group, in the part's order */
export function loadAt(part: Part, constants: LoadConstants, point: Point): Extract<Load, { kind: 'work' }> {
  const cores = point.reduce((sum, own) => sum + own, 0)
  const { work } = constants
  if (part.groups === undefined) return { kind: 'work', cores, ...work }
  return { kind: 'work', cores, ...work, groups: groupLoadsOf(part.groups, point, constants) }
}

/** Every point of a load on a part, or why it is left out. */
export function pointsOf(part: Part, constants: LoadConstants): readonly Point[] | LeftOut {
  const { fromCores, toCores, groups: named } = constants
  if (part.groups !== undefined && named.length > 0) return grid(part.groups, constants)
  if (named.length > 0) return 'unknown-group'
  const points: Point[] = []
  for (let count = fromCores; count <= Math.min(toCores, part.cores); count++) {
    points.push(part.groups === undefined ? [count] : filled(part.groups, count))
  }
  return points
}

const leftOutTexts: Readonly<Record<LeftOut, string>> = {
  'unknown-group': 'it keeps cores of a group busy that the part does not have',
  'too-many': `it stands for more than ${mostPoints} points, which are not predicted`,
}

/** Why a load is left out on a part, in words for a message about it; undefined where it is not. */
export function leftOutText(part: Part, constants: LoadConstants): string | undefined {
  const points = pointsOf(part, constants)
  return typeof points === 'string' ? leftOutTexts[points] : undefined
}

/** The cases of a declared load, the very same each time; none where it does not read or is left out. */
export const casesOf = (part: Part, definition: Definition): readonly LoadCase[] => casesOn(part)(definition)

/** Evicted with the part's constants or the load's chunk. */
const casesOn = onceFor((part: Part) =>
  onceFor((definition: Definition): readonly LoadCase[] => {
    const constants = loadConstants(definition).value
    const points = constants && pointsOf(part, constants)
    if (constants === undefined || points === undefined || typeof points === 'string') return []
    return points.map(point => ({ name: definition.name, definition, load: loadAt(part, constants, point) }))
  }),
)

/** How many points a load declares, whatever part it meets. */
export function declaredPoints({ fromCores, toCores, groups }: LoadConstants): number {
  if (groups.length === 0) return toCores - fromCores + 1
  const all = groups.reduce((product, { from, to }) => product * (to - from + 1), 1)
  return groups.every(({ from }) => from === 0) ? all - 1 : all
}
