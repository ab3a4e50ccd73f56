/** What a change of the texts has done to the profiles of a bench, as plain data. */

import type { PlacedFinding } from '../../checks/run.ts'
import type { Severity } from '../../checks/types.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import type { ComparedSetting } from '../compare/types.ts'

/** All that one side has: the files that are there, and how they are judged. */
export interface SinceSide {
  readonly workspace: Workspace
  /** The files whose profiles count: addresses, and the names that pair them with those of the other side. */
  readonly files: readonly { readonly uri: string; readonly name: string }[]
  evaluations(uri: string): readonly Evaluation[]
  expectations(evaluation: Evaluation): readonly Expectation[]
  findings(uri: string): readonly PlacedFinding[]
}

/** A figure before and now; null where there is none. */
export type Pair = readonly [before: number | null, now: number | null]

/** One load at one core count in one corner, where a figure differs. */
export interface ChangedPrediction {
  readonly load: string
  /** Active cores; 0 for `idle` and `off`. */
  readonly cores: number
  readonly airC: number
  readonly humidityPct: number
  readonly clockMhz: Pair
  readonly powerW: Pair
  readonly dieC: Pair
  readonly marginW: Pair
  /** Of a part with groups: each group that is at work, in the part's order. */
  readonly groups?: readonly { readonly group: string; readonly cores: number; readonly clockMhz: Pair }[]
}

/** Null where the expectation is not there. */
export type Verdict = 'holds' | 'failed' | 'undecided' | null

export interface ChangedExpectation {
  readonly text: string
  readonly before: Verdict
  readonly after: Verdict
}

export interface ChangedFinding {
  /** The name of the file. */
  readonly file: string
  /** From 1. */
  readonly line: number
  readonly severity: Severity
  readonly code: string
  readonly message: string
  readonly load?: string
}

export interface ChangedProfile {
  /** The name of the file it stands in now, or where it stood. */
  readonly file: string
  readonly profile: string
  readonly change: 'new' | 'gone' | 'changed'
  /** Settings and constants of the bench that differ; values before and now. */
  readonly settings: readonly ComparedSetting[]
  readonly predicted: readonly ChangedPrediction[]
  readonly expectations: readonly ChangedExpectation[]
  readonly findings: { readonly new: readonly ChangedFinding[]; readonly gone: readonly ChangedFinding[] }
}

export interface Since {
  readonly profiles: readonly ChangedProfile[]
  /** Profiles that were compared; new and gone ones do not count. */
  readonly paired: number
  /** Names of profiles whose settings differ, and nothing that is predicted or found. */
  readonly withoutEffect: readonly string[]
}
