/** What the outputs of `predict` are given. */

import type { Evaluation } from '../../semantic/evaluate.ts'
import type { PredictionFigures, Series } from '../../service.ts'

/** One profile with its predictions, as the outputs of `predict` take it. */
export interface PredictedProfile {
  /** The file's path as outputs show it. */
  readonly file: string
  /** The line of the profile's name, from 1. */
  readonly line: number
  readonly evaluation: Evaluation
  readonly rows: readonly PredictionFigures[]
  /** What had to be left out because it does not read, in words. */
  readonly unread: string | undefined
}

/** One profile with its runs over time. */
export interface TimedProfile {
  readonly file: string
  readonly line: number
  readonly name: string
  readonly series: readonly Series[]
  readonly unread: string | undefined
}
