/** Proposals of trials in words, for the terminal, the page and the list to pick from. */
import type { Belief } from '../../bench/evidence/next.ts'
import { chanceText } from '../../wording/evidence.ts'
import { millivoltsText, ratioText, voltageText } from '../../wording/figures.ts'
import { cornerWords, ofGroupText } from '../../wording/places.ts'
import { durationText } from '../../wording/times.ts'
import type { NextTrials, TrialProposal } from './next-trial.ts'

export const nextCaution =
  'A machine that stops can lose what is being written: save first. Enter no voltage beyond what the maker allows, and watch the die.'

function beliefText({ meanV, standardUncertaintyV }: Belief): string {
  return `${voltageText(meanV)} ± ${millivoltsText(standardUncertaintyV)}`
}

/** `49x with 1.245 V set under render, 40 min` */
export function trialText({ ratio, setV, load, forS, group }: TrialProposal): string {
  return `${ratioText(ratio)}${ofGroupText(group)} with ${voltageText(setV)} set under ${load}, ${durationText(forS)}`
}

/** What is known after either end. */
export function outcomeTexts(proposal: TrialProposal): readonly string[] {
  const { stopProbability, afterHoldV, afterStopV, ifHeld, ifStopped, ratio } = proposal
  const all = (sum: number): string => `all ratios ± ${millivoltsText(sum)} in total`
  return [
    `holds (${chanceText(1 - stopProbability)}): ${ratioText(ratio)} then takes ${beliefText(ifHeld)}; ${all(afterHoldV)}`,
    `stops (${chanceText(stopProbability)}): ${ratioText(ratio)} then takes ${beliefText(ifStopped)}; ${all(afterStopV)}`,
  ]
}

/** The same for a narrow line: `holds (52 %): then 1.219 V ± 17 mV; stops (48 %): then 1.245 V ± 13 mV` */
export function outcomesText({ stopProbability, ifHeld, ifStopped }: TrialProposal): string {
  return `holds (${chanceText(1 - stopProbability)}): then ${beliefText(ifHeld)}; stops (${chanceText(stopProbability)}): then ${beliefText(ifStopped)}`
}

/** What is known now of the profile's ratios. */
export function knownText({ rows }: NextTrials): string {
  const sum = rows.reduce((total, row) => total + row.standardUncertaintyV, 0)
  const each = rows
    .map(row => `${ratioText(row.ratio)}${ofGroupText(row.group)} ± ${millivoltsText(row.standardUncertaintyV)}`)
    .join(', ')
  return `Known now: ${each}; ${millivoltsText(sum)} in total.`
}

/** Why there is no proposal, or none for some ratios; undefined where there is nothing to say. */
export function unreachedText({ unreached, neverAlone }: NextTrials): string | undefined {
  const alone = neverAlone.map(
    group => `No load keeps group ${group} busy alone, without which a stop is nobody’s: give it one to try it.`,
  )
  const limited = limitedText(unreached)
  const all = [...alone, ...(limited === undefined ? [] : [limited])]
  return all.length === 0 ? undefined : all.join(' ')
}

function limitedText(unreached: NextTrials['unreached']): string | undefined {
  if (unreached.length === 0) return undefined
  const list = unreached.map(({ ratio, load }) => `${ratioText(ratio)} under ${load}`).join(', ')
  return `Not proposed, because a limit of the bench or the allowed core voltage comes first: ${list}.`
}

export function noProposalText({ rows }: NextTrials): string {
  const widest = Math.max(...rows.map(row => row.standardUncertaintyV))
  return `No trial is worth its time: the ratios are known to ± ${millivoltsText(widest)} or better, or no candidate keeps to the risk.`
}

export function predictedText({ corner }: NextTrials): string {
  return `Die voltage and temperature are predicted ${cornerWords(corner)}, the warmest corner.`
}
