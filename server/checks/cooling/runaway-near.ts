import type { SettledState } from '../../model/index.ts'
import { badAmong, onceAmong } from '../../semantic/envelope.ts'
import { differenceText, fixed, temperatureText } from '../../wording/figures.ts'
import { pointWords } from '../../wording/places.ts'
import { deciderWords } from '../support/deciders.ts'
import { groupByRow, originOf } from '../support/physics-rows.ts'
import { stepWayOut } from '../support/what-if.ts'
import type { Check } from '../types.ts'

/** Slope of the heat balance above which it is called near; model section 9. */
export const nearSlope = 0.7

const slopeOver = (slope: number | null): number | undefined =>
  slope !== null && slope > nearSlope * (1 + 1e-6) ? slope : undefined

const steepAmong = onceAmong((_, points) => badAmong(points, ({ settled }) => slopeOver(settled.notes.slope)))

export const runawayNear: Check = {
  code: 'runaway-near',
  severity: 'warning',
  title: 'Close to thermal runaway',
  page: {
    what: 'The slope of the heat balance where the load settles: by how many kelvin the die would warm by itself for one kelvin more. Above 0.7 it is reported; at 1 there is no steady temperature left.',
    why: 'At a slope s every disturbance arrives 1/(1 − s) times as large: a warm afternoon, some dust in the fins or a slower pump can become a runaway.',
    remedy:
      'Less ratio, less voltage, or less resistance between die and air. The same watts on a better cooler lower the slope.',
    example:
      'profile daily {\n  part leaky                            # leakage that doubles every 12 K\n  cooler small-loop\n  room cellar                           # 8 °C\n  steps { 1 to 8 cores 52x }\n}',
  },
  *inProfile(evaluation) {
    for (const group of groupByRow(evaluation, steepAmong(evaluation))) {
      const { worst, at, points } = group
      // Where the same step runs away with another load or core count, that is the finding.
      if (points.some(({ settled }) => settled.state === 'runaway')) continue
      const slope = worst.settled.notes.slope ?? 0
      const grows =
        slope < 1
          ? `one kelvin more in the room becomes ${differenceText(1 / (1 - slope))} at the die`
          : 'the least warming carries it away'
      const { bench } = evaluation.input
      const isFine = ({ state, notes }: SettledState): boolean =>
        state !== 'runaway' && slopeOver(notes.slope) === undefined
      const decided = bench === undefined ? '' : deciderWords(bench, worst, isFine)
      const out = stepWayOut(evaluation, group, isFine)
      yield {
        at,
        ...originOf(evaluation, worst),
        message: `Close to thermal runaway: ${pointWords(worst)} settles at ${temperatureText(worst.settled.dieC ?? 0)} with a slope of ${fixed(slope, 2)}, above ${nearSlope}. Here ${grows}, so dust or a warm day can tip it over.${decided}${out.words === '' ? ' A cooler with less resistance lowers it.' : out.words}`,
        fixes: out.fixes,
      }
    }
  },
}
