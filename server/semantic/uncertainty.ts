/** How uncertain a prediction is: the constants with `±` carried through the model. */

import { onceFor } from '../../grammar/once.ts'
import {
  type Bench,
  type Corner,
  type FigureOf,
  finished,
  type Looked,
  type Propagation,
  propagateInSlices,
  resumable,
  settlingOnce,
} from '../model/index.ts'
import { mindsHumidity } from './drives.ts'
import type { ProfileInput } from './input.ts'
import type { LoadCase } from './load-cases.ts'
import type { Prediction } from './predict.ts'
import { correlationOf, settlingConstants, shiftConstants, unitShift } from './shifts.ts'

/** The propagation with the wet point of one corner: humidity moves nothing else where the drive does not mind it. */
function inCorner(propagation: Propagation, wetC: number): Propagation {
  const here =
    (figure: FigureOf): FigureOf =>
    figures =>
      // Not a copy: a margin is found when it is read.
      figure(Object.create(figures, { wetC: { value: wetC } }))
  return {
    drawnFor: propagation.drawnFor,
    marginsInSlices: propagation.marginsInSlices,
    interval: (figure, unbalanced) => propagation.interval(here(figure), unbalanced),
    probability: (figure, side, limit) => propagation.probability(here(figure), side, limit),
  }
}

/** So many airs of one load on one bench are kept; beyond that the oldest is evicted. A room has four corners, runs have their own. */
const KEPT = 32

interface Carried extends Pick<ProfileInput, 'uncertain' | 'correlated'> {
  readonly corner: Corner
  readonly carry: () => Generator<undefined, Propagation>
}

/**
 * What was carried before, or is being carried; evicted with the bench or with the load's case. One case's draws take
 * 140 kB.
 */
const carriedOn = onceFor((_bench: Bench) => onceFor((_load: LoadCase): Carried[] => []))

/**
 * The uncertainty of one prediction, a few milliseconds at a time; undefined where no constant carries any.
 *
 * @param asksMargin margins are asked for; without it draws are made without them, until one is read
 */
export function* uncertaintyInSlices(
  input: ProfileInput,
  prediction: Prediction,
  asksMargin: boolean,
): Generator<undefined, Propagation | undefined> {
  const { bench } = input
  const constants = settlingConstants(input, prediction.load.name)
  if (bench === undefined || constants.length === 0) return undefined
  const { load, corner, settled } = prediction
  const mindful = mindsHumidity(bench)
  const { uncertain, correlated } = input
  const done = carriedOn(bench)(load)
  const before = done.find(
    one =>
      one.uncertain === uncertain &&
      one.correlated === correlated &&
      one.corner.airC === corner.airC &&
      (!mindful || one.corner.humidityPct === corner.humidityPct),
  )
  if (before !== undefined) {
    const propagation = yield* before.carry()
    if (asksMargin) yield* propagation.marginsInSlices()
    return inCorner(propagation, settled.wetC)
  }
  const correlation = correlationOf(constants, input.correlated)
  const spread = {
    standard: constants.map(unitShift),
    ...(correlation === undefined ? {} : { correlation }),
  }
  const once = settlingOnce(corner)
  const shifted = (shifts: readonly number[]) => shiftConstants(bench, load.load, constants, shifts)
  const withMargin = (shifts: readonly number[]): Looked | null => {
    const moved = shifted(shifts)
    return once.withMargin(moved.bench, moved.load)
  }
  const withoutMargin = (shifts: readonly number[]): Omit<Looked, 'marginW'> | null => {
    const moved = shifted(shifts)
    return once.withoutMargin(moved.bench, moved.load)
  }
  const carry = resumable(propagateInSlices(withMargin, spread, asksMargin ? undefined : withoutMargin))
  done.push({ uncertain, correlated, corner, carry })
  if (done.length > KEPT) done.shift()
  return yield* carry()
}

/** The uncertainty of one prediction at once: up to a second where draws decide. */
export function uncertaintyOf(input: ProfileInput, prediction: Prediction): Propagation | undefined {
  return finished(uncertaintyInSlices(input, prediction, false))
}
