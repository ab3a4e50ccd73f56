/** What is predicted for a run, at its own air and humidity. */

import type { Corner, Course, Load, Settled } from '../../model/index.ts'
import type { ResolvedCourse } from '../../semantic/courses.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { LoadCase } from '../../semantic/load-cases.ts'
import type { Prediction } from '../../semantic/predict.ts'

/** A course that a run was made under, and what each of its loads settles at in the air of the run. */
interface PredictedCourse {
  readonly resolved: ResolvedCourse
  readonly course: Course
  readonly settled: ReadonlyMap<Load, Prediction>
}

export interface RunPrediction {
  readonly evaluation: Evaluation
  /** Under a course: the load that takes most power. */
  readonly load: LoadCase
  readonly corner: Corner
  /** Standard uncertainty of the air. */
  readonly airUncertaintyK: number
  readonly settled: Settled
  readonly prediction: Prediction
  /** What took the place of something that the run does not say. */
  readonly assumed: readonly string[]
  /** What it was made under in place of one load. */
  readonly ofCourse?: PredictedCourse
}
