/** What takes its time in slices, done at once. */

import { fitEvidenceInSlices } from '../../server/bench/fit/rounds.ts'
import { fitRunsInSlices } from '../../server/bench/fit/runs.ts'
import { fitLogInSlices } from '../../server/bench/steady/settled.ts'
import { settledLogInSlices } from '../../server/bench/steady/settled-log.ts'
import { finished } from '../../server/model/slices.ts'

export const fitEvidence = (...given: Parameters<typeof fitEvidenceInSlices>) => finished(fitEvidenceInSlices(...given))
export const fitRuns = (...given: Parameters<typeof fitRunsInSlices>) => finished(fitRunsInSlices(...given))
export const fitLog = (...given: Parameters<typeof fitLogInSlices>) => finished(fitLogInSlices(...given))
export const settledLog = (...given: Parameters<typeof settledLogInSlices>) => finished(settledLogInSlices(...given))
