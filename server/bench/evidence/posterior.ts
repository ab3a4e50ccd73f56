/**
 * What trials tell about the voltage that each ratio needs: the whole posterior, not its maximum, since after holds
 * alone or after contradictions the curvature at the maximum is far too narrow.
 *
 * Unknown are the proof voltage of each row of the part's `needs` and the sharpness σ of the failure rate. Given σ the
 * rows form a chain, since a trial touches one row or two neighbours: sums forward and back on a grid are exact.
 */
import { failuresPerS, type Proof, sharpnessesAbove, usualProof, type VoltageTrial } from './hazard.ts'
import { placeAmong } from './rows.ts'
import { logLikelihoodOfEnd } from './survival.ts'

/** A row of `needs` as the part states it. */
export interface StatedRow {
  readonly ratio: number
  readonly voltageV: number
}

export interface RowPosterior {
  readonly ratio: number
  readonly statedV: number
  /** Of the proof voltage. */
  readonly meanV: number
  readonly standardUncertaintyV: number
  /** That the stated voltage is enough for the proof. */
  readonly probability: number
}

export interface SharpnessPosterior {
  /** Median of σ. */
  readonly medianV: number
  readonly meanV: number
  readonly standardUncertaintyV: number
}

/** One draw from the posterior. */
export interface Draw {
  /** The proof voltage of each row. */
  readonly rowsV: Float64Array
  readonly sharpnessV: number
}

export interface Posterior {
  readonly rows: readonly RowPosterior[]
  readonly sharpness: SharpnessPosterior
  /** How many σ below the proof voltage a failure comes once an hour. */
  readonly proofSharpnesses: number
  /** Independent draws. @param uniform evenly spread numbers in [0, 1) */
  draws(count: number, uniform: () => number): readonly Draw[]
}

/** Prior of a row: the stated voltage with this standard uncertainty. Engineering judgement, as all four. */
export const PRIOR_SPREAD_V = 0.025
/** Rows this many ratio-steps of 1x apart are correlated by 1/e. */
const CORRELATION_RATIO = 20
const SHARPNESS_MEDIAN_V = 0.005
const SHARPNESS_FACTOR = 1.7

const STEP_V = 0.002
const LEAST_REACH_V = 0.13
/** Beyond a trial, how far the grid goes on: past it a hold or a stop is a matter of course. */
const BEYOND_TRIAL_V = 0.06
const SHARPNESS_COUNT = 21
const SHARPNESS_REACH = 3.2
/** Shares of a forward sum below this add nothing that a double would show in a figure. */
const NEGLIGIBLE = 1e-14

/** The trials at one ratio: their joint likelihood is a function of that ratio's proof voltage alone. */
interface RatioTrials {
  readonly index: number
  readonly weight: number
  readonly trials: readonly VoltageTrial[]
}

/** A chain of rows for one σ, summed forward. */
interface Chain {
  readonly sharpnessV: number
  /** Logarithm of prior × likelihood, summed over all rows. */
  readonly logEvidence: number
  /** For each row the forward sums, scaled to a total of one. */
  readonly forward: readonly Float64Array[]
  /** Marginal of each row. */
  readonly marginals: readonly Float64Array[]
  /** Weights of a pair of neighbouring rows beyond the forward sum: prior step × likelihood of trials between × of row. */
  readonly pairs: readonly Float64Array[]
}

/**
 * @param rows the part's stated needs, ratios rising, at least one row
 * @param trials thermal stops left out
 */
export function posteriorOf(
  rows: readonly StatedRow[],
  trials: readonly VoltageTrial[],
  proof: Proof = usualProof,
): Posterior {
  const ratios = rows.map(row => row.ratio)
  const grids = rows.map(row => gridOf(row, trials))
  const steps = rows.slice(1).map((_row, index) => priorStep(rows, grids, index))
  const byRatio = groupByRatio(ratios, trials)
  const proofSharpnesses = sharpnessesAbove(proof)
  const logSpread = Math.log(SHARPNESS_FACTOR)
  const chains = Array.from({ length: SHARPNESS_COUNT }, (_, at) => {
    const z = ((2 * at) / (SHARPNESS_COUNT - 1) - 1) * SHARPNESS_REACH
    const sharpnessV = SHARPNESS_MEDIAN_V * Math.exp(z * logSpread)
    return chainFor(rows, grids, steps, byRatio, proofSharpnesses, sharpnessV, -(z * z) / 2)
  })
  const most = Math.max(...chains.map(chain => chain.logEvidence))
  const shares = chains.map(chain => Math.exp(chain.logEvidence - most))
  const total = shares.reduce((sum, share) => sum + share, 0)
  for (const [at, share] of shares.entries()) shares[at] = share / total
  return {
    rows: rows.map((row, index) => rowPosterior(row, grids[index] as Float64Array, index, chains, shares)),
    sharpness: sharpnessPosterior(chains, shares),
    proofSharpnesses,
    draws: (count, uniform) =>
      Array.from({ length: count }, () => drawFrom(chains[pick(shares, uniform())] as Chain, grids, uniform)),
  }
}

/** Voltages around a row's stated one, which is the middle of the grid. */
function gridOf({ voltageV }: StatedRow, trials: readonly VoltageTrial[]): Float64Array {
  const furthest = trials.reduce((most, trial) => Math.max(most, Math.abs(trial.comparableV - voltageV)), 0)
  // A trial far from every row says as much at the end of the grid as beyond it.
  const reach = Math.min(Math.max(LEAST_REACH_V, furthest + BEYOND_TRIAL_V), 3 * LEAST_REACH_V)
  const half = Math.ceil(reach / STEP_V)
  return Float64Array.from({ length: 2 * half + 1 }, (_, at) => voltageV + (at - half) * STEP_V)
}

/** The prior's step from a row to the next, normal given the row, zero where the voltage would fall with the ratio. */
function priorStep(rows: readonly StatedRow[], grids: readonly Float64Array[], index: number): Float64Array {
  const [low, high] = [rows[index] as StatedRow, rows[index + 1] as StatedRow]
  const [from, to] = [grids[index] as Float64Array, grids[index + 1] as Float64Array]
  const correlation = Math.exp(-Math.abs(high.ratio - low.ratio) / CORRELATION_RATIO)
  const spread = PRIOR_SPREAD_V * Math.sqrt(1 - correlation * correlation)
  const step = new Float64Array(from.length * to.length)
  for (let a = 0; a < from.length; a++) {
    const expected = high.voltageV + correlation * ((from[a] as number) - low.voltageV)
    for (let b = 0; b < to.length; b++) {
      if ((to[b] as number) < (from[a] as number) - 1e-9) continue
      const z = ((to[b] as number) - expected) / spread
      step[a * to.length + b] = Math.exp(-(z * z) / 2)
    }
  }
  return step
}

function groupByRatio(ratios: readonly number[], trials: readonly VoltageTrial[]): readonly RatioTrials[] {
  const groups = new Map<number, VoltageTrial[]>()
  for (const trial of trials) groups.set(trial.ratio, [...(groups.get(trial.ratio) ?? []), trial])
  return [...groups].map(([ratio, own]) => {
    const { index, weight } = placeAmong(ratios, ratio)
    // At the next row's own ratio the trial is that row's alone.
    return weight === 1 ? { index: index + 1, weight: 0, trials: own } : { index, weight, trials: own }
  })
}

/** The joint log-likelihood of trials at one ratio, over the proof voltage of that ratio. */
function tableOf(
  trials: readonly VoltageTrial[],
  proofSharpnesses: number,
  sharpnessV: number,
  fromV: number,
  toV: number,
): { readonly fromV: number; readonly stepV: number; readonly values: Float64Array } {
  const stepV = Math.min(STEP_V / 2, sharpnessV / 8)
  const values = new Float64Array(Math.ceil((toV - fromV) / stepV) + 2)
  for (let at = 0; at < values.length; at++) {
    const middleV = fromV + at * stepV - proofSharpnesses * sharpnessV
    for (const { comparableV, end } of trials)
      values[at] = (values[at] as number) + logLikelihoodOfEnd(end, failuresPerS(comparableV - middleV, sharpnessV))
  }
  return { fromV, stepV, values }
}

function chainFor(
  rows: readonly StatedRow[],
  grids: readonly Float64Array[],
  steps: readonly Float64Array[],
  byRatio: readonly RatioTrials[],
  proofSharpnesses: number,
  sharpnessV: number,
  logPrior: number,
): Chain {
  const own = grids.map((grid, index) => {
    const first = rows[0] as StatedRow
    const weights = new Float64Array(grid.length)
    const here = byRatio.filter(one => one.index === index && one.weight === 0)
    for (let at = 0; at < grid.length; at++) {
      const valueV = grid[at] as number
      let log = index === 0 ? -(((valueV - first.voltageV) / PRIOR_SPREAD_V) ** 2) / 2 : 0
      const middleV = valueV - proofSharpnesses * sharpnessV
      for (const { trials } of here)
        for (const { comparableV, end } of trials)
          log += logLikelihoodOfEnd(end, failuresPerS(comparableV - middleV, sharpnessV))
      weights[at] = log
    }
    return weights
  })
  const between = steps.map((_step, index) =>
    byRatio
      .filter(one => one.index === index && one.weight !== 0)
      .map(({ weight, trials }) => {
        const [low, high] = [grids[index] as Float64Array, grids[index + 1] as Float64Array]
        const ends = [low[0], low.at(-1)].flatMap(a =>
          [high[0], high.at(-1)].map(b => (a as number) + weight * ((b as number) - (a as number))),
        )
        return { weight, table: tableOf(trials, proofSharpnesses, sharpnessV, Math.min(...ends), Math.max(...ends)) }
      }),
  )
  let logEvidence = logPrior
  const scaled = own.map(logs => {
    const most = logs.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY)
    logEvidence += most
    return logs.map(log => Math.exp(log - most))
  })
  const forward: Float64Array[] = []
  const pairs: Float64Array[] = []
  let current = normalised(scaled[0] as Float64Array)
  logEvidence += Math.log(current.total)
  forward.push(current.values)
  for (const [index, step] of steps.entries()) {
    const pair = pairWeights(step, grids, index, between[index] ?? [], scaled[index + 1] as Float64Array)
    logEvidence += pair.logScale
    pairs.push(pair.values)
    const width = (grids[index + 1] as Float64Array).length
    const next = new Float64Array(width)
    for (let a = 0; a < current.values.length; a++) {
      const share = current.values[a] as number
      if (share < NEGLIGIBLE) continue
      for (let b = 0; b < width; b++) next[b] = (next[b] as number) + share * (pair.values[a * width + b] as number)
    }
    current = normalised(next)
    logEvidence += Math.log(current.total)
    forward.push(current.values)
  }
  return { sharpnessV, logEvidence, forward, pairs, marginals: marginalsOf(forward, pairs) }
}

function normalised(values: Float64Array): { readonly values: Float64Array; readonly total: number } {
  const total = values.reduce((sum, value) => sum + value, 0)
  return { values: values.map(value => value / total), total }
}

type Table = ReturnType<typeof tableOf>

function pairWeights(
  step: Float64Array,
  grids: readonly Float64Array[],
  index: number,
  between: readonly { readonly weight: number; readonly table: Table }[],
  own: Float64Array,
): { readonly values: Float64Array; readonly logScale: number } {
  const [low, high] = [grids[index] as Float64Array, grids[index + 1] as Float64Array]
  const width = high.length
  const values = new Float64Array(step.length)
  if (between.length === 0) {
    for (let at = 0; at < step.length; at++) values[at] = (step[at] as number) * (own[at % width] as number)
    return { values, logScale: 0 }
  }
  let most = Number.NEGATIVE_INFINITY
  const logs = new Float64Array(step.length).fill(Number.NEGATIVE_INFINITY)
  for (let a = 0; a < low.length; a++) {
    for (let b = 0; b < width; b++) {
      const at = a * width + b
      if ((step[at] as number) < NEGLIGIBLE || (own[b] as number) < NEGLIGIBLE) continue
      let log = 0
      for (const { weight, table } of between) {
        const valueV = (low[a] as number) + weight * ((high[b] as number) - (low[a] as number))
        const place = (valueV - table.fromV) / table.stepV
        const cell = Math.min(Math.floor(place), table.values.length - 2)
        const before = table.values[cell] as number
        log += before + (place - cell) * ((table.values[cell + 1] as number) - before)
      }
      logs[at] = log
      if (log > most) most = log
    }
  }
  if (most === Number.NEGATIVE_INFINITY) most = 0
  for (let at = 0; at < step.length; at++)
    values[at] = (step[at] as number) * (own[at % width] as number) * Math.exp((logs[at] as number) - most)
  return { values, logScale: most }
}

/** Forward sums times backward ones, each row's scaled to one. */
function marginalsOf(forward: readonly Float64Array[], pairs: readonly Float64Array[]): readonly Float64Array[] {
  const marginals: Float64Array[] = []
  let back = new Float64Array((forward.at(-1) as Float64Array).length).fill(1)
  for (let index = forward.length - 1; index >= 0; index--) {
    const sums = forward[index] as Float64Array
    const behind = back
    marginals.unshift(normalised(sums.map((value, at) => value * (behind[at] as number))).values)
    const pair = pairs[index - 1]
    if (pair === undefined) break
    const width = sums.length
    const next = new Float64Array((forward[index - 1] as Float64Array).length)
    for (let a = 0; a < next.length; a++) {
      let sum = 0
      for (let b = 0; b < width; b++) sum += (pair[a * width + b] as number) * (back[b] as number)
      next[a] = sum
    }
    const most = next.reduce((x, y) => Math.max(x, y), 0)
    back = next.map(value => value / most)
  }
  return marginals
}

function rowPosterior(
  { ratio, voltageV }: StatedRow,
  grid: Float64Array,
  index: number,
  chains: readonly Chain[],
  shares: readonly number[],
): RowPosterior {
  let mean = 0
  let square = 0
  let enough = 0
  for (const [chain, share] of chains.map((chain, at) => [chain, shares[at] as number] as const)) {
    const marginal = chain.marginals[index] as Float64Array
    for (let at = 0; at < grid.length; at++) {
      const offset = (grid[at] as number) - voltageV
      const weight = share * (marginal[at] as number)
      mean += weight * offset
      square += weight * offset * offset
      // The stated voltage is the middle of its cell: half of that cell is below it.
      if (offset < -STEP_V / 2) enough += weight
      else if (offset < STEP_V / 2) enough += weight / 2
    }
  }
  return {
    ratio,
    statedV: voltageV,
    meanV: voltageV + mean,
    standardUncertaintyV: Math.sqrt(Math.max(0, square - mean * mean)),
    probability: enough,
  }
}

function sharpnessPosterior(chains: readonly Chain[], shares: readonly number[]): SharpnessPosterior {
  const meanV = chains.reduce((sum, chain, at) => sum + (shares[at] as number) * chain.sharpnessV, 0)
  const square = chains.reduce((sum, chain, at) => sum + (shares[at] as number) * (chain.sharpnessV - meanV) ** 2, 0)
  // σ is spread over its logarithm: the median lies where half of the shares are passed, straight between the values.
  let passed = 0
  let medianV = meanV
  for (const [at, chain] of chains.entries()) {
    const share = shares[at] as number
    if (passed + share >= 0.5) {
      const factor = at === 0 ? 1 : chain.sharpnessV / (chains[at - 1] as Chain).sharpnessV
      medianV = chain.sharpnessV * factor ** ((0.5 - passed) / share - 0.5)
      break
    }
    passed += share
  }
  return { medianV, meanV, standardUncertaintyV: Math.sqrt(square) }
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

/** Backward through the chain: the last row from its sums, then each row given the one after it. */
function drawFrom(chain: Chain, grids: readonly Float64Array[], uniform: () => number): Draw {
  const last = grids.length - 1
  const rowsV = new Float64Array(grids.length)
  let at = pick(chain.forward[last] as Float64Array, uniform())
  const jitter = (): number => (uniform() - 0.5) * STEP_V
  rowsV[last] = ((grids[last] as Float64Array)[at] as number) + jitter()
  for (let index = last - 1; index >= 0; index--) {
    const sums = chain.forward[index] as Float64Array
    const pair = chain.pairs[index] as Float64Array
    const width = (grids[index + 1] as Float64Array).length
    const column = at
    at = pick(
      sums.map((value, a) => value * (pair[a * width + column] as number)),
      uniform(),
    )
    rowsV[index] = ((grids[index] as Float64Array)[at] as number) + jitter()
  }
  return { rowsV, sharpnessV: chain.sharpnessV }
}
