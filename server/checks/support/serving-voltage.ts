/** The least voltage with which no die gets less than it needs, found by trying. */

import { type Bench, type CoreVoltage, interpolateRows, isByNeeds } from '../../model/index.ts'
import { type EnvelopePoint, envelopeOf } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { toStep, usedRatios, writingStepV } from './physics-voltage.ts'
import { settleAgain, withVoltage } from './what-if.ts'

type AtRatio = EnvelopePoint['settled']['notes']['voltages'][number]

/** One ratio of one point at which the die gets too little. */
export interface Short {
  readonly point: EnvelopePoint
  readonly at: AtRatio
  readonly byV: number
}

export function shortsOf(point: EnvelopePoint, settled: EnvelopePoint['settled'] = point.settled): Short[] {
  return settled.notes.voltages.flatMap(at => {
    const byV = at.needV - at.voltageV
    return byV > 1e-6 * at.needV ? [{ point, at, byV }] : []
  })
}

/** Points tried for an answer, the shortest first; the others are short by less. */
const pointsVerified = 16

/**
 * The least raise, in the board's steps, with which no ratio of these points is short any more, found by trying:
 * more voltage also draws more current and warms the die. Undefined where none is found.
 */
export function raiseThatHolds(
  bench: Bench,
  shorts: readonly Short[],
  raised: (byV: number) => CoreVoltage,
  concerns: (ratio: number) => boolean,
): number | undefined {
  const stepV = writingStepV(bench)
  const worst = shorts
    .filter(({ at }) => concerns(at.ratio))
    .sort((a, b) => b.byV - a.byV)
    .map(short => short.point)
  const points = [...new Set(worst)].slice(0, pointsVerified)
  let byV = 0
  for (let round = 0; round < 40; round++) {
    const other = withVoltage(bench, raised(byV))
    let most = 0
    for (const point of points) {
      const settled = settleAgain(other, point)
      if (settled === undefined || settled.state === 'runaway') return undefined
      for (const short of shortsOf(point, settled)) if (concerns(short.at.ratio)) most = Math.max(most, short.byV)
      // One that is still short is reason enough to raise before the others are tried.
      if (most > 0) break
    }
    if (most === 0) return byV
    byV = Number((byV + Math.max(1, Math.ceil(most / stepV - 1e-6)) * stepV).toFixed(9))
    if (byV > 0.5) return undefined
  }
  return undefined
}

/** Every point with each ratio that it runs at, and what it has too little of, below zero where it has more. */
function neediest(evaluation: Evaluation): readonly Short[] {
  return envelopeOf(evaluation).flatMap(point =>
    point.settled.notes.voltages.map(at => ({ point, at, byV: at.needV - at.voltageV })),
  )
}

/** The least fixed voltage in V that serves every ratio the profile uses. */
export function servingFixedV(evaluation: Evaluation, bench: Bench): number | undefined {
  const needs = usedRatios(evaluation).map(({ ratio }) => interpolateRows(bench.part.needs, ratio))
  const startV = toStep(bench, Math.max(...needs), 'up')
  if (!Number.isFinite(startV)) return undefined
  const raised = (byV: number): CoreVoltage => ({ kind: 'fixed', voltageV: startV + byV })
  const byV = raiseThatHolds(bench, neediest(evaluation), raised, () => true)
  return byV === undefined ? undefined : Number((startV + byV).toFixed(9))
}

/** The least voltage in V of the `set` row at a ratio that serves it. */
export function servingRowV(evaluation: Evaluation, bench: Bench, ratio: number): number | undefined {
  const { voltage } = bench.profile
  if (!isByNeeds(voltage)) return undefined
  const startV = toStep(bench, interpolateRows(bench.part.needs, ratio), 'up')
  const isHere = (other: number): boolean => Math.abs(other - ratio) < 1e-9
  const raised = (byV: number): CoreVoltage => ({
    ...voltage,
    set: voltage.set.map(own => (isHere(own.ratio) ? { ...own, voltageV: startV + byV } : own)),
  })
  const byV = raiseThatHolds(bench, neediest(evaluation), raised, isHere)
  return byV === undefined ? undefined : Number((startV + byV).toFixed(9))
}

/** The least offset in V on what the part needs, none below zero, that serves every ratio without a row of its own. */
export function servingOffsetV(
  evaluation: Evaluation,
  bench: Bench,
  isFree: (ratio: number) => boolean,
): number | undefined {
  const { voltage } = bench.profile
  if (!isByNeeds(voltage)) return undefined
  return raiseThatHolds(bench, neediest(evaluation), byV => ({ ...voltage, offsetV: byV }), isFree)
}
