/** Rows of `needs` as the ledger has them, as edits of the lines that state them. */
import type { Chunk } from '../../../grammar/tree.ts'
import { fromBase } from '../../../grammar/units/units.ts'
import type { Match, Quantity } from '../../../grammar/values.ts'
import { coreVoltageRange } from '../../semantic/constants.ts'
import { type Definition, entry, quantity, rows } from '../../semantic/definitions.ts'
import type { LedgerRow } from './ledger.ts'

/** In the chunk's offsets. */
export interface NeedsEdit {
  readonly chunk: Chunk
  readonly start: number
  readonly end: number
  readonly text: string
}

/** Ratios closer than this are one row. */
const SAME_RATIO = 1e-6

/** The voltage that a ledger's row puts in the place of a stated one, in its unit: rounded up to whole millivolts. */
function written({ proofV, standardUncertaintyV }: LedgerRow, { unit }: Quantity): string {
  const milli = fromBase(0.001, unit)
  const up = Math.ceil(fromBase(proofV, unit) / milli - 1e-6) * milli
  const spread = Math.ceil(fromBase(standardUncertaintyV, unit) / milli - 1e-6) * milli
  const digits = Math.max(0, Math.round(-Math.log10(milli)))
  return `${up.toFixed(digits)} ${unit.symbol} ± ${spread.toFixed(digits)} ${unit.symbol}`
}

/**
 * The edits that state the ledger's voltages with their `±`. Undefined where one of them is beyond what is allowed for
 * the part: it is too fast a ratio then, not too low a row.
 * @param table of the group whose rows they are; the part's own where it is not given
 */
export function needsEdits(
  part: Definition,
  found: readonly LedgerRow[],
  table: Match | undefined = entry(part.match, 'needs'),
): readonly NeedsEdit[] | undefined {
  const highest = coreVoltageRange(part)?.highV ?? Number.POSITIVE_INFINITY
  if (table === undefined || found.some(({ proofV }) => proofV > highest)) return undefined
  return rows(table).flatMap(row => {
    const [ratio, voltage] = [quantity(row, 'ratio'), quantity(row, 'voltage')]
    const own = found.find(one => Math.abs(one.ratio - (ratio?.value ?? Number.NaN)) < SAME_RATIO)
    if (own === undefined || voltage === undefined) return []
    const { start, end } = voltage
    const text = written(own, voltage)
    return part.chunk.text.slice(start, end) === text ? [] : [{ chunk: part.chunk, start, end, text }]
  })
}
