/** How probable it is that a load holds for a time at the voltage it is given, by what trials of the part show. */
import { interpolateRows, type Part, partOfGroup, type SettledState, type VoltageNote } from '../model/index.ts'
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
  { notes: { voltages, groups } }: SettledState,
  forS: number,
  evidence: Evidence | undefined,
): number | Untold | null {
  if (part.groups === undefined) return ofVoltages(part, voltages, forS, evidence)
  // All groups have to hold, and each fails by itself.
  let share: number | null = null
  for (const [index, { name }] of part.groups.entries()) {
    const own = ofVoltages(
      partOfGroup(part, index),
      groups?.[index]?.voltages ?? [],
      forS,
      evidence?.ofGroup(name),
      name,
    )
    if (own === null) continue
    if (typeof own === 'object') return own
    share = (share ?? 1) * (own / 100)
  }
  return share === null ? null : 100 * share
}

/** Of cores of one kind. @param group their name, where there are others */
function ofVoltages(
  part: Part,
  voltages: readonly VoltageNote[],
  forS: number,
  evidence: Evidence | undefined,
  group?: string,
): number | Untold | null {
  let least: number | null = null
  for (const { ratio, voltageV, needV } of voltages) {
    const beyond = ratioDoubt(part, ratio, undefined)
    if (beyond !== undefined) return { undecided: beyond.why }
    const own = evidence?.holds(ratio, voltageV - (needV - interpolateRows(part.needs, ratio)), forS)
    if (own === undefined) return { undecided: untried(ratio, evidence, group) }
    least = Math.min(100 * own, least ?? 100)
  }
  return least
}

function untried(ratio: number, evidence: Evidence | undefined, group: string | undefined): string {
  const what = group === undefined ? 'the part' : `group \`${group}\``
  return evidence === undefined
    ? `nothing was tried of ${what}: no run says \`held\` or \`stopped\`, and no \`known\` row has a clock and a voltage`
    : `no trial of ${what} has come near ${ratioText(ratio)}`
}
