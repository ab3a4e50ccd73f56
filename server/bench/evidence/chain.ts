/** The rows of a part for one σ: a chain, since a trial touches one row or two neighbours. Sums along it are exact. */
import type { VoltageTrial } from './hazard.ts'
import { type LogLikelihood, logLikelihoodAt } from './likelihood.ts'
import { firstPrior, type Grid, gridOf, type PriorStep, priorStep, STEP_V, type StatedRow } from './prior.ts'
import { placeAmong, type RowPlace, voltageAt } from './rows.ts'

/** The trials at one ratio: their joint likelihood is a function of that ratio's proof voltage alone. */
interface RatioTrials extends RowPlace {
  readonly trials: readonly VoltageTrial[]
}

/** What is the same for every σ. */
export interface Frame {
  readonly grids: readonly Grid[]
  readonly first: Float64Array
  readonly steps: readonly PriorStep[]
  readonly groups: readonly RatioTrials[]
  /** How many σ the proof voltage lies above μ. */
  readonly proofSharpnesses: number
}

export function frameOf(rows: readonly StatedRow[], trials: readonly VoltageTrial[], proofSharpnesses: number): Frame {
  const ratios = rows.map(row => row.ratio)
  const statedV = rows.map(row => row.voltageV)
  const groups = new Map<number, VoltageTrial[]>()
  let furthestV = 0
  for (const trial of trials) {
    const same = groups.get(trial.ratio)
    if (same === undefined) groups.set(trial.ratio, [trial])
    else same.push(trial)
    const offset = trial.comparableV - voltageAt(statedV, placeAmong(ratios, trial.ratio))
    furthestV = Math.max(furthestV, Math.abs(offset))
  }
  const grids = rows.map(row => gridOf(row, furthestV))
  return {
    grids,
    first: firstPrior(grids[0] as Grid),
    steps: grids.slice(1).map((to, at) => {
      return priorStep(grids[at] as Grid, to, (ratios[at + 1] as number) - (ratios[at] as number))
    }),
    groups: [...groups].map(([ratio, own]) => {
      const { index, weight } = placeAmong(ratios, ratio)
      // At the next row's own ratio the trial is that row's alone.
      return weight === 1 ? { index: index + 1, weight: 0, trials: own } : { index, weight, trials: own }
    }),
    proofSharpnesses,
  }
}

/** A joint likelihood along the line between two rows, as a table: cell (a, b) lies at `origin + a·alongLow + b·alongHigh`. */
interface Between {
  readonly values: Float64Array
  readonly origin: number
  readonly alongLow: number
  readonly alongHigh: number
}

/** A chain of rows for one σ, summed forward. */
export interface Chain {
  readonly sharpnessV: number
  /** Logarithm of prior × likelihood, summed over all rows. */
  readonly logEvidence: number
  /** The likelihood of the trials at each row itself, at most one. */
  readonly own: readonly Float64Array[]
  /** For each row the forward sums, own likelihood included, scaled to a total of one. */
  readonly forward: readonly Float64Array[]
  /** For each pair of rows the weights of the higher given the lower, without the higher's own likelihood. */
  readonly pairs: readonly Float64Array[]
}

/** Shares below this add nothing that a double would show in a figure. */
const NEGLIGIBLE = 1e-18
/** Cells of a table between rows for each σ; straight lines between them are off by a thousandth at most. */
const CELLS_A_SHARPNESS = 6

export function chainFor(frame: Frame, sharpnessV: number, logPrior: number): Chain {
  const { grids, steps, groups, proofSharpnesses } = frame
  const shiftV = proofSharpnesses * sharpnessV
  let logEvidence = logPrior
  const own = grids.map((grid, row): Float64Array => {
    const likelihoods = groups
      .filter(({ index, weight }) => index === row && weight === 0)
      .map(({ trials }) => logLikelihoodAt(trials, sharpnessV))
    if (likelihoods.length === 0 && row > 0) return new Float64Array(grid.count).fill(1)
    const logs = row === 0 ? frame.first.slice() : new Float64Array(grid.count)
    for (const likelihood of likelihoods)
      for (let at = 0; at < logs.length; at++)
        logs[at] = (logs[at] as number) + likelihood(grid.firstV + at * STEP_V - shiftV)
    logEvidence += scaledByMost(logs)
    return logs
  })
  const between = steps.map((_, row) => {
    const [low, high] = [grids[row] as Grid, grids[row + 1] as Grid]
    return groups
      .filter(({ index, weight }) => index === row && weight !== 0)
      .map(({ weight, trials }) => {
        const { table, log } = tableBetween(low, high, weight, logLikelihoodAt(trials, sharpnessV), shiftV, sharpnessV)
        logEvidence += log
        return table
      })
  })
  const pairs: Float64Array[] = []
  const forward: Float64Array[] = [(own[0] as Float64Array).slice()]
  logEvidence += Math.log(scaledToOne(forward[0] as Float64Array))
  for (const [row, step] of steps.entries()) {
    const sums = forward[row] as Float64Array
    const pair = pairWeights(step, between[row] as readonly Between[], sums, (grids[row + 1] as Grid).count)
    pairs.push(pair)
    const next = alongStep(step, pair, sums, own[row + 1] as Float64Array)
    logEvidence += Math.log(scaledToOne(next))
    forward.push(next)
  }
  return { sharpnessV, logEvidence, own, forward, pairs }
}

/** From logarithms to values of at most one; returns the logarithm that was taken out. */
function scaledByMost(logs: Float64Array): number {
  let most = Number.NEGATIVE_INFINITY
  for (let at = 0; at < logs.length; at++) most = Math.max(most, logs[at] as number)
  for (let at = 0; at < logs.length; at++) logs[at] = Math.exp((logs[at] as number) - most)
  return most
}

/** Divides by the total, and returns it. */
export function scaledToOne(values: Float64Array): number {
  let total = 0
  for (let at = 0; at < values.length; at++) total += values[at] as number
  for (let at = 0; at < values.length; at++) values[at] = (values[at] as number) / total
  return total
}

function tableBetween(
  low: Grid,
  high: Grid,
  weight: number,
  likelihood: LogLikelihood,
  shiftV: number,
  sharpnessV: number,
): { readonly table: Between; readonly log: number } {
  const stepV = Math.min(STEP_V / 2, sharpnessV / CELLS_A_SHARPNESS)
  const [lowEndV, highEndV] = [low.firstV + (low.count - 1) * STEP_V, high.firstV + (high.count - 1) * STEP_V]
  // Beyond the last row the lower one counts with the opposite sign.
  const ends = [low.firstV, lowEndV].flatMap(a => [high.firstV, highEndV].map(b => (1 - weight) * a + weight * b))
  const fromV = Math.min(...ends)
  const values = new Float64Array(Math.ceil((Math.max(...ends) - fromV) / stepV) + 3)
  for (let at = 0; at < values.length; at++) values[at] = likelihood(fromV + at * stepV - shiftV)
  const log = scaledByMost(values)
  const origin = ((1 - weight) * low.firstV + weight * high.firstV - fromV) / stepV + 1e-6
  const table = {
    values,
    origin,
    alongLow: ((1 - weight) * STEP_V) / stepV,
    alongHigh: (weight * STEP_V) / stepV,
  }
  return { table, log }
}

/** Weights of a pair with the trials between them; the prior's own where there are none. */
function pairWeights(
  { weights, first, last }: PriorStep,
  tables: readonly Between[],
  sums: Float64Array,
  width: number,
): Float64Array {
  if (tables.length === 0) return weights
  const pair = new Float64Array(weights.length)
  for (let a = 0; a < first.length; a++) {
    if ((sums[a] as number) < NEGLIGIBLE) continue
    const row = a * width
    const [from, to] = [first[a] as number, last[a] as number]
    for (let b = from; b < to; b++) pair[row + b] = weights[row + b] as number
    for (const { values, origin, alongLow, alongHigh } of tables) {
      let place = origin + a * alongLow + from * alongHigh
      for (let b = from; b < to; b++) {
        const cell = place | 0
        const before = values[cell] as number
        pair[row + b] = (pair[row + b] as number) * (before + (place - cell) * ((values[cell + 1] as number) - before))
        place += alongHigh
      }
    }
  }
  return pair
}

function alongStep(
  { first, last }: PriorStep,
  pair: Float64Array,
  from: Float64Array,
  own: Float64Array,
): Float64Array {
  const width = own.length
  const next = new Float64Array(width)
  for (let a = 0; a < from.length; a++) {
    const share = from[a] as number
    if (share < NEGLIGIBLE) continue
    const row = a * width
    const end = last[a] as number
    for (let b = first[a] as number; b < end; b++) next[b] = (next[b] as number) + share * (pair[row + b] as number)
  }
  for (let b = 0; b < width; b++) next[b] = (next[b] as number) * (own[b] as number)
  return next
}

/** For each row the weight of everything behind it; times the forward sums, the row's marginal but for a factor. */
export function backwardOf({ steps }: Frame, { forward, own, pairs }: Chain): readonly Float64Array[] {
  const back = forward.map(sums => new Float64Array(sums.length))
  back.at(-1)?.fill(1)
  for (let row = steps.length - 1; row >= 0; row--) {
    const { first, last } = steps[row] as PriorStep
    const [sums, pair] = [forward[row] as Float64Array, pairs[row] as Float64Array]
    const [behind, likelihood, here] = [back[row + 1], own[row + 1], back[row]] as [
      Float64Array,
      Float64Array,
      Float64Array,
    ]
    const width = behind.length
    const weighed = new Float64Array(width)
    for (let b = 0; b < width; b++) weighed[b] = (behind[b] as number) * (likelihood[b] as number)
    let most = 0
    for (let a = 0; a < here.length; a++) {
      if ((sums[a] as number) < NEGLIGIBLE) continue
      let sum = 0
      const end = last[a] as number
      for (let b = first[a] as number; b < end; b++) sum += (pair[a * width + b] as number) * (weighed[b] as number)
      here[a] = sum
      if (sum > most) most = sum
    }
    for (let a = 0; a < here.length; a++) here[a] = (here[a] as number) / most
  }
  return back
}

/** Backward through the chain: the last row from its sums, then each row given the one after it; indices on the grids. */
export function drawAlong({ forward, pairs }: Chain, share: number, uniform: () => number): Int32Array {
  const last = forward.length - 1
  const drawn = new Int32Array(forward.length)
  drawn[last] = pick(forward[last] as Float64Array, share)
  for (let row = last - 1; row >= 0; row--) {
    const sums = forward[row] as Float64Array
    const pair = pairs[row] as Float64Array
    const width = (forward[row + 1] as Float64Array).length
    const column = drawn[row + 1] as number
    const weights = new Float64Array(sums.length)
    for (let a = 0; a < weights.length; a++) weights[a] = (sums[a] as number) * (pair[a * width + column] as number)
    drawn[row] = pick(weights, uniform())
  }
  return drawn
}

/** The index at which the running sum of weights passes a share of their total. */
function pick(weights: ArrayLike<number>, share: number): number {
  let total = 0
  for (let at = 0; at < weights.length; at++) total += weights[at] as number
  let left = share * total
  for (let at = 0; at < weights.length; at++) {
    left -= weights[at] as number
    if (left < 0) return at
  }
  return weights.length - 1
}
