/** Model sections 1, 7 and 8: which ratios the ladder has, and the cap that current and burst power put on it. */
import type { Bench, Corner, Limiter } from '../../server/model/types.ts'
import { balances, running, type Work } from './die.ts'
import type { Scan } from './numeric.ts'

/** One prediction's fixed inputs, its memory of balances and its record of narrow decisions. */
export interface Case {
  readonly bench: Bench
  readonly corner: Corner
  readonly load: Work
  readonly known: Map<string, Scan>
  readonly gaps: number[]
}

export interface Level {
  readonly ratio: number
  /** Temperature at which the level is entered; the first has none. */
  readonly enteredC: number
  readonly limiter: Limiter
}

const sameRatio = (one: number, other: number): boolean => Math.abs(one - other) < 1e-9

export const scanAt = (here: Case, ratio: number): Scan => {
  const key = ratio.toFixed(9)
  const known = here.known.get(key)
  if (known) return known
  const scan = balances(here.bench, here.corner, here.load, ratio)
  here.known.set(key, scan)
  here.gaps.push(scan.nearest)
  return scan
}

/** A comparison that leaves a note of how narrow it was. */
export const isBelow = (here: Case, one: number, other: number): boolean => {
  here.gaps.push(Math.abs(one - other))
  return one < other
}

export const dieCeilingC = (bench: Bench): number =>
  Math.min(bench.profile.limits.dieC ?? Number.POSITIVE_INFINITY, bench.part.dieLimitC)

/** Ratio-steps down from a ratio to the part's lowest, which is always the last. */
export const stepsDown = (bench: Bench, from: number): number[] => {
  const { ratioLow, ratioStep } = bench.part
  const ratios: number[] = []
  for (let count = 0; from - count * ratioStep > ratioLow + 1e-9; count += 1) ratios.push(from - count * ratioStep)
  ratios.push(ratioLow)
  return ratios
}

const covers = (row: { fromCores: number; toCores: number }, cores: number): boolean =>
  row.fromCores <= cores && cores <= row.toCores

/** The levels of section 7 before any electrical limit. */
export const levelsOf = (bench: Bench, load: Work): Level[] => {
  const { part, profile } = bench
  const step = profile.steps.find(row => covers(row, load.cores))
  if (!step) throw new Error('no step row covers this load')
  const vectorDrop = load.vector ? profile.vectorDrop : 0
  const full = step.ratio - vectorDrop
  const levels: Level[] = [
    {
      ratio: Math.max(part.ratioLow, full),
      enteredC: Number.NEGATIVE_INFINITY,
      limiter: vectorDrop > 0 ? 'vector' : 'step',
    },
  ]
  const ceilingC = dieCeilingC(bench)
  const rows = profile.bands.filter(row => covers(row, load.cores) && row.aboveC < ceilingC)
  const dropAt = (dieC: number): number => Math.max(0, ...rows.filter(row => row.aboveC <= dieC).map(row => row.drop))
  let deepest = 0
  for (const thresholdC of [...new Set(rows.map(row => row.aboveC))].sort((one, other) => one - other)) {
    if (dropAt(thresholdC) <= deepest) continue
    deepest = dropAt(thresholdC)
    levels.push({ ratio: Math.max(part.ratioLow, full - deepest), enteredC: thresholdC, limiter: 'band' })
  }
  const last = Math.max(part.ratioLow, full - deepest)
  for (const ratio of stepsDown(bench, last).slice(1)) levels.push({ ratio, enteredC: ceilingC, limiter: 'die-limit' })
  return levels
}

/** Levels of one ratio are one level; the earlier limiter and the earlier entry stay. */
export const merged = (levels: readonly Level[]): Level[] => {
  const kept: Level[] = []
  for (const level of levels) {
    const before = kept[kept.length - 1]
    if (!before || !sameRatio(before.ratio, level.ratio)) kept.push(level)
  }
  return kept
}

export interface Cap {
  readonly ratio: number
  readonly limiter: Limiter | null
  readonly over: boolean
}

/** The cap of section 8: the fastest ratio within `current` and `burst-power`. */
export const capOf = (here: Case, first: number): Cap => {
  const { currentA = Number.POSITIVE_INFINITY, burstPowerW = Number.POSITIVE_INFINITY } = here.bench.profile.limits
  const ceilingC = dieCeilingC(here.bench)
  const judge = (ratio: number): { current: boolean; burst: boolean } => {
    const lowest = scanAt(here, ratio).roots[0] ?? Number.POSITIVE_INFINITY
    const at = running(here.bench, here.load, ratio, Math.min(lowest, ceilingC))
    return { current: isBelow(here, currentA, at.currentA), burst: isBelow(here, burstPowerW, at.powerW) }
  }
  const ratios = stepsDown(here.bench, first)
  let limiter: Limiter | null = null
  for (const ratio of ratios) {
    const over = judge(ratio)
    if (!over.current && !over.burst) return { ratio, limiter, over: false }
    limiter = over.current ? 'current' : 'burst-power'
    if (ratio === ratios[ratios.length - 1]) {
      const before = ratios[ratios.length - 2]
      if (before !== undefined) limiter = judge(before).current ? 'current' : 'burst-power'
      return { ratio, limiter, over: true }
    }
  }
  throw new Error('a ladder has a lowest ratio')
}
