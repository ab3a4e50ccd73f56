/** A part's ledger as a chart: its trials, what its ratios are taken to need, and what a profile gives them. */

import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import type { LedgerRow } from '../../bench/evidence/ledger.ts'
import { drawLedger, type LedgerData } from '../../charts/ledger.ts'
import type { Figures, Picture, PictureOptions } from '../../charts/picture.ts'
import { stacked } from '../../charts/stacked.ts'
import { COVERAGE, interpolateRows, isWork, needVoltageV, type Part, partOfGroup } from '../../model/index.ts'
import { type Definition, entry, quantity, rows } from '../../semantic/definitions.ts'
import { groupBlocks } from '../../semantic/group-constants.ts'
import { chanceText, proofText } from '../../wording/evidence.ts'
import { millivoltsText, ratioText, statedText, voltageText } from '../../wording/figures.ts'
import { durationText } from '../../wording/times.ts'
import { visible } from '../../wording/visible.ts'
import type { TrialProposal } from '../evidence/next-trial.ts'
import { endText, nameOf } from '../evidence/words.ts'
import { type Case, isBusy, type Scene } from './scene.ts'

/** What the ledger is drawn from. */
interface LedgerSource {
  /** One profile with the part, or several. */
  readonly scenes: readonly [Scene, ...Scene[]]
  readonly part: Definition
  /** Undefined where nothing was tried: the stated rows and what the profile gives are drawn all the same. */
  readonly evidence: PartEvidence | undefined
  /** What was tried is still being worked out. */
  readonly isFirst?: boolean
  readonly proposals?: readonly TrialProposal[] | undefined
}

/** The group that a ledger is of: its name, and its place in the part. Undefined where all cores are alike. */
type Whose = { readonly name: string; readonly index: number } | undefined

const partOf = ({ bench: { part } }: Scene, whose: Whose): Part =>
  whose === undefined ? part : partOfGroup(part, whose.index)

function statedRows(scene: Scene, part: Definition, whose: Whose): LedgerData['stated'] {
  const block = groupBlocks(part.match).find(({ name }) => name === whose?.name)?.block
  const table = (block && entry(block, 'needs')) ?? entry(part.match, 'needs')
  const found = (table === undefined ? [] : rows(table)).flatMap(row => {
    const [ratio, voltage] = [quantity(row, 'ratio')?.value, quantity(row, 'voltage')?.value]
    if (ratio === undefined || voltage === undefined) return []
    const sentence = `needs states ${voltageText(voltage)} for ${ratioText(ratio)}.`
    return [{ ratio, voltageV: voltage, sentence, place: scene.placeOf(part, row) }]
  })
  return found.toSorted((a, b) => a.ratio - b.ratio)
}

const fromStated = (byV: number): string => `${millivoltsText(Math.abs(byV))} ${byV < 0 ? 'less' : 'more'} than stated`

/** Every ratio that a load of the profile runs at: the least voltage that it gets there, as `needs` counts voltages. */
function givenVoltages(scene: Scene, whose: Whose): (LedgerData['given'][number] & { readonly name: string })[] {
  const { cases, name } = scene
  const part = partOf(scene, whose)
  const least = new Map<number, { readonly voltageV: number; readonly atDieV: number; readonly one: Case }>()
  for (const one of cases.filter(isBusy)) {
    const { load, settled } = one
    const { dieC } = settled
    if (dieC === null || !isWork(load)) continue
    const { notes } = settled
    for (const { ratio, voltageV: atDieV } of (whose && notes.groups?.[whose.index]?.voltages) ?? notes.voltages) {
      const beyond = needVoltageV(part, ratio, dieC, load) - interpolateRows(part.needs, ratio)
      const voltageV = atDieV - beyond
      if (voltageV < (least.get(ratio)?.voltageV ?? Number.POSITIVE_INFINITY))
        least.set(ratio, { voltageV, atDieV, one })
    }
  }
  return [...least].map(([ratio, { voltageV, atDieV, one }]) => ({
    ratio,
    voltageV,
    name,
    sentence: `${name} gives ${voltageText(atDieV)} at the die at ${ratioText(ratio)} under ${one.name}, ${voltageText(voltageV)} as needs counts it: ${fromStated(voltageV - interpolateRows(part.needs, ratio))}.`,
  }))
}

function takenRow({ ratio, proofV, standardUncertaintyV, probability, word }: LedgerRow) {
  const half = COVERAGE * standardUncertaintyV
  return {
    ratio,
    voltageV: proofV,
    lowV: proofV - half,
    highV: proofV + half,
    sentence: `${ratioText(ratio)} is taken to need ${voltageText(proofV)}, in 95 of 100 cases between ${voltageText(proofV - half)} and ${voltageText(proofV + half)}; the stated row is enough with a probability of ${chanceText(probability)}: ${word}.`,
  }
}

const head: Figures['head'] = ['what', 'ratio', 'voltage_v', 'low_v', 'high_v', 'at_die_v', 'for_s', 'name']

/** The table of a ledger; that of one group says in each row whose it is. */
const figuresOf = (whose: Whose, all: Figures['rows']): Figures =>
  whose === undefined ? { head, rows: all } : { head: [...head, 'group'], rows: all.map(row => [...row, whose.name]) }

/** The ledger of a part, or those of its groups below each other; undefined where nothing states needs. */
export function drawLedgers(source: LedgerSource, size: PictureOptions): Picture | undefined {
  const [first, ...others] = ledgersData(source).map((data, index, all) => {
    return drawLedger(data, all.length === 1 ? size : { ...size, id: `${size.id ?? 'ledger'}-${index}` })
  })
  return first && stacked([first, ...others])
}

function ledgersData(source: LedgerSource): readonly LedgerData[] {
  const { groups } = source.scenes[0].bench.part
  const all: readonly Whose[] = groups?.map(({ name }, index) => ({ name, index })) ?? [undefined]
  return all.map(whose => ledgerData(source, whose)).filter(({ stated }) => stated.length > 0)
}

function ledgerData(source: LedgerSource, whose: Whose): LedgerData {
  const { scenes, part, isFirst = false, proposals: all = [] } = source
  const evidence = whose === undefined ? source.evidence : source.evidence?.ofGroup(whose.name)
  // The ledger of one group has the proposals of that group.
  const proposals = whose === undefined ? all : all.filter(({ group }) => group === whose.name)
  const [scene, ...others] = scenes
  const who = others.length === 0 ? scene.name : 'the profiles'
  const stated = statedRows(scene, part, whose)
  const given = scenes.flatMap(one => givenVoltages(one, whose))
  const taken = (evidence?.ledger.rows ?? []).map(takenRow)
  const trials = (evidence?.trials ?? []).map(trial => ({
    ratio: trial.ratio,
    voltageV: trial.comparableV,
    end: trial.end.kind,
    forS: trial.end.kind === 'held' ? trial.end.forS : trial.end.afterS,
    text:
      trial.end.kind === 'held'
        ? `held ${durationText(trial.end.forS)}`
        : `stopped after ${durationText(trial.end.afterS)}`,
    sentence: `${nameOf(trial)} at ${ratioText(trial.ratio)}: ${visible(endText(trial))} with ${voltageText(trial.voltageV)} at the die, ${voltageText(trial.comparableV)} as needs counts it.`,
    place: scene.placeOf(trial.definition),
  }))
  const next = proposals.map(one => ({
    ratio: one.ratio,
    voltageV: one.comparableV,
    text: `try ${durationText(one.forS)}`,
    sentence: `To try next: ${ratioText(one.ratio)} with ${voltageText(one.setV)} entered, ${one.load} for ${durationText(one.forS)}.`,
  }))
  const proof = evidence === undefined ? undefined : proofText(evidence.proof)
  const counted = `Voltages as needs counts them, at ${statedText(partOf(scene, whose).needsAtC, '°C')}.`
  return {
    title: `${whose === undefined ? part.name : `${part.name} ${whose.name}`} with ${who}: what each ratio needs, and what it is given`,
    note:
      evidence === undefined
        ? `${isFirst ? 'What trials show follows.' : `No trial of this ${whose === undefined ? 'part' : 'group'} yet.`} ${counted}`
        : `Filled dots held, crossed ones stopped; larger ones ran longer. Bars: 95 % intervals. ${counted}`,
    trials,
    stated,
    taken,
    takenText: proof === undefined ? '' : `needed for ${proof}`,
    takenShort: 'needed',
    given,
    givenText: `given by ${who}`,
    proposals: next,
    figures: figuresOf(whose, [
      ...(evidence?.trials ?? []).map(trial => [
        trial.end.kind,
        trial.ratio,
        trial.comparableV,
        null,
        null,
        trial.voltageV,
        trial.end.kind === 'held' ? trial.end.forS : trial.end.afterS,
        nameOf(trial),
      ]),
      ...stated.map(({ ratio, voltageV }) => ['stated', ratio, voltageV, null, null, null, null, part.name]),
      ...taken.map(({ ratio, voltageV, lowV, highV }) => [
        'takes',
        ratio,
        voltageV,
        lowV,
        highV,
        null,
        null,
        part.name,
      ]),
      ...given.map(({ ratio, voltageV, name }) => ['given', ratio, voltageV, null, null, null, null, name]),
      ...proposals.map(one => ['next', one.ratio, one.comparableV, null, null, null, one.forS, one.load]),
    ]),
  }
}
