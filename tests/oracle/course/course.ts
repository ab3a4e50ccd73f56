/** A course as the reference takes it: where it starts, its lines in order, and what its faults make of a bench. */
import type { Bench, RadiatorPoint } from '../../../server/model/types.ts'
import type { Task } from '../chip.ts'
import { radiatorKPerW } from '../cooling.ts'

/** What the machine does: work on groups of cores, or nothing. */
export type Doing = { readonly kind: 'work'; readonly task: Task } | { readonly kind: 'idle' | 'off' }

export type Start =
  | { readonly kind: 'room' }
  | { readonly kind: 'idle' }
  | { readonly kind: 'settled'; readonly doing: Doing }

/** A temperature that a step waits for. */
interface Until {
  readonly of: 'die' | 'plate' | 'coolant'
  readonly direction: 'at-most' | 'at-least'
  readonly targetC: number
}

export interface StepLine {
  readonly kind: 'step'
  readonly doing: Doing
  /** How long it takes, or how long it waits at most. */
  readonly lastsS: number
  readonly until?: Until
}

export interface FaultLine {
  readonly kind: 'fault'
  readonly what: 'pump' | 'fan' | 'chiller' | 'radiator' | 'drive'
  /** Percent; of the drive 0 for `off` and 100 for `on`. */
  readonly pct: number
}

export interface Course {
  readonly start: Start
  readonly lines: readonly (StepLine | FaultLine)[]
}

/** The percent of every part that may fail, 100 where it is sound. */
export type Faults = Readonly<Record<FaultLine['what'], number>>

export const soundBench: Faults = { pump: 100, fan: 100, chiller: 100, radiator: 100, drive: 100 }

/** What a pump leaves of the block's conductance. */
const pumpShare = (pct: number): number => Math.max(0.03, (pct / 100) ** 0.8)

/** θ_rad at a duty that a fault holds: below the lowest measured one the conductance falls straight to an eighth of the full one. */
const heldFanKPerW = (radiator: readonly RadiatorPoint[], pct: number): number => {
  const slowest = radiator[0]?.dutyPct ?? 100
  if (pct >= slowest) return radiatorKPerW(radiator, pct)
  const there = 1 / radiatorKPerW(radiator, slowest)
  const still = 1 / radiatorKPerW(radiator, 100) / 8
  return 1 / (still + ((there - still) * pct) / slowest)
}

/** The bench that the faults leave, in the words of a sound one. `drive off` is not of the bench. */
export const faultedBench = (bench: Bench, faults: Faults): Bench => {
  const { cooler, profile } = bench
  if (cooler.kind === 'chilled')
    return {
      ...bench,
      cooler: {
        ...cooler,
        blockResistanceKPerW: cooler.blockResistanceKPerW / pumpShare(faults.pump),
        capacityW: (cooler.capacityW * faults.chiller) / 100,
      },
    }
  const share = cooler.kind === 'air' ? 1 : pumpShare(faults.pump)
  const points =
    faults.fan === 100
      ? cooler.radiator
      : [{ dutyPct: 100, resistanceKPerW: heldFanKPerW(cooler.radiator, faults.fan) }]
  return {
    ...bench,
    cooler: {
      ...cooler,
      blockResistanceKPerW: cooler.blockResistanceKPerW / share,
      radiator: points.map(point => ({ ...point, resistanceKPerW: (point.resistanceKPerW * faults.radiator) / 100 })),
    },
    profile: faults.fan === 100 ? profile : { ...profile, fan: [] },
  }
}
