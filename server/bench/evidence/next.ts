/** What to try next: the trial that narrows the voltages of a profile's ratios most for each minute at the bench. */
import { BACKGROUND_PER_S, LARGEST_EXPONENT, REFERENCE_S } from './hazard.ts'
import type { Draw } from './posterior.ts'
import { placeAmong, voltageAt } from './rows.ts'

/** One voltage that could be tried at a ratio, under a load. */
export interface Candidate {
  readonly ratio: number
  /** What the firmware would be given, in V. */
  readonly setV: number
  /** As the part's needs count it: at the die, less what temperature and vector work ask for on top. */
  readonly comparableV: number
  readonly load: string
}

/** What is known of a voltage. */
export interface Belief {
  readonly meanV: number
  readonly standardUncertaintyV: number
}

export interface Outlook {
  readonly forS: number
  /** Expected rise of the summed precision of the ratios in question, in 1/V² for each minute. */
  readonly gainPerMin: number
  /** Chance that the machine stops before the time is over. */
  readonly stopProbability: number
  /** The uncertainties of the ratios in question, summed: now, and after either end. */
  readonly nowV: number
  readonly afterHoldV: number
  readonly afterStopV: number
  /** What the ratio that is tried then takes. */
  readonly ifHeld: Belief
  readonly ifStopped: Belief
}

export type Proposal<C extends Candidate = Candidate> = C & Outlook

export interface NextOptions {
  /** Proposals with a larger chance of a stop are left out. */
  readonly risk?: number
  readonly count?: number
}

/** Entering the values and waiting for the plate, and starting again after a stop. Engineering judgement, no source. */
const SET_UP_MIN = 5
const AFTER_STOP_MIN = 10
/** What a trial may last. */
const TRIAL_MIN = [10, 20, 40, 60] as const
/** Stops are told apart by when they come: within these minutes, or between two of them and of those above. */
const CUTS_MIN = [1, 3, ...TRIAL_MIN]
/** Beyond this exponent a trial fails, or holds, for certain; a product of two such powers is still a number. */
const FURTHEST_EXPONENT = 300
const LARGEST_RATE = Math.exp(LARGEST_EXPONENT)
/** A ratio known to this much is known well enough: nothing is gained by knowing it better. Engineering judgement. */
const KNOWN_V = 0.007

/** Draws as columns: the voltage of each ratio in question less the first draw's, and its square. */
interface Question {
  readonly values: Float64Array
  readonly sum: number
  readonly squares: number
}

/** What each draw has at a ratio, and exp((V − V₀)/σ), which is the same for every voltage that is tried there. */
interface AtRatio {
  readonly values: Float64Array
  readonly firstV: number
  readonly steepness: Float64Array
}

/** Weighed sums of one question. */
class Moments {
  readonly sum: Float64Array
  readonly squares: Float64Array
  weight = 0

  constructor(questions: number) {
    this.sum = new Float64Array(questions)
    this.squares = new Float64Array(questions)
  }
}

function spread(weight: number, sum: number, squares: number): number {
  if (!(weight > 1e-9)) return 0
  const mean = sum / weight
  return Math.sqrt(Math.max(0, squares / weight - mean * mean))
}

/**
 * What a standard uncertainty is worth: its precision, up to that of what is known well enough. Precision grows about in
 * proportion to the time that is spent, so what is left of it says how long it will take; a sum of uncertainties would
 * overrate the first hold and underrate what tells how steeply failures set in.
 */
const worth = (standardUncertaintyV: number): number => 1 / Math.max(standardUncertaintyV, KNOWN_V) ** 2

/** One column for each of `CUTS_MIN`. */
type Cuts = readonly [Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, Float64Array]

/** Everything that weighs candidates, for one set of draws. */
class Weighing {
  private readonly questions: readonly Question[]
  private readonly held: readonly Float64Array[]
  private readonly moments: readonly Moments[]
  private readonly minutes = new Float64Array(CUTS_MIN.length)
  private readonly now: number
  readonly nowV: number
  private readonly draws: readonly Draw[]
  /** Draws share a few σ: each once, and which one a draw has. */
  private readonly sharpnessesV: readonly number[]
  private readonly sharpnessOf: Int32Array
  private readonly proofSharpnesses: number

  constructor(
    draws: readonly Draw[],
    rowRatios: readonly number[],
    proofSharpnesses: number,
    ratios: readonly number[],
  ) {
    this.draws = draws
    this.proofSharpnesses = proofSharpnesses
    const sharpnesses = new Map([...new Set(draws.map(draw => draw.sharpnessV))].map((value, index) => [value, index]))
    this.sharpnessesV = [...sharpnesses.keys()]
    this.sharpnessOf = Int32Array.from(draws, draw => sharpnesses.get(draw.sharpnessV) as number)
    this.questions = ratios.map(ratio => questionOf(at(draws, rowRatios, ratio)))
    this.held = CUTS_MIN.map(() => new Float64Array(draws.length))
    this.moments = CUTS_MIN.map(() => new Moments(ratios.length))
    const spreads = this.questions.map(({ sum, squares }) => spread(draws.length, sum, squares))
    this.now = spreads.reduce((total, one) => total + worth(one), 0)
    this.nowV = spreads.reduce((total, one) => total + one, 0)
  }

  /** What all voltages that are tried at a ratio have in common. @param values what each draw has there */
  atRatio(values: Float64Array): AtRatio {
    const firstV = values[0] as number
    const steepness = values.map((value, draw) => {
      const sharpnessV = this.sharpnessesV[this.sharpnessOf[draw] as number] as number
      const exponent = (value - firstV) / sharpnessV
      return Math.exp(Math.min(FURTHEST_EXPONENT, Math.max(-FURTHEST_EXPONENT, exponent)))
    })
    return { values, firstV, steepness }
  }

  /** Weighs all durations of one candidate at its ratio. */
  weigh<C extends Candidate>(candidate: C, own: AtRatio, risk: number): readonly Weighed<C>[] {
    this.survive(candidate.comparableV, own)
    const count = this.draws.length
    const found: Weighed<C>[] = []
    for (const [index, minutes] of TRIAL_MIN.entries()) {
      const cut = CUTS_MIN.length - TRIAL_MIN.length + index
      const { weight } = this.moments[cut] as Moments
      const stopProbability = 1 - weight / count
      if (stopProbability > risk) continue
      const expected = this.expectedWorth(cut)
      const spent = SET_UP_MIN + (this.minutes[cut] as number) / count + stopProbability * AFTER_STOP_MIN
      found.push({ candidate, minutes, cut, stopProbability, gainPerMin: (expected - this.now) / spent })
    }
    return found
  }

  /** For each draw the chance to hold until each cut, and the sums that it weighs. */
  private survive(comparableV: number, { firstV, steepness }: AtRatio): void {
    const { held, minutes, sharpnessesV, sharpnessOf, proofSharpnesses } = this
    const [one, three, ten, twenty, forty, sixty] = held as unknown as Cuts
    const rates = Float64Array.from(sharpnessesV, sharpnessV => {
      const exponent = (firstV - comparableV) / sharpnessV - proofSharpnesses
      return Math.exp(Math.min(FURTHEST_EXPONENT, Math.max(-FURTHEST_EXPONENT, exponent)))
    })
    let [untilTen, untilTwenty, untilForty, untilSixty] = [0, 0, 0, 0]
    for (let draw = 0; draw < steepness.length; draw++) {
      const relative = (steepness[draw] as number) * (rates[sharpnessOf[draw] as number] as number)
      const perMin = 60 * (Math.min(relative, LARGEST_RATE) / REFERENCE_S + BACKGROUND_PER_S)
      const first = Math.exp(-perMin)
      const fourth = first * first * first * first
      const tenth = fourth * fourth * first * first
      const twentieth = tenth * tenth
      const fortieth = twentieth * twentieth
      const sixtieth = fortieth * twentieth
      one[draw] = first
      three[draw] = first * first * first
      ten[draw] = tenth
      twenty[draw] = twentieth
      forty[draw] = fortieth
      sixty[draw] = sixtieth
      // The mean time to a stop, or to the end.
      const lastsMin = 1 / perMin
      untilTen += (1 - tenth) * lastsMin
      untilTwenty += (1 - twentieth) * lastsMin
      untilForty += (1 - fortieth) * lastsMin
      untilSixty += (1 - sixtieth) * lastsMin
    }
    minutes.set([untilTen, untilTwenty, untilForty, untilSixty], CUTS_MIN.length - TRIAL_MIN.length)
    for (const [cut, moments] of this.moments.entries()) sumUp(moments, this.questions, held[cut] as Float64Array)
  }

  /** The mean worth after a trial until a cut: held, or stopped between two cuts. */
  private expectedWorth(cut: number): number {
    const count = this.draws.length
    let expected = 0
    for (const [index, question] of this.questions.entries()) {
      let [weight, sum, squares] = [count, question.sum, question.squares]
      for (let each = 0; each <= cut; each++) {
        const next = this.moments[each] as Moments
        const [nextSum, nextSquares] = [next.sum[index] as number, next.squares[index] as number]
        const stopped = weight - next.weight
        if (stopped > 1e-9 * count)
          expected += (stopped / count) * worth(spread(stopped, sum - nextSum, squares - nextSquares))
        ;[weight, sum, squares] = [next.weight, nextSum, nextSquares]
      }
      if (weight > 1e-9 * count) expected += (weight / count) * worth(spread(weight, sum, squares))
    }
    return expected
  }

  /** A weighed candidate with all that is said of it. */
  proposal<C extends Candidate>(weighed: Weighed<C>, ratio: AtRatio): Proposal<C> {
    const { candidate, minutes, cut, stopProbability, gainPerMin } = weighed
    this.survive(candidate.comparableV, ratio)
    const { weight, sum, squares } = this.moments[cut] as Moments
    const count = this.draws.length
    const own = questionOf(ratio.values)
    const tried = new Moments(1)
    sumUp(tried, [own], this.held[cut] as Float64Array)
    const belief = (share: number, total: number, square: number): Belief => ({
      meanV: ratio.firstV + (share > 1e-9 ? total / share : 0),
      standardUncertaintyV: spread(share, total, square),
    })
    const [heldSum, heldSquares] = [tried.sum[0] as number, tried.squares[0] as number]
    let [afterHoldV, afterStopV] = [0, 0]
    for (const [index, question] of this.questions.entries()) {
      const [ownSum, ownSquares] = [sum[index] as number, squares[index] as number]
      afterHoldV += spread(weight, ownSum, ownSquares)
      afterStopV += spread(count - weight, question.sum - ownSum, question.squares - ownSquares)
    }
    return {
      ...candidate,
      forS: 60 * minutes,
      gainPerMin,
      stopProbability,
      nowV: this.nowV,
      afterHoldV,
      afterStopV,
      ifHeld: belief(weight, heldSum, heldSquares),
      ifStopped: belief(count - weight, own.sum - heldSum, own.squares - heldSquares),
    }
  }
}

interface Weighed<C extends Candidate> {
  readonly candidate: C
  readonly minutes: number
  readonly cut: number
  readonly stopProbability: number
  readonly gainPerMin: number
}

function questionOf(voltages: Float64Array): Question {
  const values = voltages.map(value => value - (voltages[0] as number))
  let [sum, squares] = [0, 0]
  for (const value of values) {
    sum += value
    squares += value * value
  }
  return { values, sum, squares }
}

function sumUp(moments: Moments, questions: readonly Question[], weights: Float64Array): void {
  let weight = 0
  for (let draw = 0; draw < weights.length; draw++) weight += weights[draw] as number
  moments.weight = weight
  for (const [index, { values }] of questions.entries()) {
    let [sum, squares] = [0, 0]
    for (let draw = 0; draw < weights.length; draw++) {
      const weighed = (weights[draw] as number) * (values[draw] as number)
      sum += weighed
      squares += weighed * (values[draw] as number)
    }
    moments.sum[index] = sum
    moments.squares[index] = squares
  }
}

function at(draws: readonly Draw[], rowRatios: readonly number[], ratio: number): Float64Array {
  const place = placeAmong(rowRatios, ratio)
  return Float64Array.from(draws, draw => voltageAt(draw.rowsV, place))
}

/**
 * The best trials, best first; at most one for a ratio, so that they are choices and not neighbours on the grid. Value is
 * the expected rise of the precision 1/sd² of the proof voltage, summed over the ratios in question, by the draws weighed by
 * how the trial ends: held, or stopped early, late or between. It is divided by the minutes that the trial is expected to
 * take, with setting up and starting again after a stop.
 * @param rowRatios of the part's needs
 * @param proofSharpnesses how many σ the proof voltage lies above μ
 */
export function bestTrials<C extends Candidate>(
  draws: readonly Draw[],
  rowRatios: readonly number[],
  proofSharpnesses: number,
  inQuestion: readonly number[],
  candidates: readonly C[],
  { risk = 1, count = 3 }: NextOptions = {},
): readonly Proposal<C>[] {
  const weighing = new Weighing(draws, rowRatios, proofSharpnesses, inQuestion)
  const places = new Map<number, AtRatio>()
  const best = new Map<number, Weighed<C>>()
  for (const candidate of candidates) {
    const own = places.get(candidate.ratio) ?? weighing.atRatio(at(draws, rowRatios, candidate.ratio))
    places.set(candidate.ratio, own)
    for (const one of weighing.weigh(candidate, own, risk)) {
      const before = best.get(candidate.ratio)
      if (one.gainPerMin > (before?.gainPerMin ?? 0)) best.set(candidate.ratio, one)
    }
  }
  return [...best.values()]
    .sort((a, b) => b.gainPerMin - a.gainPerMin)
    .slice(0, count)
    .map(one => weighing.proposal(one, places.get(one.candidate.ratio) as AtRatio))
}
