/**
 * Evenings at the bench, simulated: samples of a part drawn from the prior, trials that hold or stop by the rate of the
 * sample, and ways to choose the next one. Time is counted until every row is known well enough.
 */
import { BACKGROUND_PER_S, type VoltageTrial } from '../../../server/bench/evidence/hazard.ts'
import { bestTrials, type Candidate } from '../../../server/bench/evidence/next.ts'
import { type Posterior, posteriorOf } from '../../../server/bench/evidence/posterior.ts'
import { placeAmong, voltageAt } from '../../../server/bench/evidence/rows.ts'
import { seededUniform } from '../../../server/model/random.ts'

/** Time at the bench that is no trial: entering the values, and starting again after a stop. */
const SET_UP_MIN = 5
const AFTER_STOP_MIN = 10

/** A profile of five rows. */
export const rows = [
  { ratio: 40, voltageV: 1.06 },
  { ratio: 44, voltageV: 1.12 },
  { ratio: 48, voltageV: 1.19 },
  { ratio: 51, voltageV: 1.26 },
  { ratio: 53, voltageV: 1.31 },
]
const ratios = rows.map(row => row.ratio)
/** Every row should be known to this. */
const GOAL_V = 0.008
/** Past this many trials somebody gives up. */
const MOST_TRIALS = 300

export interface Sample {
  readonly rowsV: Float64Array
  readonly sharpnessV: number
}

/** Samples from the prior; σ is spread evenly within its cells, since the prior is not made of steps. */
export function samplesOf(count: number, seed: number): readonly Sample[] {
  const uniform = seededUniform(seed)
  const drawn = [...posteriorOf(rows, []).draws(count, uniform)]
  const cell = 0.32 * Math.log(1.7)
  // Draws come sorted by σ.
  for (let last = drawn.length - 1; last > 0; last--) {
    const at = Math.floor(uniform() * (last + 1))
    ;[drawn[last], drawn[at]] = [drawn[at]!, drawn[last]!]
  }
  return drawn.map(({ rowsV, sharpnessV }) => ({ rowsV, sharpnessV: sharpnessV * Math.exp((uniform() - 0.5) * cell) }))
}

interface Trial {
  readonly ratio: number
  readonly comparableV: number
  readonly forS: number
}

/** What is tried next, from all that is known. */
export type Chooser = (known: Posterior, trials: readonly VoltageTrial[]) => Trial | undefined

const PROOF_SHARPNESSES = Math.log(1) - Math.log(-Math.log(0.95))

/** Runs a trial on a sample: λ = exp(-(V - μ)/σ) an hour and the background; a stop is noted by its whole minute. */
function ran(
  { rowsV, sharpnessV }: Sample,
  { ratio, comparableV, forS }: Trial,
  uniform: () => number,
): { readonly trial: VoltageTrial; readonly minutes: number } {
  const middleV = voltageAt(rowsV, placeAmong(ratios, ratio)) - PROOF_SHARPNESSES * sharpnessV
  const ratePerS = Math.exp(-(comparableV - middleV) / sharpnessV) / 3600 + BACKGROUND_PER_S
  const lastsS = -Math.log(uniform()) / ratePerS
  if (lastsS >= forS)
    return { trial: { ratio, comparableV, end: { kind: 'held', forS } }, minutes: SET_UP_MIN + forS / 60 }
  const afterS = 60 * Math.max(1, Math.ceil(lastsS / 60))
  const minutes = SET_UP_MIN + lastsS / 60 + AFTER_STOP_MIN
  return { trial: { ratio, comparableV, end: { kind: 'stopped', afterS } }, minutes }
}

export interface Evening {
  readonly hours: number
  readonly trials: number
  readonly stops: number
  /** Of the rows, how many lie within their 95 % interval. */
  readonly covered: number
  readonly done: boolean
}

/** Trials until every row is known to the goal. */
export function evening(sample: Sample, choose: Chooser, seed: number): Evening {
  const uniform = seededUniform(seed)
  const trials: VoltageTrial[] = []
  let [minutes, stops] = [0, 0]
  let known = posteriorOf(rows, trials)
  const isDone = (): boolean => known.rows.every(row => row.standardUncertaintyV <= GOAL_V)
  while (!isDone() && trials.length < MOST_TRIALS) {
    const next = choose(known, trials)
    if (next === undefined) break
    const { trial, minutes: spent } = ran(sample, next, uniform)
    trials.push(trial)
    minutes += spent
    if (trial.end.kind === 'stopped') stops++
    known = posteriorOf(rows, trials)
  }
  const covered = known.rows.filter((row, index) => {
    return Math.abs(row.meanV - sample.rowsV[index]!) <= 1.96 * row.standardUncertaintyV
  }).length
  return { hours: minutes / 60, trials: trials.length, stops, covered, done: isDone() }
}

/** What `detent next` would propose: on a grid of 5 mV, under one load. */
export function proposing(risk: number, draws = 500): Chooser {
  return known => {
    const candidates = [...ratios, ratios.at(-1)! + 1].flatMap(ratio => {
      const { meanV } = known.at(ratio)
      const found: Candidate[] = []
      for (let at = Math.ceil((meanV - 0.06) / 0.005); at * 0.005 <= meanV + 0.03; at++)
        found.push({ ratio, setV: at * 0.005, comparableV: at * 0.005, load: 'render' })
      return found
    })
    const drawn = known.draws(draws, seededUniform(1))
    const [best] = bestTrials(drawn, ratios, known.proofSharpnesses, ratios, candidates, { risk, count: 1 })
    return best
  }
}

const HALF_HOUR_S = 1800

/** The first row that is not known well enough: the rivals go row by row. */
function unknownRow(known: Posterior): (typeof rows)[number] {
  return rows[known.rows.findIndex(row => row.standardUncertaintyV > GOAL_V)]!
}

/** From 20 mV above what is stated, 10 mV less after each half hour held; 10 mV more after a stop. */
export const lowering: Chooser = (known, trials) => {
  const { ratio, voltageV } = unknownRow(known)
  let comparableV = voltageV + 0.02
  for (const trial of trials)
    if (trial.ratio === ratio) comparableV = trial.comparableV + (trial.end.kind === 'held' ? -0.01 : 0.01)
  return { ratio, comparableV, forS: HALF_HOUR_S }
}

/**
 * The middle of what is stated ± 60 mV, then of the half that is left, in half hours. Once 5 mV are left and the row is not
 * known yet, it begins again with ± `again` about where it ended: 60 mV finds it soonest.
 */
export function halving(againV: number): Chooser {
  return (known, trials) => {
    const { ratio, voltageV } = unknownRow(known)
    let [low, high] = [voltageV - 0.06, voltageV + 0.06]
    for (const trial of trials) {
      if (trial.ratio !== ratio) continue
      if (trial.end.kind === 'held') high = trial.comparableV
      else low = trial.comparableV
      if (high - low < 0.005) [low, high] = [trial.comparableV - againV, trial.comparableV + againV]
    }
    return { ratio, comparableV: Math.round((low + high) * 500) / 1000, forS: HALF_HOUR_S }
  }
}

export function median(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b)
  return (sorted[(sorted.length - 1) >> 1]! + sorted[sorted.length >> 1]!) / 2
}
