/** Which residuals a log has: each temperature in each block, and the laws in a dozen groups of blocks. */
import { coolantHeatJPerK } from '../../model/cooler/index.ts'
import type { Cooler } from '../../model/types.ts'
import { kindOf } from '../../semantic/coolers/index.ts'
import type { Block } from './blocks.ts'
import type { Simulation } from './drive.ts'
import { AIR, isDriveKnown, isHeldPlate, type Level, type LogPoint, levels, type Sensor } from './log-point.ts'

/** One residual: a sensor in a block, or a law in some blocks together. */
export interface Row {
  readonly sensor: Sensor
  /** Of a temperature; -1 for a law. */
  readonly level: number
  /** Level of the end that it is asked from. */
  readonly end: number
  readonly first: number
  readonly last: number
  readonly weights: readonly number[]
}

export interface LogRows {
  readonly rows: readonly Row[]
  readonly simulations: readonly Simulation[]
  /** Levels that were measured. */
  readonly seen: readonly number[]
}

/** The laws change slowly, with the temperature alone: so many groups of blocks show it. Engineering judgement. */
const LAW_GROUPS = 12

function lawRows(
  sensor: 'power' | 'drive-voltage',
  blocks: readonly Block[],
  groups: number,
  isAsked: (block: Block) => boolean,
): Row[] {
  const asked = blocks.flatMap((block, index) => (isAsked(block) ? [index] : []))
  const per = Math.max(1, Math.ceil(asked.length / groups))
  const rows: Row[] = []
  for (let at = 0; at < asked.length; ) {
    const first = asked[at] as number
    let size = 1
    while (size < per && asked[at + size] === first + size && blocks[first + size]?.episode === blocks[first]?.episode)
      size++
    const counts = Array.from({ length: size }, (_, index) => blocks[first + index]?.counts[sensor] ?? 0)
    const total = counts.reduce((sum, one) => sum + one, 0)
    rows.push({
      sensor,
      level: -1,
      end: AIR,
      first,
      last: first + size - 1,
      weights: counts.map(count => count / total),
    })
    at += size
  }
  return rows
}

/** What is asked of a log: all that it says, or its temperatures alone. */
export type Asked = 'all' | 'temperatures'

/** @param isFine each point is a block of its own: nothing is grouped */
export function logRows(
  point: LogPoint,
  cooler: Cooler,
  blocks: readonly Block[],
  isFine: boolean,
  asked: Asked,
): LogRows {
  const { work, instead } = point
  const has = (block: Block, level: number): boolean => block.means[levels[level] as Level] !== undefined
  const logged = [0, 1, 2].filter(
    level => blocks.some(block => has(block, level)) && !(level === 2 && coolantHeatJPerK(cooler) === undefined),
  )
  const { isDriven } = kindOf(cooler)
  const isHeld = isDriven && isHeldPlate(point)
  // Heat through modules cannot be followed while their current is unknown: then only what lies above the plate counts.
  const isBlind = isDriven && !isDriveKnown(point)
  const seen = isBlind ? logged.filter(level => level === 0 && (isHeld || logged.includes(1))) : logged
  const endOf = (level: number): number => {
    if (level === 0 && (isHeld || isBlind)) return 1
    return [1, 2].find(other => other > level && seen.includes(other)) ?? AIR
  }
  const simulations = [...new Set(seen.map(endOf))].map(end => ({
    end,
    levels: seen.filter(level => endOf(level) === end),
  }))
  // The last block comes first, so that shared errors are read off the steady end and not off the first seconds.
  const rows: Row[] = seen.flatMap(level => {
    const end = endOf(level)
    return blocks.toReversed().flatMap((block, back): Row[] => {
      const index = blocks.length - 1 - back
      const isEndThere = end === AIR || (end === 1 && isHeld) || block.ends[levels[end] as Level] !== undefined
      const isThere = has(block, level) && isEndThere
      return isThere ? [{ sensor: levels[level] as Level, level, end, first: index, last: index, weights: [1] }] : []
    })
  })
  if (asked === 'temperatures') return { rows, simulations, seen }
  const groups = isFine ? Number.POSITIVE_INFINITY : LAW_GROUPS
  const asksLaw = ({ means, isLoaded, under }: Block): boolean =>
    isLoaded &&
    means.power !== undefined &&
    (means.voltage ?? (under ?? instead).voltage) !== undefined &&
    (means.clock ?? (under ?? instead).clockGhz) !== undefined
  if (work !== undefined) rows.push(...lawRows('power', blocks, groups, asksLaw).reverse())
  const asksModules = (block: Block): boolean =>
    block.means['drive-voltage'] !== undefined && block.means.drive !== undefined && has(block, 1) && has(block, 2)
  if (isDriven) rows.push(...lawRows('drive-voltage', blocks, groups, asksModules).reverse())
  return { rows, simulations, seen }
}
