import type { Evaluation } from './evaluate.ts'
import type { Prediction } from './predict.ts'
import type { Sourced } from './profile.ts'

/** What a profile's `expect` lines come to. */
export interface Expectation {
  readonly sourced: Sourced
  /** The line as written, without `expect`. */
  readonly text: string
  /** The figure that decides, in `unit`; null where there is none. */
  readonly predicted: number | null
  readonly unit: string
  /** Null where it cannot be decided. */
  readonly holds: boolean | null
  /** Where constants carry `±`: the probability that it holds. */
  readonly probability?: number
  /** The prediction that decides: the worst core count and corner for this expectation. */
  readonly worst: Prediction | undefined
  /** Why it is undecided, in words for the message. */
  readonly undecided?: string
}

/** The expectations of an evaluated profile, inherited ones among them, in the order of the profile's chain. */
export function expectationsOf(evaluation: Evaluation): readonly Expectation[] {
  void evaluation
  return []
}
