/** What a report is made from, and how: a piece after the other. */

import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import type { ComparedRun } from '../../bench/run/compared.ts'
import type { PlacedFinding } from '../../checks/run.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import type { Block } from './blocks.ts'

/** Where a report has everything from. */
export interface ReportSource {
  readonly workspace: Workspace
  evaluations(uri: string): readonly Evaluation[]
  expectations(evaluation: Evaluation): readonly Expectation[]
  findings(uri: string): readonly PlacedFinding[]
  readonly features: { resolved(uri: string, profile: string): string | undefined }
  readonly bench: {
    compared(uri: string): readonly ComparedRun[]
    evidenceInSlices(part: Definition | undefined): Generator<undefined, PartEvidence | undefined>
  }
}

/**
 * A report in the making, a piece after the other: none takes longer than one course over time, so that other work can
 * go between.
 */
export type Making = Generator<undefined, readonly Block[], void>

export interface ReportFile {
  readonly uri: string
  readonly shown: string
}
