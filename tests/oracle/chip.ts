/**
 * A processor as groups of like cores on supply rails, each group with its own settings: the reference's own picture of
 * it. A plain part is one group on one rail.
 */
import type { BandRow, Bench, CoreVoltage, Load, StepRow, VoltageRow } from '../../server/model/types.ts'

/** A supply rail: what its voltage falls by, what it is rounded to, and the most that it may carry. */
export interface Rail {
  readonly loadLineOhm: number
  readonly coreVoltageStepV?: number
  readonly currentA?: number
}

/** Cores of one kind, and what a profile sets for them. */
export interface Group {
  /** Place of its rail in the chip's list. */
  readonly rail: number
  readonly cores: number
  readonly ratioLow: number
  readonly needs: readonly VoltageRow[]
  readonly needsAtC: number
  readonly needsSlopeVPerK: number
  readonly vectorNeedsV: number
  readonly switchingNf: number
  readonly leakageW: number
  readonly leakageAtV: number
  readonly leakageAtC: number
  readonly coreResistanceKPerW: number
  readonly steps: readonly StepRow[]
  readonly bands: readonly BandRow[]
  readonly returnK: number
  readonly vectorDrop: number
  readonly voltage: CoreVoltage
}

/** Groups and rails, with the bench that says all else: the die, the cooler, drive, fan and the limits of the whole. */
export interface Chip {
  readonly bench: Bench
  readonly groups: readonly Group[]
  readonly rails: readonly Rail[]
}

/** What runs on a chip: active cores and activity of each group, 0 cores where a group is idle. */
export interface Task {
  readonly cores: readonly number[]
  readonly activity: readonly number[]
  readonly vector: boolean
  readonly uneven: number
}

export type Work = Extract<Load, { kind: 'work' }>

const chips = new WeakMap<Bench, Chip>()

/** A plain part's one group. */
export const chipOf = (bench: Bench): Chip => {
  const known = chips.get(bench)
  if (known) return known
  const { part, profile, board } = bench
  const { currentA } = profile.limits
  const { coreVoltageStepV } = board
  const rail = {
    loadLineOhm: board.loadLineOhm,
    ...(coreVoltageStepV === undefined ? {} : { coreVoltageStepV }),
    ...(currentA === undefined ? {} : { currentA }),
  }
  const made = { bench, groups: [{ ...part, ...profile, rail: 0 }], rails: [rail] }
  chips.set(bench, made)
  return made
}

export const taskOf = ({ cores, activity, vector, uneven = 1 }: Work): Task => ({
  cores: [cores],
  activity: [activity],
  vector,
  uneven,
})

/** The ratio of each group; null where it is idle. */
export type Ratios = readonly (number | null)[]

/** Something of each active group, null for the others. */
export const ofActive = <T>(chip: Chip, task: Task, of: (group: Group, cores: number, index: number) => T) =>
  chip.groups.map((group, index) => {
    const cores = task.cores[index] ?? 0
    return cores > 0 ? of(group, cores, index) : null
  })

/** The group whose figures stand for the whole: the first with active cores. */
export const firstActive = (task: Task): number => task.cores.findIndex(cores => cores > 0)
