/**
 * What trials tell about the voltage that each ratio needs: the whole posterior, not its maximum, since after holds
 * alone or after contradictions the curvature at the maximum is far too narrow.
 *
 * Unknown are the proof voltage of each row of the part's `needs` and the sharpness σ of the failure rate. Given σ the
 * rows form a chain: sums forward and back on a grid are exact.
 */
import { finished } from '../../model/index.ts'
import { type Proof, usualProof } from '../../semantic/proof.ts'
import { backwardOf, type Chain, chainFor, drawAlong, type Frame, frameOf, scaledToOne } from './chain.ts'
import { sharpnessesAbove, type VoltageTrial } from './hazard.ts'
import { type OfSharpness, type RowPosterior, rowPosterior } from './marginal.ts'
import { type Grid, priorSharpnesses, STEP_V, type StatedRow } from './prior.ts'
import { placeAmong, voltageAt } from './rows.ts'

interface SharpnessPosterior {
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
  /** The proof voltage at any ratio: a row's, or on the line between two. */
  at(ratio: number): RowPosterior
  /**
   * Draws of equal weight, spread evenly over σ and the last row so that few of them tell as much as many.
   * @param uniform evenly spread numbers in [0, 1)
   */
  draws(count: number, uniform: () => number): readonly Draw[]
}

/** A σ that is so much less likely than the rest adds nothing to a figure. */
const NEGLIGIBLE = 1e-9

interface WeighedChain extends Chain {
  readonly share: number
  readonly back: readonly Float64Array[]
}

/**
 * What trials tell, a millisecond or less at a time.
 * @param rows the part's stated needs, ratios rising, at least one row
 * @param trials thermal stops left out
 */
export function* posteriorInSlices(
  rows: readonly StatedRow[],
  trials: readonly VoltageTrial[],
  proof: Proof = usualProof,
): Generator<undefined, Posterior> {
  const proofSharpnesses = sharpnessesAbove(proof)
  const frame = frameOf(rows, trials, proofSharpnesses)
  const summed: Chain[] = []
  for (const { sharpnessV, logPrior } of priorSharpnesses) {
    summed.push(chainFor(frame, sharpnessV, logPrior))
    yield
  }
  const chains = weighed(frame, summed)
  const found = rows.map(({ ratio, voltageV }, row) => ofRow(frame, chains, row, ratio, voltageV))
  return {
    rows: found,
    sharpness: sharpnessPosterior(chains),
    proofSharpnesses,
    at: ratio => found.find(row => row.ratio === ratio) ?? ofLine(rows, frame, chains, ratio),
    draws: (count, uniform) => drawsOf(frame, chains, count, uniform),
  }
}

/** The same at once. */
export function posteriorOf(...given: Parameters<typeof posteriorInSlices>): Posterior {
  return finished(posteriorInSlices(...given))
}

/** The chains that count, with their shares of the whole. */
function weighed(frame: Frame, chains: readonly Chain[]): readonly WeighedChain[] {
  const most = Math.max(...chains.map(chain => chain.logEvidence))
  const total = chains.reduce((sum, chain) => sum + Math.exp(chain.logEvidence - most), 0)
  return chains
    .map(chain => ({ ...chain, share: Math.exp(chain.logEvidence - most) / total }))
    .filter(({ share }) => share > NEGLIGIBLE)
    .map(chain => ({ ...chain, back: backwardOf(frame, chain) }))
}

/** The marginal of a row. */
function ofRow(
  { grids, proofSharpnesses }: Frame,
  chains: readonly WeighedChain[],
  row: number,
  ratio: number,
  statedV: number,
): RowPosterior {
  const { count, firstV } = grids[row] as Grid
  const middle = (count - 1) / 2
  let [offset, square] = [0, 0]
  const parts = chains.map(({ sharpnessV, share, forward, back }): OfSharpness => {
    const [before, behind] = [forward[row] as Float64Array, back[row] as Float64Array]
    const weights = before.map((value, at) => value * (behind[at] as number))
    scaledToOne(weights)
    for (let at = 0; at < count; at++) {
      const own = (at - middle) * STEP_V
      offset += share * (weights[at] as number) * own
      square += share * (weights[at] as number) * own * own
    }
    return { sharpnessV, share, weights }
  })
  return rowPosterior(ratio, statedV, firstV, { offset, square }, parts, proofSharpnesses)
}

/** At a ratio between two rows, or on the line beyond the last. */
function ofLine(
  rows: readonly StatedRow[],
  frame: Frame,
  chains: readonly WeighedChain[],
  ratio: number,
): RowPosterior {
  const place = placeAmong(
    rows.map(row => row.ratio),
    ratio,
  )
  const { index, weight } = place
  const statedV = voltageAt(
    rows.map(row => row.voltageV),
    place,
  )
  const [low, high] = [frame.grids[index] as Grid, frame.grids[index + 1]]
  if (weight === 0 || high === undefined) return ofRow(frame, chains, index, ratio, statedV)
  const [middleLow, middleHigh] = [(low.count - 1) / 2, (high.count - 1) / 2]
  // In steps of the grid about the stated line; beyond the last row the line swings wider than the rows.
  const half = Math.ceil(Math.abs(1 - weight) * middleLow + Math.abs(weight) * middleHigh) + 1
  let [offset, square] = [0, 0]
  const parts = chains.map(({ sharpnessV, share, forward, own, back, pairs }): OfSharpness => {
    const [before, behind] = [forward[index] as Float64Array, back[index + 1] as Float64Array]
    const [likelihood, pair] = [own[index + 1] as Float64Array, pairs[index] as Float64Array]
    const weights = new Float64Array(2 * half + 1)
    let [total, sum, sumOfSquares] = [0, 0, 0]
    for (let a = 0; a < low.count; a++) {
      const lowSteps = (1 - weight) * (a - middleLow)
      for (let b = 0; b < high.count; b++) {
        const here =
          (before[a] as number) *
          (pair[a * high.count + b] as number) *
          (likelihood[b] as number) *
          (behind[b] as number)
        if (here === 0) continue
        const steps = lowSteps + weight * (b - middleHigh)
        total += here
        sum += here * steps
        sumOfSquares += here * steps * steps
        const cell = Math.floor(steps)
        weights[half + cell] = (weights[half + cell] as number) + here * (1 - (steps - cell))
        weights[half + cell + 1] = (weights[half + cell + 1] as number) + here * (steps - cell)
      }
    }
    offset += (share * sum * STEP_V) / total
    square += (share * sumOfSquares * STEP_V * STEP_V) / total
    scaledToOne(weights)
    return { sharpnessV, share, weights }
  })
  return rowPosterior(ratio, statedV, statedV - half * STEP_V, { offset, square }, parts, frame.proofSharpnesses)
}

function sharpnessPosterior(chains: readonly WeighedChain[]): SharpnessPosterior {
  const meanV = chains.reduce((sum, { share, sharpnessV }) => sum + share * sharpnessV, 0)
  const square = chains.reduce((sum, { share, sharpnessV }) => sum + share * (sharpnessV - meanV) ** 2, 0)
  // σ is spread over its logarithm: the median lies where half of the shares are passed, straight between the values.
  let passed = 0
  let medianV = meanV
  for (const [at, { share, sharpnessV }] of chains.entries()) {
    if (passed + share >= 0.5) {
      const factor = at === 0 ? 1 : sharpnessV / (chains[at - 1] as Chain).sharpnessV
      medianV = sharpnessV * factor ** ((0.5 - passed) / share - 0.5)
      break
    }
    passed += share
  }
  return { medianV, meanV, standardUncertaintyV: Math.sqrt(square) }
}

function drawsOf(
  { grids }: Frame,
  chains: readonly WeighedChain[],
  count: number,
  uniform: () => number,
): readonly Draw[] {
  const jitter = (): number => (uniform() - 0.5) * STEP_V
  let at = 0
  let passed = 0
  return Array.from({ length: count }, (_, index) => {
    const part = (index + uniform()) / count
    while (at < chains.length - 1 && passed + (chains[at] as WeighedChain).share < part) {
      passed += (chains[at] as WeighedChain).share
      at++
    }
    const chain = chains[at] as WeighedChain
    const cells = drawAlong(chain, Math.min(1, (part - passed) / chain.share), uniform)
    const rowsV = Float64Array.from(cells, (cell, row) => {
      const { firstV } = grids[row] as Grid
      return firstV + cell * STEP_V + jitter()
    })
    return { rowsV, sharpnessV: chain.sharpnessV }
  })
}
