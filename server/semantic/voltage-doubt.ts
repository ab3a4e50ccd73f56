/** Whether a load would run at all at the voltage that it is given. */

import {
  interpolateRows,
  isAboveRows,
  type Part,
  partOfGroup,
  type SettledState,
  type VoltageNote,
} from '../model/index.ts'
import { givenVolts } from '../wording/entered.ts'
import { millivoltsText, ratioText, voltageText } from '../wording/figures.ts'
import type { Evidence } from './evidence.ts'

/**
 * Whether a load would run at all at the voltage it is given. The model predicts a clock whatever the voltage: at less
 * than the part needs, the machine stops instead.
 */
export interface VoltageDoubt {
  /** The check that has a finding of it. */
  readonly code: 'voltage-short' | 'needs-short' | 'needs-contradicted'
  /** In words that follow "because". */
  readonly why: string
}

/** The same allowance as the finding of too little voltage has. */
const tolerance = 1e-6

/** What speaks against the voltages that a settled load runs at, of each group of cores; undefined where nothing does. */
export function voltageDoubt(
  part: Part,
  { voltages, groups }: Pick<SettledState['notes'], 'voltages' | 'groups'>,
  evidence: Evidence | undefined,
): VoltageDoubt | undefined {
  if (groups === undefined) return doubtOf(part, voltages, evidence)
  for (const [index, own] of groups.entries()) {
    const found = doubtOf(partOfGroup(part, index), own.voltages, evidence?.ofGroup(part.groups?.[index]?.name ?? ''))
    if (found !== undefined) return inGroup(part, index, found)
  }
  return undefined
}

function doubtOf(
  part: Part,
  voltages: readonly VoltageNote[],
  evidence: Evidence | undefined,
): VoltageDoubt | undefined {
  for (const { ratio } of voltages) {
    const beyond = unmeasured(part, ratio)
    if (beyond !== undefined) return beyond
  }
  for (const { ratio, voltageV, needV } of voltages) {
    const shortV = needV - voltageV
    if (shortV <= tolerance * needV) continue
    const why = `at ${ratioText(ratio)} the die gets ${givenVolts(voltageV)}, ${millivoltsText(shortV)} less than it needs`
    return { code: 'voltage-short', why }
  }
  for (const { ratio, voltageV, needV } of voltages) {
    const found = contradicted(part, ratio, voltageV - (needV - interpolateRows(part.needs, ratio)), evidence)
    if (found !== undefined) return found
  }
  return undefined
}

/**
 * What speaks against the fastest clocks of a run over time, in MHz, each by itself and whatever voltage it is given.
 * @param groupsMhz of each group of the part, 0 where it never runs; undefined where all cores are alike
 */
export function fastestDoubt(
  part: Part,
  groupsMhz: readonly number[] | undefined,
  wholeMhz: number,
  evidence: Evidence | undefined,
): VoltageDoubt | undefined {
  const doubtAt = (own: Part, clockMhz: number, known: Evidence | undefined): VoltageDoubt | undefined => {
    const ratio = Math.round(clockMhz / 1000 / part.referenceGhz / part.ratioStep) * part.ratioStep
    return ratio > 0 ? ratioDoubt(own, ratio, known) : undefined
  }
  if (groupsMhz === undefined) return doubtAt(part, wholeMhz, evidence)
  for (const [index, clockMhz] of groupsMhz.entries()) {
    const known = evidence?.ofGroup(part.groups?.[index]?.name ?? '')
    const found = doubtAt(partOfGroup(part, index), clockMhz, known)
    if (found !== undefined) return inGroup(part, index, found)
  }
  return undefined
}

/** The same doubt, of one of a part's groups. */
function inGroup({ groups }: Part, index: number, found: VoltageDoubt): VoltageDoubt {
  return { ...found, why: `${found.why} (group \`${groups?.[index]?.name}\`)` }
}

/** What speaks against a ratio by itself, whatever voltage it is given. */
export function ratioDoubt(part: Part, ratio: number, evidence: Evidence | undefined): VoltageDoubt | undefined {
  // Of a part with groups it is a ratio of the first, whose rows stand in the part.
  const [first] = part.groups ?? []
  const own = first === undefined ? evidence : evidence?.ofGroup(first.name)
  return unmeasured(part, ratio) ?? contradicted(part, ratio, interpolateRows(part.needs, ratio), own)
}

function unmeasured(part: Part, ratio: number): VoltageDoubt | undefined {
  const last = part.needs.at(-1)
  if (last === undefined || !isAboveRows(part.needs, ratio)) return undefined
  const why = `${ratioText(ratio)} is faster than ${ratioText(last.ratio)}, the last row of \`needs\`: what it needs was not measured`
  return { code: 'needs-short', why }
}

function contradicted(
  part: Part,
  ratio: number,
  comparableV: number,
  evidence: Evidence | undefined,
): VoltageDoubt | undefined {
  const found = evidence?.against(ratio, comparableV)
  if (found === undefined || part.needs.length === 0) return undefined
  const { run, voltageV, statedV } = found
  const why = `run \`${run}\` stopped at ${ratioText(found.ratio)} with ${voltageText(voltageV)} at the die, where \`needs\` asks for ${voltageText(statedV)}`
  return { code: 'needs-contradicted', why }
}
