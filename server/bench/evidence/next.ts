/** What to try next: the trial that narrows the voltages of a profile's ratios most for each minute at the bench. */
import { failuresPerS, type VoltageTrial } from './hazard.ts'
import type { Draw } from './posterior.ts'
import { placeAmong, type RowPlace, voltageAt } from './rows.ts'

/** One trial that could be run. */
export interface Candidate {
  readonly ratio: number
  /** What the firmware would be given, in V. */
  readonly setV: number
  /** As the part's needs count it: at the die, less what temperature and vector work ask for on top. */
  readonly comparableV: number
  readonly load: string
  readonly forS: number
}

export interface Proposal extends Candidate {
  /** Expected fall of the summed uncertainties, in V for each minute. */
  readonly gainVPerMin: number
  /** Chance that the machine stops before the time is over. */
  readonly stopProbability: number
  /** The uncertainty of each ratio in question, summed: now, and after either end. */
  readonly nowV: number
  readonly afterHoldV: number
  readonly afterStopV: number
}

export interface NextOptions {
  /** Proposals with a larger chance of a stop are left out. */
  readonly risk?: number
  readonly count?: number
}

/** Entering the values and waiting for the plate, and starting again after a stop. Engineering judgement, no source. */
export const SET_UP_MIN = 5
export const AFTER_STOP_MIN = 10

/**
 * The best trials, best first; at most one for a ratio, so that they are choices and not neighbours on the grid.
 * Value is the expected fall of Σ sd(V95) over the ratios in question, by the draws weighed by either end; a stop counts
 * as one end, whenever it comes.
 * @param rowRatios of the part's needs
 * @param proofSharpnesses how many σ the proof voltage lies above μ
 */
export function bestTrials(
  draws: readonly Draw[],
  rowRatios: readonly number[],
  proofSharpnesses: number,
  inQuestion: readonly number[],
  candidates: readonly Candidate[],
  { risk = 1, count = 3 }: NextOptions = {},
): readonly Proposal[] {
  const questions = inQuestion.map(ratio => at(draws, placeAmong(rowRatios, ratio)))
  const nowV = questions.reduce((sum, values) => sum + spreadOf(values, undefined), 0)
  const found: Proposal[] = []
  const held = new Float64Array(draws.length)
  const places = new Map<number, Float64Array>()
  for (const candidate of candidates) {
    let voltages = places.get(candidate.ratio)
    if (voltages === undefined) {
      voltages = at(draws, placeAmong(rowRatios, candidate.ratio))
      places.set(candidate.ratio, voltages)
    }
    let holds = 0
    for (const [index, draw] of draws.entries()) {
      const middleV = (voltages[index] as number) - proofSharpnesses * draw.sharpnessV
      const share = Math.exp(-failuresPerS(candidate.comparableV - middleV, draw.sharpnessV) * candidate.forS)
      held[index] = share
      holds += share
    }
    const stopProbability = 1 - holds / draws.length
    if (stopProbability > risk) continue
    const afterHoldV = questions.reduce((sum, values) => sum + spreadOf(values, index => held[index] as number), 0)
    const afterStopV = questions.reduce(
      (sum, values) => sum + spreadOf(values, index => 1 - (held[index] as number)),
      0,
    )
    const minutes = SET_UP_MIN + candidate.forS / 60 + stopProbability * AFTER_STOP_MIN
    const expectedV = (1 - stopProbability) * afterHoldV + stopProbability * afterStopV
    found.push({
      ...candidate,
      gainVPerMin: (nowV - expectedV) / minutes,
      stopProbability,
      nowV,
      afterHoldV,
      afterStopV,
    })
  }
  found.sort((a, b) => b.gainVPerMin - a.gainVPerMin)
  const best: Proposal[] = []
  for (const one of found) {
    if (best.length === count) break
    if (one.gainVPerMin > 0 && !best.some(other => other.ratio === one.ratio)) best.push(one)
  }
  return best
}

function at(draws: readonly Draw[], place: RowPlace): Float64Array {
  return Float64Array.from(draws, draw => voltageAt(draw.rowsV, place))
}

/** Standard deviation of values under weights; 0 where no weight is left. */
function spreadOf(values: Float64Array, weightOf: ((index: number) => number) | undefined): number {
  const origin = values[0] as number
  let total = 0
  let sum = 0
  let square = 0
  for (let index = 0; index < values.length; index++) {
    const weight = weightOf === undefined ? 1 : weightOf(index)
    const offset = (values[index] as number) - origin
    total += weight
    sum += weight * offset
    square += weight * offset * offset
  }
  if (total <= 0) return 0
  const mean = sum / total
  return Math.sqrt(Math.max(0, square / total - mean * mean))
}

/** A trial's end, for whoever simulates one. */
export function endOf(candidate: Candidate, stoppedAfterS: number | undefined): VoltageTrial {
  const { ratio, comparableV, forS } = candidate
  const end =
    stoppedAfterS === undefined
      ? ({ kind: 'held', forS } as const)
      : ({ kind: 'stopped', afterS: stoppedAfterS } as const)
  return { ratio, comparableV, end }
}
