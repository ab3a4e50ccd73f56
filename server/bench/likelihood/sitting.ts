/** What one sitting at the bench has of its own: mounting, room, what else the machine does. */
import type { Evidence } from '../statistics/independent.ts'

/** A die whose temperature nobody knows, in °C; engineering judgement. */
export const UNKNOWN_DIE_C = 60

/**
 * By how much a room warms over a log of a bench, K: one unknown of all logs, since what warms it is the same each time,
 * and that is the machine itself. Engineering judgement.
 */
export const usualWarming = { mean: 1.5, sd: 2 } as const

/** One standard deviation between sittings. */
export interface Scatter {
  /** Of the power beside its law. */
  readonly powerShare: number
  /** At each stage of the way to the air. */
  readonly temperatureK: number
}

/** Until there are enough sittings to tell; engineering judgement. */
export const usualScatter: Scatter = { powerShare: 0.01, temperatureK: 0.7 }

/** Evidence of one sitting. */
export interface SittingEvidence extends Evidence {
  /** Whether it says anything of the power law, and of a stage. */
  readonly hasLaw: boolean
  readonly hasStage: boolean
  /** From now on sittings differ by this; `usualScatter` before. */
  scatterBy(scatter: Scatter): void
}
