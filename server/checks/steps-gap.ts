import { counts } from '../semantic/definitions.ts'
import { tableRows } from '../semantic/profile.ts'
import { settingPlace } from './place.ts'
import type { Check } from './types.ts'

/** Runs of core counts from 1 to `cores` that no row covers. */
function gaps(rows: readonly { from: number; to: number }[], cores: number): { from: number; to: number }[] {
  const found: { from: number; to: number }[] = []
  for (let count = 1; count <= cores; count++) {
    if (rows.some(row => count >= row.from && count <= row.to)) continue
    const last = found.at(-1)
    if (last !== undefined && last.to === count - 1) last.to = count
    else found.push({ from: count, to: count })
  }
  return found
}

export const stepsGap: Check = {
  code: 'steps-gap',
  severity: 'error',
  title: 'Core counts without a ratio',
  page: {
    what: 'Every number of active cores from one to all that the part has needs a row in `steps`.',
    why: 'Firmware fills a gap with a value of its own, and the evening is spent on a table that was never the one you meant.',
    remedy: 'Add a row for the missing counts, or widen the row before.',
    example: 'steps {\n  1 to 2 cores   57x\n  5 to 8 cores   49x\n}',
  },
  *inProfile({ profile, input }) {
    const cores = input.bench?.part.cores
    const table = profile.key('steps')
    if (cores === undefined || table === undefined) return
    const rows = tableRows(profile, 'steps').flatMap(({ match }) => counts(match, 'cores') ?? [])
    const at = settingPlace(profile, table)
    for (const gap of gaps(rows, cores)) {
      const which =
        gap.from === gap.to
          ? `${gap.from} active core${gap.from === 1 ? '' : 's'}`
          : `${gap.from} to ${gap.to} active cores`
      yield {
        at,
        message: `No row covers ${which}. The firmware would put a value of its own there: add a row, or widen the one before.`,
      }
    }
  },
}
