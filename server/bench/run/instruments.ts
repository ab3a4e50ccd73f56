/** How well instruments on a bench measure. */

import { type Figure, type FigureKind, kindOfFigure, type Reading } from '../log/figures.ts'

/**
 * What instruments on a bench are good for, one standard uncertainty: judgement, no source. Sensors of a part are not
 * calibrated, and a mean that is known to a hundredth of a kelvin may be off by one.
 */
const instrumentError: Readonly<Record<FigureKind, { readonly absolute: number; readonly share: number }>> = {
  clock: { absolute: 0.001, share: 0.0005 },
  voltage: { absolute: 0.005, share: 0 },
  power: { absolute: 0.5, share: 0.02 },
  current: { absolute: 0.5, share: 0.02 },
  die: { absolute: 1, share: 0 },
  plate: { absolute: 0.5, share: 0 },
  coolant: { absolute: 0.5, share: 0 },
  drive: { absolute: 0.05, share: 0.02 },
  'drive-voltage': { absolute: 0.05, share: 0.01 },
  fan: { absolute: 2, share: 0 },
}

/** The uncertainty of a measured figure with its instrument. */
export function ofMeasuring(figure: Figure, { value, standardUncertainty }: Reading): number {
  const { absolute, share } = instrumentError[kindOfFigure(figure)]
  return Math.hypot(standardUncertainty, Math.max(absolute, share * Math.abs(value)))
}
