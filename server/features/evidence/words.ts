/** A part's ledger in words and cells, for the terminal, the page and the hover. */
import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import type { LedgerRow, LedgerWord } from '../../bench/evidence/ledger.ts'
import type { Trial } from '../../bench/evidence/trials.ts'
import { counted } from '../../wording/counts.ts'
import { proofText } from '../../wording/evidence.ts'
import { millivoltsText, noFigure, statedText, voltageText } from '../../wording/figures.ts'
import { durationText } from '../../wording/times.ts'

export const caution =
  'What held on this bench holds for this sample, these loads and these temperatures; parts age. Stay within the limits of the maker.'

/** What the words of the ledger mean. */
export const meanings: Readonly<Record<LedgerWord, string>> = {
  proven: 'enough with a probability of 90 % or more, and an hour was held at no more than 15 mV above it',
  contradicted: 'enough with a probability below 10 %, and a run stopped at or near that voltage',
  untested: 'no trial came near',
  unclear: 'trials are near, but too few to tell',
  likely: 'more likely enough than not',
  doubtful: 'more likely too little than enough',
}

/** `1.221 V ± 9.0 mV` */
export function takesText({ proofV, standardUncertaintyV }: LedgerRow): string {
  return `${voltageText(proofV)} ± ${millivoltsText(standardUncertaintyV)}`
}

/** `1 h at 1.230 V`: the longest trial that held. */
export function heldText({ heldS, heldV }: LedgerRow): string {
  return heldS === undefined || heldV === undefined ? noFigure : `${durationText(heldS)} at ${voltageText(heldV)}`
}

/** `2 (1 odd)` */
export function stopsText({ stops, oddStops }: LedgerRow): string {
  return stops === 0 ? noFigure : oddStops === 0 ? String(stops) : `${stops} (${oddStops} odd)`
}

/** What stops that are called odd are; undefined where there is none. */
export function oddText({ ledger: { rows } }: PartEvidence): string | undefined {
  const odd = rows.reduce((sum, row) => sum + row.oddStops, 0)
  return odd === 0 ? undefined : `${counted(odd, 'stop')} called odd: given all that held, probably not the voltage.`
}

/** What is counted: what enough means, how many trials there are, what is left out. */
export function aboutText({ proof, trials, leftOut }: PartEvidence): string {
  const held = trials.filter(({ end }) => end.kind === 'held').length
  const known = trials.filter(({ run }) => run === undefined).length
  const seen = known === 0 ? '' : `, ${known} of them from \`known\``
  const out = leftOut.length === 0 ? '' : ` ${counted(leftOut.length, 'run')} not counted.`
  return `Enough means that it holds ${proofText(proof)}. ${counted(trials.length, 'trial')}: ${held} held${seen}, ${trials.length - held} stopped.${out}`
}

/** How voltages are made comparable. */
export function comparableText({ part: { needsAtC } }: PartEvidence): string {
  return `Voltages are at the die, less what its temperature and vector work ask for beyond ${statedText(needsAtC, '°C')}.`
}

/** What a trial is called. */
export function nameOf({ run }: Trial): string {
  return run ?? 'known'
}

/** `held 1 h`, `stopped after 12 min (“hang”)` */
export function endText({ end, what }: Trial): string {
  if (end.kind === 'held') return `held ${durationText(end.forS)}`
  return `stopped after ${durationText(end.afterS)}${what === '' ? '' : ` (“${what}”)`}`
}

/** The trials by ratio, then by voltage. */
export function sortedTrials({ trials }: PartEvidence): readonly Trial[] {
  return trials.toSorted((a, b) => a.ratio - b.ratio || b.comparableV - a.comparableV)
}

/** The runs that say nothing of the voltage, and why. */
export function leftOutTexts({ leftOut }: PartEvidence): readonly string[] {
  return leftOut.map(({ run, why }) => `${run} does not count: ${why}`)
}

/** How many rows there are of each word: `2 of 6 rows proven, 1 contradicted`. */
export function ledgerSummary(evidence: PartEvidence): string {
  const all = evidence.groups === undefined ? [evidence] : [...evidence.groups.values()]
  const rows = all.flatMap(({ ledger, part }) => part.needs.map(({ ratio }) => ledger.at(ratio)))
  const counts = new Map<string, number>()
  for (const { word } of rows) counts.set(word, (counts.get(word) ?? 0) + 1)
  const [first, ...others] = [...counts].sort((a, b) => b[1] - a[1])
  if (first === undefined) return ''
  const more = others.map(([word, count]) => `, ${count} ${word}`).join('')
  return `${first[1]} of ${counted(rows.length, 'row')} ${first[0]}${more}`
}
