/** What is predicted for a run, at its own air and humidity. */

import type { Corner, Settled } from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { LoadCase } from '../../semantic/load-cases.ts'
import type { Prediction } from '../../semantic/predict.ts'

export interface RunPrediction {
  readonly evaluation: Evaluation
  readonly load: LoadCase
  readonly corner: Corner
  /** Standard uncertainty of the air. */
  readonly airUncertaintyK: number
  readonly settled: Settled
  readonly prediction: Prediction
  /** What took the place of something that the run does not say. */
  readonly assumed: readonly string[]
}
