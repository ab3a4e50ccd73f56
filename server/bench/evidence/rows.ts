/** How the voltage at a ratio follows from those of the rows around it. */

/** The ratio's voltage is (1 − weight)·row[index] + weight·row[index + 1]; weight above 1 continues the last line. */
export interface RowPlace {
  readonly index: number
  readonly weight: number
}

/**
 * Where a ratio stands among rows: straight between two, flat below the first, the last line continued above the last.
 * @param ratios rising, at least one
 */
export function placeAmong(ratios: readonly number[], ratio: number): RowPlace {
  const last = ratios.length - 1
  const first = ratios[0] as number
  if (last === 0 || ratio <= first) return { index: 0, weight: 0 }
  let index = last - 1
  while (index > 0 && ratio < (ratios[index] as number)) index--
  const [low, high] = [ratios[index] as number, ratios[index + 1] as number]
  return { index, weight: (ratio - low) / (high - low) }
}

export function voltageAt(rowsV: ArrayLike<number>, { index, weight }: RowPlace): number {
  const low = rowsV[index] as number
  return weight === 0 ? low : low + weight * ((rowsV[index + 1] as number) - low)
}
