/** Proposals of trials for a terminal and for scripts. */
import { type NextTrials, nextWords as words } from '../../service.ts'
import { headText, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { widthOf, wrapped } from './table.ts'

/** @param at file and line of the profile's name */
export function nextText(next: NextTrials, at: string, io: Io): string {
  const paint = paintFor(io, io.out)
  const width = widthOf(io)
  const line = (text: string | undefined, indent = '  '): string =>
    text === undefined ? '' : wrapped(text, indent, width)
  const proposals = next.proposals.map((proposal, index) =>
    [
      `${paint('bold', `${index + 1}  ${words.trialText(proposal)}`)}\n`,
      ...words.outcomeTexts(proposal).map(text => line(text, '   ')),
      proposal.run.replace(/^(?=.)/gm, '   '),
    ].join(''),
  )
  return [
    `${headText(paint, next.profile, at)}${line(words.knownText(next))}`,
    ...(proposals.length === 0 ? [line(words.noProposalText(next))] : proposals),
    [words.predictedText(next), words.unreachedText(next), `Caution: ${words.nextCaution}`]
      .map(text => line(text))
      .join(''),
  ].join('\n')
}

/** The proposals as `next` and `evidence` give them. */
export function proposalsJson({ profile, proposals }: NextTrials): readonly object[] {
  return proposals.map(one => ({
    profile,
    load: one.load,
    cores: one.cores,
    ...(one.group === undefined ? {} : { group: one.group }),
    ratio: one.ratio,
    set_v: one.setV,
    voltage_v: one.dieV,
    die_c: one.dieC,
    for_s: one.forS,
    stop_probability: one.stopProbability,
    gain_per_min: one.gainPerMin,
    now_v: one.nowV,
    after_hold_v: one.afterHoldV,
    after_stop_v: one.afterStopV,
    if_held: { v95_v: one.ifHeld.meanV, standard_uncertainty_v: one.ifHeld.standardUncertaintyV },
    if_stopped: { v95_v: one.ifStopped.meanV, standard_uncertainty_v: one.ifStopped.standardUncertaintyV },
    run: one.run,
  }))
}

/** @param file as outputs show it */
export function nextJson(next: NextTrials, file: string): string {
  const rows = next.rows.map(({ group, ratio, proofV, standardUncertaintyV, word }) => {
    return {
      ...(group === undefined ? {} : { group }),
      ratio,
      v95_v: proofV,
      standard_uncertainty_v: standardUncertaintyV,
      word,
    }
  })
  const value = { version: 1, file, profile: next.profile, part: next.part, rows, next: proposalsJson(next) }
  return `${JSON.stringify(value, undefined, 2)}\n`
}
