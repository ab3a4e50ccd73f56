/** Model sections 1, 7 and 8 by groups: which levels the ladder has, and the cap that current and burst power put on it. */
import type { Bench, Corner, Limiter } from '../../server/model/types.ts'
import type { Chip, Group, Ratios, Task } from './chip.ts'
import { balances, ratiosOf, running } from './die.ts'
import type { Scan } from './numeric.ts'

/** One prediction's fixed inputs, its memory of balances and its record of narrow decisions. */
export interface Case {
  readonly chip: Chip
  readonly bench: Bench
  readonly corner: Corner
  readonly task: Task
  readonly known: Map<string, Scan>
  readonly gaps: number[]
}

export const caseOf = (chip: Chip, task: Task, corner: Corner): Case => ({
  chip,
  bench: chip.bench,
  corner,
  task,
  known: new Map(),
  gaps: [],
})

export interface Level {
  readonly ratios: Ratios
  /** Temperature at which the level is entered; the first has none. */
  readonly enteredC: number
  /** How far below that it is left again. */
  readonly returnK: number
  readonly limiter: Limiter
  /** Ratio-steps given back under the die limit, counted from the cap. */
  readonly givenBack: number
}

const nearly = 1e-9

export const scanAt = (here: Case, ratios: Ratios): Scan => {
  const key = ratios.map(ratio => ratio?.toFixed(9)).join()
  const known = here.known.get(key)
  if (known) return known
  const scan = balances(here.chip, here.corner, here.task, ratios)
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

export const covers = (row: { fromCores: number; toCores: number }, cores: number): boolean =>
  row.fromCores <= cores && cores <= row.toCores

/** s − vector of a group: what bands count from. */
export const fullRatio = (group: Group, task: Task, cores: number): number => {
  const step = group.steps.find(row => covers(row, cores))
  if (!step) throw new Error('no step row covers this load')
  return step.ratio - (task.vector ? group.vectorDrop : 0)
}

/** C_k: every group k ratio-steps below its first ratio, none below its lowest. */
export const ceilingRatios = (chip: Chip, task: Task, count: number): Ratios =>
  ratiosOf(chip, task, (group, cores) => {
    const first = Math.max(group.ratioLow, fullRatio(group, task, cores))
    const ratio = first - count * chip.bench.part.ratioStep
    return ratio > group.ratioLow + nearly ? ratio : group.ratioLow
  })

/** The lower of two levels, group by group. */
export const lowerOf = (one: Ratios, other: Ratios): Ratios =>
  one.map((ratio, index) => {
    const beside = other[index] ?? null
    return ratio === null || beside === null ? null : Math.min(ratio, beside)
  })

/** How many ratio-steps down the last C_k lies, which has every group at its lowest ratio. */
export const lastCount = (chip: Chip, task: Task): number => {
  for (let count = 0; ; count += 1) {
    const ratios = ceilingRatios(chip, task, count)
    if (ratios.every((ratio, index) => ratio === null || ratio === chip.groups[index]?.ratioLow)) return count
  }
}

/** drop(T) of a group at its own count: the deepest of its rows at or below a temperature, of those below the ceiling. */
const dropAt = (group: Group, cores: number, ceilingC: number, dieC: number): number =>
  Math.max(
    0,
    ...group.bands
      .filter(row => covers(row, cores) && row.aboveC < ceilingC && row.aboveC <= dieC)
      .map(row => row.drop),
  )

/** The levels of section 7 under a cap, those that lower no group left out. */
export const levelsOf = (chip: Chip, task: Task, cap: Pick<Cap, 'count' | 'limiter'>): Level[] => {
  const { groups, bench } = chip
  const ceilingC = dieCeilingC(bench)
  const capped = ceilingRatios(chip, task, cap.count)
  // A group that stands at its lowest ratio anyway is lowered by nothing.
  const isVector = ratiosOf(chip, task, (group, cores) => {
    const full = fullRatio(group, task, cores)
    return full + (task.vector ? group.vectorDrop : 0) - Math.max(group.ratioLow, full)
  }).some(lowered => lowered !== null && lowered > nearly)
  const first: Level = {
    ratios: capped,
    enteredC: Number.NEGATIVE_INFINITY,
    returnK: 0,
    limiter: cap.limiter ?? (isVector ? 'vector' : 'step'),
    givenBack: 0,
  }
  const kept = [first]
  const add = (ratios: Ratios, enteredC: number, limiter: Limiter, givenBack: number): void => {
    const before = kept[kept.length - 1] ?? first
    const lowered = groups.filter((_, index) => (ratios[index] ?? 0) < (before.ratios[index] ?? 0) - nearly)
    if (lowered.length === 0) return
    const returnK = enteredC === ceilingC ? 0 : Math.max(...lowered.map(group => group.returnK))
    kept.push({ ratios, enteredC, returnK, limiter, givenBack })
  }
  const banded = (dieC: number): Ratios =>
    lowerOf(
      capped,
      ratiosOf(chip, task, (group, cores) =>
        Math.max(group.ratioLow, fullRatio(group, task, cores) - dropAt(group, cores, ceilingC, dieC)),
      ),
    )
  const thresholds = groups.flatMap(group => group.bands.map(row => row.aboveC)).filter(aboveC => aboveC < ceilingC)
  for (const thresholdC of [...new Set(thresholds)].sort((one, other) => one - other))
    add(banded(thresholdC), thresholdC, 'band', 0)
  const last = banded(ceilingC)
  for (let count = cap.count + 1; count <= lastCount(chip, task); count += 1)
    add(lowerOf(last, ceilingRatios(chip, task, count)), ceilingC, 'die-limit', count - cap.count)
  return kept
}

export interface Cap {
  /** Ratio-steps down from the first level. */
  readonly count: number
  readonly limiter: Limiter | null
  readonly over: boolean
}

/** The cap of section 8: the fastest C_k within `current` of every rail and `burst-power`. */
export const capOf = (here: Case): Cap => {
  const { chip, task, bench } = here
  const { burstPowerW = Number.POSITIVE_INFINITY } = bench.profile.limits
  const ceilingC = dieCeilingC(bench)
  const judge = (count: number): { current: boolean; burst: boolean } => {
    const ratios = ceilingRatios(chip, task, count)
    const lowest = scanAt(here, ratios).roots[0] ?? Number.POSITIVE_INFINITY
    const at = running(chip, task, ratios, Math.min(lowest, ceilingC))
    const overs = chip.rails.map(({ currentA = Number.POSITIVE_INFINITY }, index) =>
      isBelow(here, currentA, at.rails[index]?.currentA ?? 0),
    )
    return { current: overs.includes(true), burst: isBelow(here, burstPowerW, at.powerW) }
  }
  const last = lastCount(chip, task)
  let limiter: Limiter | null = null
  for (let count = 0; ; count += 1) {
    const over = judge(count)
    if (!over.current && !over.burst) return { count, limiter, over: false }
    if (count < last || last === 0) limiter = over.current ? 'current' : 'burst-power'
    if (count === last) return { count, limiter, over: true }
  }
}
