import { quantity } from '../../semantic/definitions.ts'
import type { GroupView } from '../../semantic/group-view.ts'
import {
  bandsRows,
  partRatioStep,
  partRatios,
  sameRatio,
  stepsRows,
  vectorDrop,
} from '../../semantic/profile-values.ts'
import { statedText } from '../../wording/figures.ts'
import { replaceFix } from '../support/edits.ts'
import { holderText } from '../support/group-words.ts'
import { isOwn, isOwnMistake, settingPlace } from '../support/place.ts'
import type { Check, Fix, Found } from '../types.ts'
import { isOnGrid } from './ratio-grid.ts'

interface Ratios {
  readonly low: number
  readonly high: number
}

function rangeText({ low, high }: Ratios): string {
  return `${statedText(low, 'x')} to ${statedText(high, 'x')}`
}

function* inSteps(profile: GroupView, ratios: Ratios): Iterable<Found> {
  if (!isOwnMistake(profile, 'steps', 'part')) return
  const step = partRatioStep(profile) || 1
  for (const row of stepsRows(profile)) {
    const nearest = Math.min(ratios.high, Math.max(ratios.low, row.ratio))
    if (Math.abs(nearest - row.ratio) <= sameRatio) continue
    const text = statedText(nearest, 'x')
    const { chunk } = row.sourced.definition
    const fix: Fix = replaceFix(`Write \`${text}\``, { chunk, ...row.ratioSpan }, text)
    yield {
      at: settingPlace(profile, row.sourced),
      message: `${statedText(row.ratio, 'x')} is outside ${holderText(profile)}'s range of ${rangeText(ratios)}. The firmware will refuse it or take another value: stay within the range.${isOnGrid(row.ratio, step) ? '' : ` It is not a multiple of the ratio step of ${statedText(step, 'x')} either.`}`,
      ...(isOwn(profile, row.sourced) ? { fixes: [fix] } : {}),
    }
  }
}

/** What lies below the lowest ratio is cut off there: the row gives back less than it says. */
function cut(holder: string, result: number, from: string, low: number): string {
  return `Below the lowest ratio: ${from} leaves ${statedText(result, 'x')}, and ${holder} goes no lower than ${statedText(low, 'x')}. Less is given back than this line says, and it helps less than it seems to.`
}

function* inVector(profile: GroupView, low: number): Iterable<Found> {
  const vector = profile.key('vector')
  const amount = vectorDrop(profile)
  const steps = stepsRows(profile).map(row => row.ratio)
  if (vector === undefined || steps.length === 0 || !isOwnMistake(profile, 'vector', 'steps', 'part')) return
  const lowest = Math.min(...steps)
  if (lowest < low - sameRatio || lowest - amount >= low - sameRatio) return
  const span = quantity(vector.match)
  const text = `-${statedText(lowest - low, 'x')}`
  yield {
    at: settingPlace(profile, vector),
    severity: 'warning',
    message: cut(
      holderText(profile),
      lowest - amount,
      `giving back ${statedText(amount, 'x')} from the step of ${statedText(lowest, 'x')}`,
      low,
    ),
    ...(isOwn(profile, vector) && span !== undefined
      ? {
          fixes: [
            replaceFix(`Write \`${text}\``, { chunk: vector.definition.chunk, start: span.start, end: span.end }, text),
          ],
        }
      : {}),
  }
}

function* inBands(profile: GroupView, low: number): Iterable<Found> {
  if (!isOwnMistake(profile, 'bands', 'vector', 'steps', 'part')) return
  const steps = stepsRows(profile)
  const vector = vectorDrop(profile)
  for (const row of bandsRows(profile)) {
    const covered = steps.filter(step => step.from <= row.to && row.from <= step.to).map(step => step.ratio)
    const lowest = Math.min(...covered)
    if (covered.length === 0 || lowest - vector < low - sameRatio) continue
    const withVector = lowest - row.drop >= low - sameRatio
    const result = lowest - row.drop - (withVector ? vector : 0)
    if (result >= low - sameRatio) continue
    const text = `-${statedText(lowest - low - vector, 'x')}`
    const { chunk } = row.sourced.definition
    // A row over several steps gives back as it says from the higher ones; lessening it would change those.
    const isOneStep = covered.every(ratio => Math.abs(ratio - lowest) <= sameRatio) && lowest - low - vector > sameRatio
    const from = withVector
      ? `giving back ${statedText(row.drop, 'x')}, and ${statedText(vector, 'x')} more under vector loads, from the step of ${statedText(lowest, 'x')}`
      : `giving back ${statedText(row.drop, 'x')} from the step of ${statedText(lowest, 'x')}`
    yield {
      at: settingPlace(profile, row.sourced),
      severity: 'warning',
      message: cut(holderText(profile), result, from, low),
      ...(isOwn(profile, row.sourced) && isOneStep
        ? { fixes: [replaceFix(`Write \`${text}\``, { chunk, ...row.dropSpan }, text)] }
        : {}),
    }
  }
}

export const ratioRange: Check = {
  code: 'ratio-range',
  severity: 'error',
  title: 'A ratio outside what the part takes',
  page: {
    what: 'A step outside the part’s `ratio` range (error), and a `vector` line or a band that would lead below its lowest ratio (warning).',
    why: 'Firmware refuses such a value or silently takes another. What a band gives back below the lowest ratio is not given back at all, so the die stays hotter than the row suggests.',
    remedy:
      'Stay within the range. The quick fix takes its nearest end; a band over several steps has none, because lessening it would change the other steps too.',
    example: 'part small { ratio 8x to 58x }\n\nprofile daily {\n  part small\n  steps { 1 to 8 cores 60x }\n}',
    hasGroupExample: true,
  },
  *inGroup(profile) {
    const ratios = partRatios(profile)
    if (ratios === undefined) return
    yield* inSteps(profile, ratios)
    yield* inVector(profile, ratios.low)
    yield* inBands(profile, ratios.low)
  },
}
