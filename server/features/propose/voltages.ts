/** Whether the voltages of a step and its bands are allowed, and enough. */

import { nothingTried, type PartEvidence } from '../../bench/evidence/evidence.ts'
import { sharpnessesAbove } from '../../bench/evidence/hazard.ts'
import {
  type Bench,
  interpolateRows,
  isAboveRows,
  type Part,
  partOfGroup,
  ratioAfter,
  type SettledState,
  setVoltageRows,
  setVoltageV,
} from '../../model/index.ts'
import type { Failure, Link } from '../../planning/index.ts'
import type { Proof } from '../../semantic/proof.ts'
import { proofText } from '../../wording/evidence.ts'
import { apartTexts, ratioText, temperatureText, voltageText } from '../../wording/figures.ts'

/** A failure that is not yet anybody's. */
export type Fault = Pick<Failure, 'by' | 'figure' | 'value' | 'allowed' | 'unit' | 'words'>

const tolerance = 1e-6

/** The voltages that a step and its bands ask for, by every load, against what the part takes and what was measured. */
export function rangeFault(
  bench: Bench,
  range: { readonly lowV: number; readonly highV: number } | undefined,
  hasVector: boolean,
  ratio: number,
  bands: readonly Link[],
): Fault | undefined {
  const { part, profile, board } = bench
  const rows = setVoltageRows(part, profile.voltage)
  const drops = [0, ...bands.map(({ drop }) => drop)]
  const vectors = hasVector && profile.vectorDrop > 0 ? [0, profile.vectorDrop] : [0]
  for (const drop of drops) {
    for (const vector of vectors) {
      const isVectorLow = ratio - vector < part.ratioLow - 1e-9
      if (drop > 0 && !isVectorLow && ratio - drop - vector < part.ratioLow - 1e-9)
        return {
          by: 'ratio',
          figure: 'ratio',
          value: ratio - drop - vector,
          allowed: part.ratioLow,
          unit: 'x',
          words: `would have a band below the part's lowest ratio`,
        }
      const used = ratioAfter(part, ratio, vector, drop)
      const setV = setVoltageV(rows, board, used)
      if (range === undefined || Math.max(setV - range.highV, range.lowV - setV) <= tolerance * range.highV) continue
      const allowed = setV > range.highV ? range.highV : range.lowV
      const at = Math.abs(used - ratio) < 1e-9 ? '' : ` at ${ratioText(used)}`
      const [needed, most] = apartTexts(setV, allowed, voltageText, 'V')
      const words = `would need ${needed}${at}, allowed ${most}`
      return { by: 'voltage', figure: 'set_v', value: setV, allowed, unit: 'V', words }
    }
  }
  const last = part.needs.at(-1)
  if (last === undefined || !isAboveRows(part.needs, ratio)) return undefined
  const words = `is beyond ${ratioText(last.ratio)}, the last row of \`needs\`: what it takes was not measured`
  return { by: 'needs', figure: 'ratio', value: ratio, allowed: last.ratio, unit: 'x', words }
}

/** What trials ask for at a ratio, in V at the temperature of `needs`. */
type AskedV = (ratio: number) => number

/** What trials ask for, of each group of cores by its place; the first stands for all cores of a plain part. */
export interface AskedByTrials {
  readonly proof: Proof
  readonly volts: (group: number) => AskedV
}

/** The voltages that trials ask for so that a load holds for a time with a probability. */
export function askedByTrials(part: Part, evidence: PartEvidence, proof: Proof): AskedByTrials {
  const { groups } = part
  // A group that nobody tried is known by its rows alone, as a ratio is that nobody tried.
  const all = groups?.map(
    ({ name }, index) => evidence.ofGroup(name) ?? nothingTried(partOfGroup(part, index), evidence.proof),
  ) ?? [evidence]
  const volts = all.map(one => askedOf(one, proof))
  return { proof, volts: group => volts[group] as AskedV }
}

function askedOf({ ledger }: PartEvidence, proof: Proof): AskedV {
  // The posterior is of the part's own proof; another lies so many σ above or below it.
  const more = sharpnessesAbove(proof) - ledger.posterior.proofSharpnesses
  const { meanV: sharpnessV } = ledger.posterior.sharpness
  return ratio => ledger.at(ratio).proofV + more * sharpnessV
}

/** What speaks against the voltages that a settled case runs at, group by group, worked out when it is asked for. */
export function needFaults(
  bench: Bench,
  settled: SettledState,
  evidence: PartEvidence | undefined,
  asked: AskedByTrials | undefined,
): (() => Fault) | undefined {
  const { groups } = settled.notes
  if (groups === undefined) return needFault(bench, settled, evidence, askedIn(asked, 0))
  for (const [index, { voltages }] of groups.entries()) {
    if (voltages.length === 0) continue
    const part = partOfGroup(bench.part, index)
    const own = { ...settled, notes: { ...settled.notes, voltages } }
    const { name } = bench.part.groups?.[index] ?? { name: '' }
    const found = needFault({ ...bench, part }, own, evidence?.ofGroup(name), askedIn(asked, index))
    if (found !== undefined) return found
  }
  return undefined
}

const askedIn = (asked: AskedByTrials | undefined, group: number): AskedOf | undefined =>
  asked && { proof: asked.proof, volts: asked.volts(group) }

interface AskedOf {
  readonly proof: Proof
  readonly volts: AskedV
}

function needFault(
  bench: Bench,
  { notes: { voltages }, dieC }: SettledState,
  evidence: PartEvidence | undefined,
  asked: AskedOf | undefined,
): (() => Fault) | undefined {
  const { part } = bench
  for (const { ratio, voltageV, needV } of voltages) {
    const at = (): string => `at ${ratioText(ratio)} and ${temperatureText(dieC)}`
    const fault = (by: Fault['by'], allowed: number, words: () => string) => (): Fault => {
      return { by, figure: 'voltage_v', value: voltageV, allowed, unit: 'V', words: words() }
    }
    if (needV - voltageV > tolerance * needV) {
      const words = (): string => {
        const [left, needed] = apartTexts(voltageV, needV, voltageText, 'V')
        return `would leave the die ${left} ${at()}, where it needs ${needed}`
      }
      return fault('needs', needV, words)
    }
    const more = needV - interpolateRows(part.needs, ratio)
    const comparableV = voltageV - more
    const found = evidence?.against(ratio, comparableV)
    if (found !== undefined) {
      const words = (): string =>
        `is contradicted: run \`${found.run}\` stopped at ${ratioText(found.ratio)} with ${voltageText(found.voltageV)} at the die`
      return fault('stable', (evidence?.ledger.at(ratio).proofV ?? 0) + more, words)
    }
    const askedV = asked?.volts(ratio)
    if (asked !== undefined && askedV !== undefined && askedV - comparableV > tolerance * askedV) {
      const words = (): string => {
        const [taken, given] = apartTexts(askedV + more, voltageV, voltageText, 'V')
        return `would take ${taken} ${at()} to hold ${proofText(asked.proof)}, and the die gets ${given}`
      }
      return fault('stable', askedV + more, words)
    }
  }
  return undefined
}
