/** All that a cooler says of itself at one heat: its figures and its notes. */

import type { CoolerCurve, CoolerFigures, CoolerNotes } from '../../server/model/cooler/kind.ts'

export type PlateAt = CoolerFigures & CoolerNotes

export const plateAt = (curve: CoolerCurve, heatW: number): PlateAt => ({
  ...curve.figuresAt(heatW),
  ...curve.notesAt(heatW),
})
