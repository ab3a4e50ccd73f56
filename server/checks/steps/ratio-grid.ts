import type { Span } from '../../../grammar/tree.ts'
import { quantity } from '../../semantic/definitions.ts'
import type { ResolvedProfile, Sourced } from '../../semantic/profile.ts'
import { bandsRows, partRatioStep, partRatios, stepsRows, vectorDrop } from '../../semantic/profile-values.ts'
import { statedText } from '../../wording/figures.ts'
import { replaceFix } from '../support/edits.ts'
import { isMisspelt, isOwn, isOwnMistake, settingPlace } from '../support/place.ts'
import type { Check, Found } from '../types.ts'

/** Decimals are not exact in binary; a hundred-thousandth of a step is well below what anyone writes. */
const onGrid = 1e-5

export function isOnGrid(value: number, step: number): boolean {
  const count = value / step
  return Math.abs(count - Math.round(count)) <= onGrid
}

interface Off {
  readonly sourced: Sourced
  readonly span: Span
  readonly value: number
  /** The nearest value of the grid; between two equally near ones the slower. */
  readonly nearest: number
  readonly sign: '' | '-'
}

function off(profile: ResolvedProfile, { sourced, span, value, nearest, sign }: Off, step: number): Found {
  const text = `${sign}${statedText(nearest, 'x')}`
  const { chunk } = sourced.definition
  return {
    at: settingPlace(profile, sourced),
    message: `${sign}${statedText(value, 'x')} is not a multiple of the part's ratio step of ${statedText(step, 'x')}. It cannot be entered as it stands, and the firmware would round it its own way. The nearest is ${text}.`,
    ...(isOwn(profile, sourced)
      ? { fixes: [replaceFix(`Write \`${text}\``, { chunk, start: span.start, end: span.end }, text)] }
      : {}),
  }
}

export const ratioGrid: Check = {
  code: 'ratio-grid',
  severity: 'error',
  title: 'A ratio between two steps of the grid',
  page: {
    what: 'A ratio in `steps`, `bands` or `vector` that is not a whole multiple of the part’s `ratio-step` (1x where it states none).',
    why: 'It cannot be entered. What the firmware makes of it is not what was predicted.',
    remedy: 'Take a multiple of the step. The quick fix takes the nearest; between two equally near ones, the slower.',
    example: 'part small { ratio-step 0.5x }\n\nprofile daily {\n  part small\n  steps { 1 to 8 cores 49.7x }\n}',
  },
  *inGroup(profile) {
    const step = partRatioStep(profile)
    if (step === undefined || !(step > 0)) return
    const ratios = partRatios(profile)
    if (isOwnMistake(profile, 'steps', 'part')) {
      for (const { ratio, ratioSpan, sourced } of stepsRows(profile)) {
        // A ratio outside the part's range has a finding of its own.
        const isOutside = ratios !== undefined && (ratio > ratios.high || ratio < ratios.low)
        if (isOutside || isOnGrid(ratio, step) || isMisspelt(sourced.definition, ratioSpan)) continue
        const nearest = Math.ceil(ratio / step - 0.5 - onGrid) * step
        yield off(profile, { sourced, span: ratioSpan, value: ratio, nearest, sign: '' }, step)
      }
    }
    const deeper = (drop: number): number => Math.max(1, Math.floor(drop / step + 0.5 + onGrid)) * step
    if (isOwnMistake(profile, 'bands', 'part')) {
      for (const { drop, dropSpan, sourced } of bandsRows(profile)) {
        if (isOnGrid(drop, step) || isMisspelt(sourced.definition, dropSpan)) continue
        yield off(profile, { sourced, span: dropSpan, value: drop, nearest: deeper(drop), sign: '-' }, step)
      }
    }
    const vector = profile.key('vector')
    const drop = vectorDrop(profile)
    const span = vector && quantity(vector.match)
    if (vector === undefined || span === undefined || isOnGrid(drop, step)) return
    if (isMisspelt(vector.definition, span)) return
    if (isOwnMistake(profile, 'vector', 'part')) {
      yield off(profile, { sourced: vector, span, value: drop, nearest: deeper(drop), sign: '-' }, step)
    }
  },
}
