/** What one ratio-step more would come to, in words. */
import type { Failure } from '../../planning/index.ts'
import { coresText } from '../../wording/counts.ts'
import { plain, ratioText } from '../../wording/figures.ts'

/** `(render, 12 cores, 26 °C air)`, with a space before it; nothing where no load decides. */
export function caseText({ load, cores, airC }: Failure): string {
  if (load === null) return ''
  return ` (${load}, ${coresText(cores)}${airC === null ? '' : `, ${plain(airC)} °C air`})`
}

/** What one ratio-step more would come to: `51x would need 1.262 V, allowed 1.250 V (render, 12 cores, 26 °C air)`. */
export function failureText(ratio: number, failure: Failure): string {
  return `${ratioText(ratio)} ${failure.words}${caseText(failure)}`
}
