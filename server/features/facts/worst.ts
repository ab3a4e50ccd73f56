/** The worst that a profile comes to over every number of active cores, all loads and all corners, and where. */

import type { SettledState } from '../../model/types.ts'
import { envelopeOf, worstPoint } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { clockText, currentText, differenceText, powerText, temperatureText } from '../../wording/figures.ts'
import { pointText } from '../../wording/places.ts'
import { paragraphs, table } from '../markdown.ts'

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
    const worst = worstPoint(points, ({ settled }) => figure(settled) ?? undefined)
    return worst === undefined ? [] : [[name, write(worst.value), pointText(worst.point)]]
  })
  if (rows.length === 0) return undefined
  return paragraphs(
    'At worst, over every number of active cores, every load and corner:',
    table(['Worst case', 'Figure', 'Decided by'], rows),
    runs === undefined ? undefined : `Runs away: ${pointText(runs)}.`,
  )
}
