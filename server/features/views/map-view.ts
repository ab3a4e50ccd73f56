/** A profile as an operating map. */
import type { MapBlock, MapData, MapEdge, MapPoint } from '../../charts/map.ts'
import { isWork, type Level, levelsIn, settleState } from '../../model/index.ts'
import { dieCeilingC } from '../../model/ratio.ts'
import { coresText } from '../../wording/counts.ts'
import { clockText, differenceText, plain, powerText, ratioText, temperatureText } from '../../wording/figures.ts'
import { limiterName } from '../../wording/limiters.ts'
import { cornerText } from '../../wording/places.ts'
import { caseHead, caseName, caseRow, caseSentence } from './case-words.ts'
import {
  bandRow,
  type Case,
  ceilingPlace,
  fullActivity,
  isBusy,
  type Scene,
  stepRow,
  workOf,
  worstOf,
} from './scene.ts'

type Work = NonNullable<ReturnType<typeof workOf>>

interface Column {
  readonly cores: number
  readonly levels: readonly Level[]
}

/** What each core count does as the die warms, up to the ceiling; caps are those of the warmest corner. */
function columnsOf(scene: Scene, work: Work): readonly Column[] {
  const { bench, corners } = scene
  const warmest = corners.reduce((a, b) => (b.airC >= a.airC ? b : a))
  return Array.from({ length: bench.part.cores }, (_, index) => {
    const cores = index + 1
    const levels = levelsIn(bench, { ...work, cores }, warmest).filter(({ limiter }) => limiter !== 'die-limit')
    return { cores, levels }
  })
}

function keyOf(scene: Scene, { cores, levels }: Column): string {
  // Two rows that happen to agree are two lines of the file.
  const row = stepRow(scene, cores)
  const rows = levels.map(
    ({ enteredC, ratio }) => `${ratio} ${enteredC} ${bandRow(scene, cores, enteredC)?.match.statement.start}`,
  )
  return `${row?.match.statement.start} ${rows.join('; ')}`
}

function blockOf(scene: Scene, { levels }: Column, fromCores: number, toCores: number): MapBlock {
  const { bench } = scene
  const ceilingC = dieCeilingC(bench.part, bench.profile)
  const { returnK } = bench.profile
  const which = coresText(fromCores, toCores)
  const cells = levels.map((level, index) => {
    const toC = levels[index + 1]?.enteredC ?? ceilingC
    const clock = clockText(level.ratio * bench.part.referenceGhz * 1000)
    const row = index === 0 ? stepRow(scene, fromCores) : bandRow(scene, fromCores, level.enteredC)
    const where = index === 0 ? `below ${plain(toC)} °C` : `from ${plain(level.enteredC)} °C to ${plain(toC)} °C`
    const sentence = `${which} ${where}: ${clock} (${ratioText(level.ratio)}), held by ${limiterName(level.limiter)}.`
    return {
      fromC: level.enteredC,
      toC,
      ratio: level.ratio,
      clock,
      sentence,
      place: scene.placeOf(row?.definition, row?.match),
    }
  })
  const returns = levels.slice(1).flatMap(({ enteredC }) =>
    returnK > 0
      ? [
          {
            fromC: enteredC - returnK,
            toC: enteredC,
            sentence: `${which}: the band above ${plain(enteredC)} °C is left again at ${plain(enteredC - returnK)} °C.`,
          },
        ]
      : [],
  )
  return { fromCores, toCores, cells, returns }
}

function blocksOf(scene: Scene, columns: readonly Column[]): readonly MapBlock[] {
  const blocks: MapBlock[] = []
  for (let from = 0; from < columns.length; ) {
    const first = columns[from] as Column
    let to = from
    while (to + 1 < columns.length && keyOf(scene, columns[to + 1] as Column) === keyOf(scene, first)) to++
    if (first.levels.length > 0) blocks.push(blockOf(scene, first, from + 1, to + 1))
    from = to + 1
  }
  return blocks
}

function capsOf(scene: Scene, columns: readonly Column[]): MapData['caps'] {
  const caps: {
    fromCores: number
    toCores: number
    text: string
    sentence: string
    place: ReturnType<Scene['placeOf']>
  }[] = []
  for (const { cores, levels } of columns) {
    const first = levels[0]
    if (first === undefined || (first.limiter !== 'current' && first.limiter !== 'burst-power')) continue
    const text = `capped by ${limiterName(first.limiter)}`
    const sentence = `${limiterName(first.limiter)} caps it at ${ratioText(first.ratio)} in the warmest corner.`
    const last = caps.at(-1)
    if (last?.sentence === sentence && last.toCores === cores - 1) last.toCores = cores
    else {
      const line = scene.evaluation.profile.inner('limits', first.limiter)
      caps.push({
        fromCores: cores,
        toCores: cores,
        text,
        sentence,
        place: scene.placeOf(line?.definition, line?.match),
      })
    }
  }
  return caps
}

/** Both ends of the die temperature over the corners; undefined where one of them has no steady state. */
function diesOf(
  cases: readonly { readonly settled: { readonly dieC: number | null } }[],
): readonly [number, number] | undefined {
  const dies = cases.map(({ settled }) => settled.dieC)
  return dies.length === 0 || dies.includes(null)
    ? undefined
    : [Math.min(...(dies as number[])), Math.max(...(dies as number[]))]
}

function declaredPoints(scene: Scene, wanted: readonly Case[]): readonly MapPoint[] {
  const worst = worstOf(wanted)
  const keys = [...new Set(wanted.map(({ name, cores }) => `${cores} ${name}`))]
  return keys.flatMap((key): MapPoint[] => {
    const cases = wanted.filter(({ name, cores }) => `${cores} ${name}` === key)
    const [dies, hottest] = [diesOf(cases), worstOf(cases)]
    if (dies === undefined || hottest === undefined) return []
    const margin =
      hottest === worst && hottest.settled.marginW !== null ? `margin ${powerText(hottest.settled.marginW)}` : undefined
    const { name, cores, definition } = hottest
    return [
      {
        cores,
        load: name,
        coolC: dies[0],
        warmC: dies[1],
        worst: margin,
        sentence: caseSentence(hottest),
        place: scene.placeOf(definition),
      },
    ]
  })
}

function passedPoints(scene: Scene, work: Work, declared: readonly MapPoint[]): readonly MapPoint[] {
  const { bench, corners } = scene
  const points: MapPoint[] = []
  for (let cores = 1; cores <= bench.part.cores; cores++) {
    if (declared.some(point => point.cores === cores)) continue
    const settled = corners.flatMap(corner => settleState(bench, { ...work, cores }, corner) ?? [])
    const dies = diesOf(settled.map(one => ({ settled: one })))
    if (dies === undefined) continue
    const clocks = settled.map(({ clockMhz }) => clockMhz ?? 0)
    const sentence = `On ${coresText(cores)}, which no load declares: die ${temperatureText(dies[0])} to ${temperatureText(dies[1])}, clock ${clockText(Math.min(...clocks))} at least.`
    points.push({ cores, load: undefined, coolC: dies[0], warmC: dies[1], sentence })
  }
  return points
}

export interface MapOptions {
  /** Full activity without one. */
  readonly load?: string | undefined
  /** Only these core counts. */
  readonly onlyCores?: readonly [from: number, to: number] | undefined
  readonly against?: { readonly label: string; readonly scene: Scene } | undefined
}

function edgesOf(scene: Scene, work: Work): readonly MapEdge[] {
  const { bench } = scene
  const blocks = blocksOf(scene, columnsOf(scene, work))
  const ceiling = { fromCores: 1, toCores: bench.part.cores, atC: dieCeilingC(bench.part, bench.profile) }
  return [
    ...blocks.flatMap(({ fromCores, toCores, cells }) =>
      cells.slice(1).map(({ fromC }) => ({ fromCores, toCores, atC: fromC })),
    ),
    ceiling,
  ]
}

/** @returns undefined where the load is not declared, or no step covers any core */
export function mapData(scene: Scene, { load, against, onlyCores }: MapOptions = {}): MapData | undefined {
  const work = workOf(scene, load)
  if (work === undefined) return undefined
  const { bench, corners, cases } = scene
  const columns = columnsOf(scene, work)
  const [least, most] = [onlyCores?.[0] ?? 1, Math.min(onlyCores?.[1] ?? bench.part.cores, bench.part.cores)]
  const isDrawn = ({ fromCores, toCores }: { fromCores: number; toCores: number }): boolean =>
    toCores >= least && fromCores <= most
  const clipped = <T extends { readonly fromCores: number; readonly toCores: number }>(one: T): T => ({
    ...one,
    fromCores: Math.max(least, one.fromCores),
    toCores: Math.min(most, one.toCores),
  })
  const blocks = blocksOf(scene, columns).filter(isDrawn).map(clipped)
  if (blocks.length === 0) return undefined
  const isAll = load === undefined || load === fullActivity
  const busy = cases.filter(isBusy)
  const declared = declaredPoints(scene, isAll ? busy : busy.filter(({ name }) => name === load))
  const passed = passedPoints(scene, work, declared)
  const rest = diesOf(cases.filter(one => !isBusy(one) && one.name === 'idle'))
  const points = [...declared, ...passed].filter(({ cores }) => cores >= least && cores <= most)
  const high = Math.max(...points.map(({ warmC }) => warmC))
  const low = rest?.[0]
  const ceilingC = dieCeilingC(bench.part, bench.profile)
  const [first, last] = [corners[0], corners.at(-1)]
  const rooms =
    first === undefined || last === undefined
      ? ''
      : first === last
        ? cornerText(first)
        : `${cornerText(first)} to ${cornerText(last)}`
  const lost = busy.filter(({ settled }) => settled.dieC === null).map(caseName)
  return {
    title: `${scene.name}: operating map for ${isAll ? fullActivity : load}${scene.isWhatIf ? ' (what if)' : ''}`,
    note: `Cells: clock in GHz by active cores and die temperature. Points: loads at ${rooms}${lost.length === 0 ? '' : `; not drawn, runaway: ${[...new Set(lost)].join(', ')}`}.`,
    fromCores: least,
    toCores: most,
    blocks,
    points,
    ceiling: {
      atC: ceilingC,
      text: `die limit ${plain(ceilingC)} °C`,
      sentence: `Die limit ${plain(ceilingC)} °C: above it ratio is given back ${ratioText(bench.part.ratioStep)} at a time${high < ceilingC ? `; the hottest load stays ${differenceText(ceilingC - high)} below` : ''}.`,
      place: ceilingPlace(scene),
    },
    caps: capsOf(scene, columns).filter(isDrawn).map(clipped),
    reachedC: low === undefined || !Number.isFinite(high) ? undefined : [low, Math.max(low, high)],
    against: against && { label: against.label, edges: edgesOf(against.scene, work).filter(isDrawn).map(clipped) },
    figures: {
      head: caseHead,
      rows: (isAll ? cases : cases.filter(({ name, load: one }) => name === load || !isWork(one))).map(caseRow),
    },
  }
}
