import { hasOperatingPoint, type KnownPoint, knownPoints, saysSomething } from '../../semantic/known.ts'
import { listed } from '../../wording/counts.ts'
import { headPlace } from '../support/place.ts'
import type { Check } from '../types.ts'
import { partsIn } from './known-parts.ts'

const names = { clock: 'clock', voltage: 'voltage', power: 'power', die: 'die temperature' } as const

/** What the point has of what could be compared: `a clock and a power`. */
function present({ readings }: KnownPoint): string {
  const has = (['clock', 'voltage', 'power', 'die'] as const).filter(figure => readings[figure] !== undefined)
  return has.length === 0 ? 'none of them' : `only ${listed(has.map(figure => `a ${names[figure]}`))}`
}

export const knownSaysNothing: Check = {
  code: 'known-says-nothing',
  severity: 'warning',
  title: 'A remembered point that says nothing',
  page: {
    what: 'A row of `known` with less than two of these three: a power, a die temperature, a clock together with a voltage.',
    why: 'A fit sets one against the other: power against clock and voltage, temperature against power. One alone can be met by any constants. A clock with its voltage still counts as a voltage that held.',
    remedy: 'Add what you remember of the same moment, however roughly; `±` says how roughly.',
    example: 'part sample-c2 {\n  known {\n    4.70 GHz  192 W\n  }\n}',
  },
  *inChunk(chunk) {
    for (const part of partsIn(chunk)) {
      for (const point of knownPoints(part)) {
        if (saysSomething(point)) continue
        const held = hasOperatingPoint(point)
        const but = held ? ' Its voltage still counts as one that held.' : ''
        yield {
          at: headPlace({ chunk }, point.match),
          message: `This point says nothing: a fit needs two of power, die temperature, and clock with voltage, and it has ${present(point)}.${but} Add what you saw at the same time.`,
          ...(held ? { severity: 'information' as const } : {}),
        }
      }
    }
  },
}
