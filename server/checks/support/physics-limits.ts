/** Edits and words for a limit on the mean power. */

import { fromBase } from '../../../grammar/units/units.ts'
import type { SettledState } from '../../model/index.ts'
import { isWork } from '../../model/index.ts'
import { quantity } from '../../semantic/definitions.ts'
import type { EnvelopePoint } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { inUnit } from '../../wording/entered.ts'
import { statedText, trimmed } from '../../wording/figures.ts'
import type { Fix } from '../types.ts'
import { replace, stateIn } from './physics-edits.ts'
import { sustainedThatHolds } from './what-if.ts'

/** The edit that makes `sustained-power` this many whole watts; an averaging time that stands there stays. */
export function setSustained(evaluation: Evaluation, powerW: number): Fix | undefined {
  const { profile } = evaluation
  const stated = profile.inner('limits', 'sustained-power')
  const written = stated && quantity(stated.match)
  const title = `Set \`sustained-power\` to ${statedText(powerW, 'W')}`
  if (stated !== undefined && written !== undefined && stated.definition === profile.definition) {
    const decimals = written.unit.symbol === 'kW' ? 3 : 0
    const text = inUnit(powerW, written.unit, decimals, 'down')
    return { title, edits: [replace(stated.definition, written, text)] }
  }
  const over = stated && quantity(stated.match, 'over')
  const time = over === undefined ? '' : ` over ${trimmed(fromBase(over.value, over.unit), 3)} ${over.unit.symbol}`
  const edit = stateIn(profile.definition, 'limits', `sustained-power ${powerW} W${time}`)
  return edit === undefined ? undefined : { title, edits: [edit] }
}

/** The sentence and the fix for a finding that a limit on the mean power fixes. */
export function sustainedFix(
  evaluation: Evaluation,
  points: readonly EnvelopePoint[],
  fromW: number,
  overW: (settled: SettledState) => number,
): { readonly words: string; readonly fixes: readonly Fix[] } {
  if (points.some(point => !isWork(point.load))) return { words: '', fixes: [] }
  const powerW = sustainedThatHolds(evaluation, points, fromW, overW)
  if (powerW === undefined) return { words: '', fixes: [] }
  const fix = setSustained(evaluation, powerW)
  return {
    words: ` \`sustained-power ${statedText(powerW, 'W')}\` would hold.`,
    fixes: fix === undefined ? [] : [{ ...fix, preferred: true }],
  }
}
