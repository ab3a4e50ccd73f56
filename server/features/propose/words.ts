/** A proposal in words. */
import type { NoPlan, Plan, PlannedRow } from '../../planning/index.ts'
import { coresText, counted } from '../../wording/counts.ts'
import { clockText, ratioText, statedText } from '../../wording/figures.ts'
import { failureText } from './failure-words.ts'
import type { Unmet } from './propose.ts'
import { type BandRow, bandRowsOf } from './rows.ts'

/** `50x at 9 to 12 cores: 51x would need 1.262 V, allowed 1.250 V (render, 12 cores, 26 °C air)` */
export function rowText({ group, from, to, ratio, next }: PlannedRow, ratioStep: number): string {
  const whose = group === undefined ? '' : `${group}: `
  return `${whose}${ratioText(ratio)} at ${coresText(from, to)}: ${failureText(ratio + ratioStep, next)}`
}

/** The rows of bands, one a line, with why each gives back no less and begins no later; none where there is none. */
export function bandTexts(plan: Plan): readonly string[] {
  return bandRowsOf(plan).map(row => {
    const { group, from, to, aboveC, drop } = row
    const whose = group === undefined ? '' : `${group}: `
    return `${whose}${coresText(from, to)} above ${statedText(aboveC, '°C')}: -${statedText(drop, 'x')}; ${bandWhyText(row)}`
  })
}

/** `with -2x, or only above 69 °C, 57x would leave …`, or one after the other where different things fail. */
function bandWhyText({ less, later }: BandRow): string {
  const withLess = less.drop === undefined ? 'without it' : `with -${statedText(less.drop, 'x')}`
  const onlyLater = later.aboveC === undefined ? 'without it' : `only above ${statedText(later.aboveC, '°C')}`
  const [lessText, laterText] = [insteadText(less), insteadText(later)]
  if (withLess === onlyLater) return `${withLess} ${lessText}`
  if (lessText === laterText) return `${withLess}, or ${onlyLater}, ${lessText}`
  return `${withLess} ${lessText}; ${onlyLater} ${laterText}`
}

function insteadText({ ratio, instead }: BandRow['less'] | BandRow['later']): string {
  switch (instead.kind) {
    case 'fails':
      return failureText(ratio, instead.failure)
    case 'ceiling':
      return `it would not be below the die limit, ${statedText(instead.ceilingC, '°C')}`
    case 'alternates':
      return `every load is just as sound, and the clock alternates in ${counted(instead.more, 'more case')}`
    case 'slower':
      return `every load is just as sound, and the mean clock is ${clockText(instead.slowerMhz)} lower`
    case 'alike':
      return 'every load is just as sound, and none runs faster'
  }
}

/** What the `return` of the bands does. */
export function returnText({ returnK, isFast, rows }: Plan): string | undefined {
  if (rows.every(({ bands }) => bands.length === 0)) return undefined
  if (isFast)
    return `Return ${statedText(returnK, 'K')}, the widest that does not latch: a clock still alternates more often than every 5 s.`
  return returnK === 0
    ? 'No return: without one no clock alternates more often than every 5 s.'
    : `Return ${statedText(returnK, 'K')}: the smallest with which no clock alternates more often than every 5 s.`
}

/** Why nothing is proposed. */
export function noPlanText({ ratio, cores, failure }: NoPlan): string {
  return `Nothing can be proposed: with ${coresText(cores)} busy even ${failureText(ratio, failure)}.`
}

export function unmetText({ expectation, why }: Unmet): string {
  return `Not met, and left out: \`expect ${expectation.text}\`; ${why}.`
}

/** Beside every proposal. */
export const proposeCaution =
  "These are predictions: prove each step with a run before you rely on it, and stay within the maker's limits."

/** A proposal in a few lines: its rows and what decides them, its bands, what is not met. */
export function gistTexts(
  { plan, unmet }: { readonly plan: Plan | NoPlan; readonly unmet: readonly Unmet[] },
  ratioStep: number,
): readonly string[] {
  if (plan.kind === 'none') return [noPlanText(plan)]
  const bands = bandTexts(plan)
  return [
    ...plan.rows.map(row => `${rowText(row, ratioStep)}.`),
    bands.length === 0 ? 'No bands.' : `Bands: ${bands.join('; ')}.`,
    ...unmet.map(unmetText),
    proposeCaution,
  ]
}
