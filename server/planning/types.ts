/** What a search for steps and bands is given and what it answers: plain data, and an interface that predicts and judges. */

/** What decides that a step is not higher. */
export type DecidedBy =
  | 'ratio'
  | 'needs'
  | 'voltage'
  | 'stable'
  | 'current'
  | 'burst-power'
  | 'sustained-power'
  | 'die'
  | 'margin'
  | 'supply'
  | 'dew'
  | 'expectation'
  | 'count-below'

/** Why a case is not sound, or does not run a ratio. */
export interface Failure {
  readonly by: DecidedBy
  /** The load; null where no load decides. */
  readonly load: string | null
  readonly cores: number
  readonly airC: number | null
  readonly humidityPct: number | null
  /** The figure, as the outputs of predictions call it. */
  readonly figure: string
  /** What it comes to; null where nothing is steady. */
  readonly value: number | null
  readonly allowed: number | null
  readonly unit: string
  /** In words, behind the ratio that is asked about: `would need 1.262 V, allowed 1.250 V`. */
  readonly words: string
}

/** A load at a count in a corner. */
export interface Case {
  readonly cores: number
  /** Cases of one corner have the same number. */
  readonly corner: number
  /** Its share of the mean clock. */
  readonly weight: number
  /** Its share of `weight` where no case with a weight is among those at hand. */
  readonly weightElse: number
  /** Bands may give back under it in every corner. */
  readonly yields: boolean
  /** It stands for every load at its count. */
  readonly standsIn: boolean
}

/** One row of a set of bands; the counts are those of the step row. */
export interface Link {
  readonly aboveC: number
  /** Ratio given back, counted from the step. */
  readonly drop: number
}

/** What a case comes to at a step and under bands. */
export interface Verdict {
  /** Why it is not sound, worked out when it is asked for; undefined where it is. */
  readonly failure: (() => Failure) | undefined
  /** What keeps it from running the step's ratio itself; undefined where it runs it. */
  readonly held: (() => Failure) | undefined
  readonly clockMhz: number
  /** It goes back and forth at a band. */
  readonly alternates: boolean
  /** Where the die settles; null on runaway, and where nothing was predicted. */
  readonly dieC: number | null
  /** A row of bands above this temperature changes nothing; Infinity where any may. */
  readonly settledC: number
  /** It went past every row of the bands, so that where it came from no longer counts. */
  readonly passed: boolean
}

/** What a case does where bands are left below their threshold. */
export interface Swing {
  readonly failure: Failure | undefined
  /** A band, once entered, is not left again. */
  readonly latches: boolean
  /** It goes back and forth at a band faster than is wanted. */
  readonly isFast: boolean
}

/** Predicts and judges cases. */
export interface Judge<C extends Case = Case> {
  /** Counts are 1 to this. */
  readonly cores: number
  /** What a step may be, rising. */
  readonly ratios: readonly number[]
  readonly ratioStep: number
  /** Thresholds of bands lie below it. */
  readonly ceilingC: number
  cases(cores: number): readonly C[]
  judge(one: C, ratio: number, bands: readonly Link[]): Verdict
  /** The clock at the step's ratio itself, before anything is given back but what vector loads give back. */
  fastestMhz(one: C, ratio: number): number
  /**
   * What takes long to know of cases that are sound at first sight: the first that is not.
   * @param scope `row`: with all that a row of steps does beyond its cases
   */
  confirm(
    cases: readonly C[],
    ratio: number,
    bands: readonly Link[],
    scope: 'count' | 'row',
  ): Generator<undefined, Failure | undefined>
  swing(one: C, ratio: number, bands: readonly Link[], returnK: number): Swing
}

export interface PlanOptions {
  /** At most so many rows of steps; undefined: as many as there are ratios. */
  readonly rows: number | undefined
  /** At most so many rows of bands over any count. */
  readonly bands: number
}

export interface StepRow {
  readonly from: number
  readonly to: number
  readonly ratio: number
}

/** What another row of bands would come to. */
export type Instead =
  | { readonly kind: 'fails'; readonly failure: Failure }
  /** It would not be below the die ceiling. */
  | { readonly kind: 'ceiling'; readonly ceilingC: number }
  /** All is as sound, and so many more cases go back and forth. */
  | { readonly kind: 'alternates'; readonly more: number }
  /** All is as sound, and the mean clock is lower. */
  | { readonly kind: 'slower'; readonly slowerMhz: number }
  /** All is as sound, as fast and as quiet. */
  | { readonly kind: 'alike' }

/** What decides a row of bands. */
export interface BandReason {
  /** With a ratio-step less given back; undefined: with the row left out, since that is all. */
  readonly less: { readonly drop: number | undefined; readonly instead: Instead }
  /** With a threshold one degree higher; undefined: with the row left out, since the next begins there. */
  readonly later: { readonly aboveC: number | undefined; readonly instead: Instead }
}

/** A row of steps with its bands and what decides it. */
export interface PlannedRow extends StepRow {
  /** The group of cores that it is of; absent where all are alike. */
  readonly group?: string
  readonly bands: readonly Link[]
  /** Why each row of bands gives back no less and begins no later. */
  readonly bandReasons: readonly BandReason[]
  /** Why one ratio-step more would not do. */
  readonly next: Failure
}

export interface Plan {
  readonly kind: 'plan'
  readonly rows: readonly PlannedRow[]
  readonly returnK: number
  /** The clock still goes back and forth faster than is wanted: no return keeps it from that. */
  readonly isFast: boolean
}

/** Nothing is carried at a count, however low the ratio. */
export interface NoPlan {
  readonly kind: 'none'
  readonly cores: number
  readonly ratio: number
  readonly failure: Failure
}
