/** What is predicted for a figure that was measured. */

import type { Figures, Part } from '../../model/index.ts'
import { figureOf } from '../../semantic/expectations.ts'
import { type Figure, groupOfFigure, kindOfFigure } from '../log/figures.ts'

/** The figure as it is predicted, in the base unit of what is measured; a fan's duty that was measured is predicted with. */
export function predictedFigure(figure: Figure, settled: Figures, part: Part | undefined): number | null {
  const kind = kindOfFigure(figure)
  switch (kind) {
    case 'drive':
      return settled.driveA
    case 'drive-voltage':
      return settled.driveV
    case 'fan':
      return null
    case 'current':
      return currentOf(settled, part)
    default:
      return figureOf(kind, settled, groupOfFigure(figure))
  }
}

/** The current of the whole part: that of all its supply rails together. */
function currentOf({ currentA, groups }: Figures, part: Part | undefined): number | null {
  if (groups === undefined || part?.groups === undefined) return currentA
  const byRail = new Map(part.groups.map(({ rail }, index) => [rail, groups[index]?.currentA ?? null]))
  return [...byRail.values()].reduce((sum, own) => (sum === null || own === null ? null : sum + own), 0)
}
