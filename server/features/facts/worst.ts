/** The worst that a profile comes to over every number of active cores, all loads and all corners, and where. */

import { isWork } from '../../model/index.ts'
import type { SettledState } from '../../model/types.ts'
import { type EnvelopePoint, envelopeOf } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { clockText, currentText, differenceText, powerText, temperatureText } from '../../wording/figures.ts'
import { pointText } from '../../wording/places.ts'
import { paragraphs, table } from '../markdown.ts'

/** The point with the largest figure, a declared core count before an undeclared one. */
export function worstOf(
  points: readonly EnvelopePoint[],
  figure: (settled: SettledState) => number | null,
): { readonly point: EnvelopePoint; readonly value: number } | undefined {
  let worst: { point: EnvelopePoint; value: number } | undefined
  for (const point of points) {
    const value = figure(point.settled)
    if (value === null) continue
    const isMore = worst === undefined || value > worst.value + 1e-9 * (1 + Math.abs(worst.value))
    const isAsMuch = worst !== undefined && !isMore && value >= worst.value - 1e-9 * (1 + Math.abs(worst.value))
    if (isMore || (isAsMuch && worst !== undefined && isForeign(worst.point) && !isForeign(point))) {
      worst = { point, value }
    }
  }
  return worst
}

function isForeign({ load, declared }: EnvelopePoint): boolean {
  return isWork(load) && declared !== undefined && (load.cores < declared.from || load.cores > declared.to)
}

export function worstText(evaluation: Evaluation): string | undefined {
  const points = envelopeOf(evaluation)
  const runs = points.find(({ settled }) => settled.state === 'runaway')
  const looks: readonly (readonly [string, (settled: SettledState) => number | null, (value: number) => string])[] = [
    ['hottest die', one => one.dieC, temperatureText],
    ['most power', one => one.powerW, powerText],
    ['most current', one => one.currentA, currentText],
    [
      'plate nearest its dew or frost point',
      one => (one.plateC === null ? null : one.wetC - one.plateC),
      value => `${differenceText(-value)} above`,
    ],
    ['lowest clock', one => (one.clockMhz === null ? null : -one.clockMhz), value => clockText(-value)],
  ]
  const rows = looks.flatMap(([name, figure, write]) => {
    const worst = worstOf(points, figure)
    return worst === undefined ? [] : [[name, write(worst.value), pointText(worst.point)]]
  })
  if (rows.length === 0) return undefined
  return paragraphs(
    'At worst, over every number of active cores, every load and corner:',
    table(['Worst case', 'Figure', 'Decided by'], rows),
    runs === undefined ? undefined : `Runs away: ${pointText(runs)}.`,
  )
}
