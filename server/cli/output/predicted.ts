import type { Evaluation } from '../../semantic/evaluate.ts'
import type { PredictionFigures } from '../../service.ts'

/** One profile with its predictions, as the outputs of `predict` take it. */
export interface PredictedProfile {
  /** The file's path as outputs show it. */
  readonly file: string
  /** The line of the profile's name, from 1. */
  readonly line: number
  readonly evaluation: Evaluation
  readonly rows: readonly PredictionFigures[]
}
