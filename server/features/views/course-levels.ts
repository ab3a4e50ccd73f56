/** What a course is drawn beside: the bands of the cores at work, limits, and the air's wet point. */

import { limitWords } from '../../../grammar/vocabulary/index.ts'
import type { CoursePanel } from '../../charts/course.ts'
import { groupLoads, isWork, type Load } from '../../model/index.ts'
import { dieCeilingC } from '../../model/ratio.ts'
import { runsCold } from '../../semantic/coolers/index.ts'
import { limits, limitUnit } from '../../semantic/limiters.ts'
import { plain, temperatureText } from '../../wording/figures.ts'
import { bandRow, type Case, ceilingPlace, type Scene } from './scene.ts'

/** Core counts that are at work; of a part with groups those of one of them. */
interface Busy {
  readonly group: string | undefined
  readonly counts: readonly number[]
}

/** What levels of temperature depend on: the core counts that are at work, and the air's wet point. */
export interface At {
  readonly busy: readonly Busy[]
  readonly wetC: number
}

/** The core counts that some loads keep busy, in the part's order. */
export function busyIn({ bench: { part } }: Scene, loads: readonly Load[]): readonly Busy[] {
  const work = loads.filter(isWork)
  const countsOf = (of: (load: (typeof work)[number]) => number): readonly number[] =>
    [...new Set(work.map(of))].filter(cores => cores > 0)
  const { groups } = part
  if (groups === undefined) return [{ group: undefined, counts: countsOf(({ cores }) => cores) }]
  return groups
    .map(({ name }, index) => ({ group: name, counts: countsOf(load => groupLoads(part, load)[index]?.cores ?? 0) }))
    .filter(({ counts }) => counts.length > 0)
}

export const ofCase = (scene: Scene, { load, settled }: Case): At => ({
  busy: busyIn(scene, [load]),
  wetC: settled.wetC,
})

/** The thresholds of the bands that act at these counts, each with a count and a group that it acts on. */
function thresholdsOf({ bench: { part, profile } }: Scene, busy: readonly Busy[]) {
  return busy.flatMap(({ group, counts }) => {
    const at = part.groups?.findIndex(({ name }) => name === group) ?? -1
    const bands = (group === undefined ? profile : profile.groups?.[at])?.bands ?? []
    const found = new Map<number, number>()
    for (const { fromCores, toCores, aboveC } of bands) {
      const cores = counts.find(count => count >= fromCores && count <= toCores)
      if (cores !== undefined) found.set(aboveC, cores)
    }
    return [...found].map(([aboveC, cores]) => ({ aboveC, cores, group }))
  })
}

export function levelsOf(scene: Scene, { busy, wetC }: At): CoursePanel['levels'] {
  const { bench } = scene
  const ceilingC = dieCeilingC(bench.part, bench.profile)
  const wetName = wetC < 0 ? 'frost point' : 'dew point'
  return [
    {
      at: ceilingC,
      text: `die limit ${plain(ceilingC)} °C`,
      sentence: `Die limit ${plain(ceilingC)} °C.`,
      place: ceilingPlace(scene),
      kind: 'limit',
    },
    ...thresholdsOf(scene, busy).map(({ aboveC: at, cores, group }) => {
      const row = bandRow(scene, cores, at, group)
      const whose = group === undefined ? '' : ` of ${group}`
      return {
        at,
        text: `band${whose} ${plain(at)} °C`,
        sentence: `Above ${plain(at)} °C a band gives ratio${whose} back.`,
        place: scene.placeOf(row?.definition, row?.match),
        kind: 'level' as const,
      }
    }),
    ...(runsCold(bench.cooler)
      ? [
          {
            at: wetC,
            text: `${wetName} ${temperatureText(wetC)}`,
            sentence: `${wetName} ${temperatureText(wetC)}.`,
            place: undefined,
            kind: 'wet' as const,
          },
        ]
      : []),
  ]
}

export function powerLevels({ bench, evaluation, placeOf }: Scene): CoursePanel['levels'] {
  const ofPower = limitWords.filter(word => limitUnit(word) === 'W')
  return ofPower.flatMap(word => {
    const at = limits[word]?.valueOf(bench)
    if (at === undefined) return []
    const line = evaluation.profile.inner('limits', word)
    return [
      {
        at,
        text: `${word} ${plain(at)} W`,
        sentence: `${word} ${plain(at)} W.`,
        place: placeOf(line?.definition, line?.match),
        kind: 'limit' as const,
      },
    ]
  })
}
