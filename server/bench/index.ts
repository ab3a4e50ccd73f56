/** Runs of the bench, as the rest of the server needs them. */

export type { ComparedFigure, ComparedRun } from './compare-run.ts'
export { figureUnit } from './runs.ts'
export { logText, oddText, settingsText, stretchText, unmeasuredText, unsteadyText } from './wording.ts'
