/** What trials show, in the words of messages and pages. */
import { percentText } from './figures.ts'
import { durationText } from './times.ts'

/** `1 h with 95 % probability` */
export function proofText({ probability, forS }: { readonly probability: number; readonly forS: number }): string {
  return `${durationText(forS)} with ${percentText(100 * probability)} probability`
}

/** A probability in whole percent; what is all but certain is not said to be certain. */
export function chanceText(probability: number): string {
  const percent = 100 * probability
  return percent < 1 ? 'below 1 %' : percent > 99 ? 'above 99 %' : `${percent.toFixed(0)} %`
}
