/** What the checks of bands want to know of the ladder that a prediction walked. */

import { coresOf, isWork } from '../../model/index.ts'
import type { Prediction } from '../../semantic/predict.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import { type BandsRow, bandsRows } from '../../semantic/profile-values.ts'
import { statedText } from '../../wording/figures.ts'
import { busyText } from '../../wording/places.ts'

/** Temperatures are compared to this many kelvin. */
export const sameC = 1e-6

/** The row of `bands` that sets a level: of those that cover the count and begin there, the deepest. */
export function rowOf(profile: ResolvedProfile, cores: number, enteredC: number): BandsRow | undefined {
  const rows = bandsRows(profile).filter(row => cores >= row.from && cores <= row.to && row.aboveC === enteredC)
  return rows.sort((a, b) => b.drop - a.drop)[0]
}

/** `render` with 12 cores at 24 °C air, of a part with groups with how many of each. */
export function caseText({ load, corner, settled }: Prediction): string {
  const cores = isWork(load.load) ? ` with ${busyText(load.load.cores, settled.groups)}` : ''
  return `\`${load.name}\`${cores} at ${statedText(corner.airC, '°C')} air`
}

/** The active cores of a group in a prediction; those of the part where all cores are alike. */
export function busyIn({ load, settled }: Prediction, group: string | undefined): number {
  if (group === undefined) return coresOf(load.load)
  return settled.groups?.find(own => own.group === group)?.cores ?? 0
}

/** `, and in 3 more cases` behind the one that a message names. */
export function moreCases(all: number): string {
  if (all < 2) return ''
  return all === 2 ? ' (and in one more case)' : ` (and in ${all - 1} more cases)`
}
