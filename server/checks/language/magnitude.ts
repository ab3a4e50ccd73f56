import { type Doubted, doubtedCode, unusualIn } from '../../semantic/doubted.ts'
import { significant } from '../../wording/figures.ts'
import { inShort } from '../../wording/quoted.ts'
import { replaceFix } from '../support/edits.ts'
import { probableUnits } from '../support/probable-unit.ts'
import type { Check, Fix, Found } from '../types.ts'

/** The number as it is written, without its sign and unit. */
function writtenNumber(text: string): string | undefined {
  return /\d+(?:\.\d+)?/.exec(text)?.[0]
}

function fixesFor(doubted: Doubted): readonly Fix[] {
  const { chunk, quantity, usual, start, end } = doubted
  const text = chunk.text.slice(start, end)
  const number = writtenNumber(text)
  if (number === undefined) return []
  const [unit] = probableUnits(Number(number), quantity.dimension, usual)
  // A value that is barely outside is no slip by a thousand.
  if (unit === undefined || farFactor(doubted) < barely) return []
  // A sign before the number stays.
  const from = start + text.indexOf(number)
  const written = `${number} ${unit.symbol}`
  const to =
    from + number.length + (/^\s*[^\s\d;}±]+/.exec(chunk.text.slice(from + number.length, end))?.[0].length ?? 0)
  return [replaceFix(`Write \`${written}\``, { chunk, start: from, end: to }, written)]
}

/** Within this factor of the usual range the unit is not in doubt. */
const barely = 3

/** How many times above or below the nearer end. */
function farFactor({ quantity, usual }: Doubted): number {
  const size = Math.abs(quantity.value)
  return size > usual.high ? size / usual.high : usual.low / size
}

/** `50 times above`: how far from the nearer end. */
function farWords(doubted: Doubted): string {
  const { quantity, usual } = doubted
  const { value, dimension } = quantity
  const size = Math.abs(value)
  if (dimension === 'temperature') return value > usual.high ? 'hotter than' : 'colder than'
  const factor = farFactor(doubted)
  // Beyond that a figure says no more, and a number of 400 digits has none.
  const figure = factor < 1e5 ? Number(factor.toPrecision(2)) : significant(factor, 1)
  const text = factor < 1.95 ? '' : factor < 1e9 ? `${figure} times ` : 'far '
  return `${text}${size > usual.high ? 'above' : 'below'}`
}

/** So much of a value is quoted that the verdict behind it is still read. */
const longest = 30

function foundOf(doubted: Doubted): Found {
  const { chunk, match, start, end, usual } = doubted
  const fixes = fixesFor(doubted)
  const word = match.word?.word === '' ? match.place : (match.word?.word ?? '')
  const [fix] = fixes
  const way =
    fix === undefined ? 'Write the value that was meant.' : `Probably ${fix.title.replace('Write ', '')} was meant.`
  return {
    at: { chunk, start, end },
    message: `\`${inShort(chunk.text.slice(start, end), longest)}\` is ${farWords(doubted)} what is usual for \`${word}\` (${usual.text}). ${way} What follows from it is not judged while it stands; if it is right, say so in this block with \`allow magnitude "why"\`.`,
    ...(fixes.length === 0 ? {} : { fixes }),
  }
}

export const magnitude: Check = {
  code: doubtedCode,
  severity: 'error',
  title: 'A value far from what is usual',
  page: {
    what: 'Every figure of the bench, of a profile and of an expectation that has a usual range in the language reference, whether it lies inside. The ranges are wide: from the smallest part under a fan to the largest under a chiller (engineering judgement, no source).',
    why: 'It is far more often a slip of the unit or the decimal point than a real bench. Predictions from it would put findings on every line but the one that is wrong, so nothing that rests on it is judged, and expectations are undecided.',
    remedy:
      'Write the unit that was meant, which the quick fix does where one brings the value into the usual range. If your bench really is that unusual, `allow magnitude "why"` in the same block accepts it, and all is judged.',
    example: 'part sample {\n  switching 1.85 pF\n}',
  },
  *inChunk(chunk) {
    for (const doubted of unusualIn(chunk)) yield foundOf(doubted)
  },
}
