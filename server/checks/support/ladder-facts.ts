/** What the checks of bands want to know of the ladder that a prediction walked. */

import { isWork } from '../../model/index.ts'
import type { Prediction } from '../../semantic/predict.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import { type BandsRow, bandsRows } from '../../semantic/profile-values.ts'
import { coresText } from '../../wording/counts.ts'
import { statedText } from '../../wording/figures.ts'

/** Temperatures are compared to this many kelvin. */
export const sameC = 1e-6

/** The row of `bands` that sets a level: of those that cover the count and begin there, the deepest. */
export function rowOf(profile: ResolvedProfile, cores: number, enteredC: number): BandsRow | undefined {
  const rows = bandsRows(profile).filter(row => cores >= row.from && cores <= row.to && row.aboveC === enteredC)
  return rows.sort((a, b) => b.drop - a.drop)[0]
}

/** `render` with 12 cores at 24 °C air. */
export function caseText({ load, corner }: Prediction): string {
  const cores = isWork(load.load) ? ` with ${coresText(load.load.cores)}` : ''
  return `\`${load.name}\`${cores} at ${statedText(corner.airC, '°C')} air`
}

/** `, and in 3 more cases` behind the one that a message names. */
export function moreCases(all: number): string {
  if (all < 2) return ''
  return all === 2 ? ' (and in one more case)' : ` (and in ${all - 1} more cases)`
}
