/** A profile as an operating map. */
import type { MapBlock, MapData, MapEdge } from '../../charts/map.ts'
import type { MapPoint } from '../../charts/map-points.ts'
import { isWork, type Level, levelsIn, settleState } from '../../model/index.ts'
import { dieCeilingC } from '../../model/ratio.ts'
import { coresText } from '../../wording/counts.ts'
import { clockText, differenceText, plain, powerText, ratioText, temperatureText } from '../../wording/figures.ts'
import { limiterName } from '../../wording/limiters.ts'
import { cornerText, ofGroupText } from '../../wording/places.ts'
import { caseFigures, caseName, caseSentence } from './case-words.ts'
import { type CoreSlot, coreSlots, kindOf, type LoadKind, loadOn, slotOf, slotsOf } from './core-slots.ts'
import { bandRow, type Case, ceilingPlace, fullActivity, isBusy, type Scene, stepRow, worstOf } from './scene.ts'

interface Column {
  readonly slot: CoreSlot
  readonly levels: readonly Level[]
}

/** What each core count does as the die warms, up to the ceiling; caps are those of the warmest corner. */
function columnsOf(scene: Scene, kind: LoadKind, slots: readonly CoreSlot[]): readonly Column[] {
  const { bench, corners } = scene
  const warmest = corners.reduce((a, b) => (b.airC >= a.airC ? b : a))
  return slots.map(slot => {
    const load = loadOn(scene, kind, slot)
    const all = load === undefined ? [] : levelsIn(bench, load, warmest)
    return { slot, levels: all.filter(({ limiter }) => limiter !== 'die-limit') }
  })
}

function keyOf(scene: Scene, { slot, levels }: Column): string {
  const { cores, group } = slot
  // Two rows that happen to agree are two lines of the file.
  const row = stepRow(scene, cores, group)
  const rows = levels.map(
    ({ enteredC, ratio }) => `${ratio} ${enteredC} ${bandRow(scene, cores, enteredC, group)?.match.statement.start}`,
  )
  return `${group ?? ''} ${row?.match.statement.start} ${rows.join('; ')}`
}

/** `3 to 4 cores`, `3 to 4 cores of small`. */
function whichCores(from: CoreSlot, to: CoreSlot): string {
  return `${coresText(from.cores, to.cores)}${ofGroupText(from.group)}`
}

function blockOf(scene: Scene, { slot, levels }: Column, last: CoreSlot): MapBlock {
  const { bench } = scene
  const ceilingC = dieCeilingC(bench.part, bench.profile)
  const which = whichCores(slot, last)
  const cells = levels.map((level, index) => {
    const toC = levels[index + 1]?.enteredC ?? ceilingC
    const clock = clockText(level.ratio * bench.part.referenceGhz * 1000)
    const { cores, group } = slot
    const row = index === 0 ? stepRow(scene, cores, group) : bandRow(scene, cores, level.enteredC, group)
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
  const returns = levels.slice(1).flatMap(({ enteredC, returnK }) =>
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
  return { fromCores: slot.at, toCores: last.at, cells, returns }
}

function blocksOf(scene: Scene, columns: readonly Column[]): readonly MapBlock[] {
  const blocks: MapBlock[] = []
  for (let from = 0; from < columns.length; ) {
    const first = columns[from] as Column
    let to = from
    while (to + 1 < columns.length && keyOf(scene, columns[to + 1] as Column) === keyOf(scene, first)) to++
    if (first.levels.length > 0) blocks.push(blockOf(scene, first, (columns[to] as Column).slot))
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
  for (const { slot, levels } of columns) {
    const first = levels[0]
    if (first === undefined || (first.limiter !== 'current' && first.limiter !== 'burst-power')) continue
    const text = `capped by ${limiterName(first.limiter)}`
    const whose = slot.group === undefined ? 'it' : slot.group
    const sentence = `${limiterName(first.limiter)} caps ${whose} at ${ratioText(first.ratio)} in the warmest corner.`
    const last = caps.at(-1)
    if (last?.sentence === sentence && last.toCores === slot.at - 1) last.toCores = slot.at
    else {
      const { profile } = scene.evaluation
      const named = slot.rail === undefined ? undefined : profile.inner('limits', first.limiter, slot.rail)
      const line = named ?? profile.inner('limits', first.limiter)
      caps.push({
        fromCores: slot.at,
        toCores: slot.at,
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

function declaredPoints(scene: Scene, wanted: readonly Case[], slots: readonly CoreSlot[]): readonly MapPoint[] {
  const worst = worstOf(wanted)
  const bySlot = new Map<string, { readonly slot: CoreSlot; readonly cases: Case[] }>()
  for (const one of wanted) {
    for (const slot of slotsOf(one, slots)) {
      const key = `${slot.at} ${one.name}`
      const found = bySlot.get(key) ?? { slot, cases: [] }
      found.cases.push(one)
      bySlot.set(key, found)
    }
  }
  return [...bySlot.values()].flatMap(({ slot, cases }): MapPoint[] => {
    const [dies, hottest] = [diesOf(cases), worstOf(cases)]
    if (dies === undefined || hottest === undefined) return []
    const margin =
      hottest === worst && hottest.settled.marginW !== null ? `margin ${powerText(hottest.settled.marginW)}` : undefined
    return [
      {
        cores: slot.at,
        group: slot.group,
        load: hottest.name,
        coolC: dies[0],
        warmC: dies[1],
        worst: margin,
        sentence: caseSentence(hottest),
        place: scene.placeOf(hottest.definition),
      },
    ]
  })
}

function passedPoints(
  scene: Scene,
  kind: LoadKind,
  slots: readonly CoreSlot[],
  declared: readonly MapPoint[],
): readonly MapPoint[] {
  const { bench, corners } = scene
  return slots.flatMap((slot): MapPoint[] => {
    const load = declared.some(point => point.cores === slot.at) ? undefined : loadOn(scene, kind, slot)
    if (load === undefined) return []
    const settled = corners.flatMap(corner => settleState(bench, load, corner) ?? [])
    const dies = diesOf(settled.map(one => ({ settled: one })))
    if (dies === undefined) return []
    const clocks = settled.map(({ clockMhz }) => clockMhz ?? 0)
    const sentence = `On ${whichCores(slot, slot)}, which no load declares: die ${temperatureText(dies[0])} to ${temperatureText(dies[1])}, clock ${clockText(Math.min(...clocks))} at least.`
    return [{ cores: slot.at, group: slot.group, load: undefined, coolC: dies[0], warmC: dies[1], sentence }]
  })
}

export interface MapOptions {
  /** Full activity without one. */
  readonly load?: string | undefined
  /** Only these core counts. */
  readonly onlyCores?: readonly [from: number, to: number] | undefined
  /** Of these groups alone. */
  readonly onlyGroups?: readonly string[] | undefined
  readonly against?: { readonly label: string; readonly scene: Scene } | undefined
}

/** The edges of another profile at the core counts that it has as well. */
function edgesOf(scene: Scene, kind: LoadKind, slots: readonly CoreSlot[]): readonly MapEdge[] {
  const { bench } = scene
  const own = slots.filter(slot => slotOf(scene, slot) !== undefined)
  const [first, last] = [own[0], own.at(-1)]
  if (first === undefined || last === undefined) return []
  return [
    ...blocksOf(scene, columnsOf(scene, kind, own)).flatMap(({ fromCores, toCores, cells }) =>
      cells.slice(1).map(({ fromC }) => ({ fromCores, toCores, atC: fromC })),
    ),
    { fromCores: first.at, toCores: last.at, atC: dieCeilingC(bench.part, bench.profile) },
  ]
}

/** The stretches of the map that belong to one group each; undefined where all cores are alike. */
function groupsOf(slots: readonly CoreSlot[]): MapData['groups'] {
  const names = [...new Set(slots.flatMap(({ group }) => group ?? []))]
  if (names.length === 0) return undefined
  return names.map(name => {
    const own = slots.filter(({ group }) => group === name)
    return { name, columns: own.map(({ at, cores }) => ({ at, cores })) }
  })
}

/** @returns undefined where the load is not declared, or no step covers any core */
export function mapData(scene: Scene, { load, against, onlyCores, onlyGroups }: MapOptions = {}): MapData | undefined {
  const kind = kindOf(scene, load)
  if (kind === undefined) return undefined
  const { bench, corners, cases } = scene
  const slots = coreSlots(scene, onlyCores, onlyGroups)
  const columns = columnsOf(scene, kind, slots)
  const blocks = blocksOf(scene, columns)
  const [least, most] = [slots[0]?.at, slots.at(-1)?.at]
  if (blocks.length === 0 || least === undefined || most === undefined) return undefined
  const isAll = load === undefined || load === fullActivity
  const busy = cases.filter(isBusy)
  const declared = declaredPoints(scene, isAll ? busy : busy.filter(({ name }) => name === load), slots)
  const passed = passedPoints(scene, kind, slots, declared)
  const rest = diesOf(cases.filter(one => !isBusy(one) && one.name === 'idle'))
  const points = [...declared, ...passed]
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
    note: `Cells: clock in GHz by active cores${bench.part.groups === undefined ? '' : ' of each group'} and die temperature. Points: loads at ${rooms}${lost.length === 0 ? '' : `; not drawn, runaway: ${[...new Set(lost)].join(', ')}`}.`,
    fromCores: least,
    toCores: most,
    groups: groupsOf(slots),
    blocks,
    points,
    ceiling: {
      atC: ceilingC,
      text: `die limit ${plain(ceilingC)} °C`,
      sentence: `Die limit ${plain(ceilingC)} °C: above it ratio is given back ${ratioText(bench.part.ratioStep)} at a time${high < ceilingC ? `; the hottest load stays ${differenceText(ceilingC - high)} below` : ''}.`,
      place: ceilingPlace(scene),
    },
    caps: capsOf(scene, columns),
    reachedC: low === undefined || !Number.isFinite(high) ? undefined : [low, Math.max(low, high)],
    against: against && { label: against.label, edges: edgesOf(against.scene, kind, slots) },
    figures: caseFigures(
      isAll ? cases : cases.filter(({ name, load: one }) => name === load || !isWork(one)),
      bench.part.groups,
    ),
  }
}
