/** Pieces of a file with their places in the file. */

import type { Piece } from '../../server/features/pieces.ts'

/** Every place in a value moved by as much; a place is an object with a start and an end. */
function moved(value: unknown, by: number): unknown {
  if (Array.isArray(value)) return value.map(one => moved(one, by))
  if (typeof value !== 'object' || value === null) return value
  const entries = Object.entries(value).map(([key, inner]) => {
    const isOffset = (key === 'start' || key === 'end') && typeof inner === 'number'
    return [key, isOffset ? inner + by : moved(inner, by)]
  })
  return Object.fromEntries(entries)
}

/** What is found in the pieces of a file, with its places in the file. */
export function placed<T>(pieces: Iterable<Piece<T>>): readonly T[] {
  return [...pieces].flatMap(({ start, find }) => moved(find(), start) as readonly T[])
}
