import type { Match } from '../../../grammar/values.ts'
import { type Definition, entry, pureNumber, quantity, range } from '../../semantic/definitions.ts'
import { coresIn, groupBlocks } from '../../semantic/group-constants.ts'
import { type KnownPoint, knownPoints, leadOf } from '../../semantic/known.ts'
import { coresText } from '../../wording/counts.ts'
import { clockText, ratioText, temperatureText } from '../../wording/figures.ts'
import { replaceFix } from '../support/edits.ts'
import { placeIn } from '../support/place.ts'
import type { Check, Found } from '../types.ts'
import { partsIn } from './known-parts.ts'

/** A reference clock and a sensor are off by a little. */
const CLOCK_SHARE = 0.01
/** A machine has stopped beyond its trip temperature; only a sensor overshoots. */
const BEYOND_TRIP_K = 5
/** Two sensors of one temperature may be so far apart. */
const SENSORS_K = 3

const number = (block: Match, word: string): number | undefined => {
  const found = entry(block, word)
  return found && (quantity(found) ?? pureNumber(found))?.value
}

/** The lines of the group that a point's clock is of, behind them the part's, which count where it has none. */
function blocksOf(match: Match, point: KnownPoint): readonly Match[] {
  const lead = leadOf(point, groupBlocks(match))
  return lead === undefined ? [match] : [lead.block, match]
}

function* coresOf({ chunk, match }: Definition, point: KnownPoint): Iterable<Found> {
  const ofGroup = point.group === undefined ? undefined : blocksOf(match, point).map(block => number(block, 'cores'))
  const cores = ofGroup === undefined ? coresIn(match) : ofGroup.find(count => count !== undefined)
  const stated = pureNumber(point.match, 'cores')
  if (cores === undefined || stated === undefined || stated.value <= cores) return
  yield {
    at: placeIn({ chunk }, stated),
    message: `More cores than the ${point.group === undefined ? 'part' : 'group'} has: ${coresText(stated.value)} were busy here, of ${cores}. The point tells nothing of this part; say how many were, or leave the word out for all of them.`,
    fixes: [replaceFix(`Write \`${cores}\``, { chunk, start: stated.start, end: stated.end }, `${cores}`)],
  }
}

function* clockOf({ chunk, match }: Definition, point: KnownPoint): Iterable<Found> {
  const written = quantity(point.match, 'clock')
  const referenceGhz = number(match, 'reference')
  const ratio = blocksOf(match, point).flatMap(block => entry(block, 'ratio') ?? [])[0]
  const ratios = ratio && range(ratio)
  if (written === undefined || referenceGhz === undefined || ratios === undefined) return
  const own = written.value / referenceGhz
  const [low, high] = [ratios.low.value, ratios.high.value]
  if (own >= low * (1 - CLOCK_SHARE) && own <= high * (1 + CLOCK_SHARE)) return
  yield {
    at: placeIn({ chunk }, written),
    message: `No ratio of the ${groupBlocks(match).length === 0 ? 'part' : `group \`${leadOf(point, groupBlocks(match))?.name}\``} gives this clock: ${ratioText(low)} to ${ratioText(high)} are ${clockText(low * referenceGhz * 1000)} to ${clockText(high * referenceGhz * 1000)}. Check the number and its unit, \`ratio\` and \`reference\`.`,
  }
}

function* temperaturesOf(part: Definition, { match, readings }: KnownPoint): Iterable<Found> {
  const { chunk } = part
  const written = quantity(match, 'die')
  const { die, plate } = readings
  if (written === undefined || die === undefined) return
  const limitC = number(part.match, 'die-limit')
  const tripC = number(part.match, 'trip') ?? (limitC === undefined ? undefined : limitC + 10)
  if (tripC !== undefined && die.value > tripC + BEYOND_TRIP_K) {
    yield {
      at: placeIn({ chunk }, written),
      message: `Warmer than the machine gets: it stops at ${temperatureText(tripC)}. Check the number, or state \`trip\` where this part goes on.`,
    }
  } else if (plate !== undefined && die.value < plate.value - SENSORS_K) {
    yield {
      at: placeIn({ chunk }, written),
      message: `The die is colder than its plate (${temperatureText(plate.value)}), and heat goes the other way. Check which temperature is which: the die's stands without a word before it.`,
    }
  }
}

export const knownImpossible: Check = {
  code: 'known-impossible',
  severity: 'warning',
  title: 'A remembered point that cannot have been',
  page: {
    what: 'A row of `known` that this part cannot have shown: more cores than it has, a clock that none of its ratios gives, a die beyond the temperature at which the machine stops, or colder than its plate.',
    why: 'A fit believes what it is given as far as the uncertainties go. One slip of a digit would bend the constants that all other points agree on.',
    remedy: 'Check the number and its unit. A point of another sample belongs into another part.',
    example: 'part sample-c2 {\n  known {\n    4.70 GHz  1.27 V  92 W  cores 16  air 22 °C\n  }\n}',
  },
  *inChunk(chunk) {
    for (const part of partsIn(chunk)) {
      for (const point of knownPoints(part)) {
        yield* coresOf(part, point)
        yield* clockOf(part, point)
        yield* temperaturesOf(part, point)
      }
    }
  },
}
