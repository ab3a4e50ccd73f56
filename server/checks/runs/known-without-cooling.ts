import { type KnownPoint, knownPoints, saysSomething, tellsOfCooling } from '../../semantic/known.ts'
import { headPlace } from '../support/place.ts'
import type { Check } from '../types.ts'
import { partsIn } from './known-parts.ts'

/** Whether its die temperature has nothing beside it that is cooler. */
const isAlone = (point: KnownPoint): boolean => point.readings.die !== undefined && !tellsOfCooling(point)

export const knownWithoutCooling: Check = {
  code: 'known-without-cooling',
  severity: 'information',
  title: 'A remembered temperature with nothing to set it against',
  page: {
    what: 'A row of `known` with a die temperature and no `coolant`, `plate` or `air` beside it.',
    why: 'How warm a die gets says how well heat leaves it only where it is known how warm the other end was. Without that the temperature serves the power law alone: how much of the power leaks.',
    remedy: 'Add the air at the intake, the coolant or the plate, if only roughly: `air 22 °C ± 2 K`.',
    example: 'part sample-c2 {\n  known {\n    4.70 GHz  1.236 V  192 W  76 °C\n  }\n}',
  },
  *inChunk(chunk) {
    for (const part of partsIn(chunk)) {
      for (const point of knownPoints(part)) {
        if (!isAlone(point) || !saysSomething(point)) continue
        yield {
          at: headPlace({ chunk }, point.match),
          message:
            'Nothing to set this temperature against: with no `coolant`, `plate` or `air` beside it, the point tells of the power alone, not of the cooling. Add one, like `air 22 °C`, if only roughly.',
        }
      }
    }
  },
}
