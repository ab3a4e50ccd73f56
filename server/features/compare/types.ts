/** Profiles side by side, as plain data. The first one is what the others are compared with. */

import type { RunRecord } from '../../bench/run/record.ts'
import type { Better, GainMethod, GainVerdict } from '../../bench/statistics/gain.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import type { PredictionFigures } from '../prediction-figures.ts'

/** One profile of a comparison. */
export interface Side {
  /** Its name, behind `@` the revision where it is an older one. */
  readonly label: string
  /** The file's path as outputs show it. */
  readonly file: string
  readonly evaluation: Evaluation
  /** What its expectations come to, those of courses among them. */
  readonly expectations: readonly Expectation[]
  /** The runs that were made with these settings. */
  readonly runs: readonly RunRecord[]
}

/** One load at one core count of one profile: each figure the worst of the room's corners, null where one has none. */
export interface WorstCase {
  readonly load: string
  /** Active cores; 0 for `idle` and `off`. */
  readonly cores: number
  readonly profile: string
  readonly clockMhz: number | null
  readonly powerW: number | null
  /** What the drive of a thermoelectric plate takes in addition; null where there is none. */
  readonly driveW: number | null
  readonly dieC: number | null
  readonly marginW: number | null
  readonly state: string
  /** What limits the clock where it is lowest. */
  readonly limiter: string
  /** Clock against the first profile's, in percent; undefined for the first and where one of them has none. */
  readonly clockGainPct: number | undefined
  /** Of a part with groups: each group that is at work, in the part's order. */
  readonly groups?: readonly WorstGroup[]
}

/** The clock of one group of cores where it is lowest. */
export interface WorstGroup {
  readonly group: string
  readonly cores: number
  readonly clockMhz: number | null
  readonly clockGainPct?: number | undefined
}

/** A prediction as `predict` gives it, with the label of its profile. */
interface ComparedPrediction extends PredictionFigures {
  readonly file: string
}

/** The scores of one profile under one load, and what they are against those of the first profile. */
export interface ScoreComparison {
  readonly load: string
  readonly unit: string
  readonly better: Better
  readonly profile: string
  readonly n: number
  readonly mean: number
  /** Null for a single score. */
  readonly sd: number | null
  readonly gainPct: number | null
  /** Null where there are too few scores, or where they scatter too much for it to have an end. */
  readonly intervalPct: readonly [low: number, high: number] | null
  readonly p: number | null
  readonly method: GainMethod
  /** `baseline` for the first profile that has scores. */
  readonly verdict: GainVerdict | 'baseline'
  /** Scores of one side differ by less than their last digit tells, and count as known to that digit. */
  readonly coarse: boolean
  /** The label and the number of scores of what it is compared with; undefined for the baseline itself. */
  readonly against: { readonly profile: string; readonly n: number } | undefined
  /** Whether all scores of either side are from one run: what changes from day to day is then in no interval. */
  readonly sittings: 'one' | 'several'
  /** Days on which both were run, where they are compared day by day. */
  readonly days: number | undefined
}

/** What one expectation comes to for a profile. */
export interface ExpectedOutcome {
  /** Null where it cannot be decided. */
  readonly holds: boolean | null
  /** The figure that decides, in `unit`; null where there is none. */
  readonly predicted: number | null
  readonly unit: string
  /** Why it is undecided. */
  readonly undecided: string | null
}

/** One expectation of all profiles, in their order; null where a profile does not have it. */
export interface ComparedExpectation {
  readonly text: string
  readonly values: readonly (ExpectedOutcome | null)[]
}

/** One setting of all profiles, in their order; null where one does not state it. */
export interface ComparedSetting {
  readonly key: string
  readonly values: readonly (string | null)[]
  readonly isSame: boolean
}

export interface Comparison {
  readonly profiles: readonly string[]
  readonly predicted: readonly ComparedPrediction[]
  readonly worst: readonly WorstCase[]
  readonly expectations: readonly ComparedExpectation[]
  readonly scores: readonly ScoreComparison[]
  readonly settings: readonly ComparedSetting[]
  /** Whatever must be known to read it. */
  readonly notes: readonly string[]
}
