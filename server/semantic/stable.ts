/** How probable it is that a load holds for a time at the voltage it is given, by what trials of the part show. */
import { interpolateRows, type Part, type SettledState } from '../model/index.ts'
import { ratioText } from '../wording/figures.ts'
import type { Evidence } from './evidence.ts'
import { ratioDoubt } from './voltage-doubt.ts'

/** Why trials do not tell, in words that follow "because". */
export interface Untold {
  readonly undecided: string
}

/**
 * In percent, at the least of the ratios that a settled load runs at; null where it runs at none.
 * @param evidence what trials of the part show; undefined where nothing was tried
 */
export function stablePct(
  part: Part,
  { notes: { voltages } }: SettledState,
  forS: number,
  evidence: Evidence | undefined,
): number | Untold | null {
  if (part.groups !== undefined)
    return { undecided: 'what trials show of a part with groups is not known group by group' }
  let least: number | null = null
  for (const { ratio, voltageV, needV } of voltages) {
    const beyond = ratioDoubt(part, ratio, undefined)
    if (beyond !== undefined) return { undecided: beyond.why }
    const own = evidence?.holds(ratio, voltageV - (needV - interpolateRows(part.needs, ratio)), forS)
    if (own === undefined) return { undecided: untried(ratio, evidence) }
    least = Math.min(100 * own, least ?? 100)
  }
  return least
}

function untried(ratio: number, evidence: Evidence | undefined): string {
  return evidence === undefined
    ? 'nothing was tried of the part: no run says `held` or `stopped`, and no `known` row has a clock and a voltage'
    : `no trial of the part has come near ${ratioText(ratio)}`
}
