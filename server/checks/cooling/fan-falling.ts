import { quantity } from '../../semantic/definitions.ts'
import { type Sourced, tableRows } from '../../semantic/profile.ts'
import { inUnit } from '../../wording/entered.ts'
import { percentText, statedText } from '../../wording/figures.ts'
import { replace } from '../support/physics-edits.ts'
import { headPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

interface FanRow {
  readonly sourced: Sourced
  readonly coolantC: number
  readonly dutyPct: number
}

/** The rows of a fan table by coolant temperature. */
export function fanRows(rows: readonly Sourced[]): readonly FanRow[] {
  return rows
    .flatMap(sourced => {
      const coolantC = quantity(sourced.match, 'coolant')?.value
      const dutyPct = quantity(sourced.match, 'duty')?.value
      return coolantC === undefined || dutyPct === undefined ? [] : [{ sourced, coolantC, dutyPct }]
    })
    .sort((a, b) => a.coolantC - b.coolantC)
}

export const fanFalling: Check = {
  code: 'fan-falling',
  severity: 'warning',
  title: 'The fan slows down as the coolant warms',
  page: {
    what: 'Rows of the fan table, by coolant temperature: whether any has less duty than the row before it. It is reported in the profile that states the table.',
    why: 'A loop that warms then cools itself less and warms more: two coolant temperatures can balance the same heat, and the loop may stay at the higher one.',
    remedy: 'At least the duty of the row before. A typing slip is the usual cause.',
    example: 'fan {\n  24 °C   25 %\n  34 °C   55 %\n  48 °C   50 %\n}',
  },
  *inProfile({ profile }) {
    const own = profile.definition
    const rows = fanRows(tableRows(profile, 'fan')).filter(row => row.sourced.definition === own)
    let highest: FanRow | undefined
    for (const row of rows) {
      if (highest !== undefined && row.dutyPct < highest.dutyPct - 1e-9) {
        const written = quantity(row.sourced.match, 'duty')
        const text = written && inUnit(highest.dutyPct, written.unit, Number.isInteger(highest.dutyPct) ? 0 : 1, 'up')
        yield {
          at: headPlace(own, row.sourced.match),
          message: `Fan slows as the coolant warms: ${percentText(row.dutyPct)} at ${statedText(row.coolantC, '°C')}, ${percentText(highest.dutyPct)} at ${statedText(highest.coolantC, '°C')}. As the loop warms it is cooled less, and may stay hot. Write ${percentText(highest.dutyPct)} or more.`,
          fixes:
            written === undefined || text === undefined
              ? []
              : [{ title: `Write ${text}`, edits: [replace(own, written, text)], preferred: true }],
        }
      } else highest = row
    }
  },
}
