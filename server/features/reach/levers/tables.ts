/** Rows of `steps`, `bands` and `fan`, and the `return` of bands. */

import { removalSpan } from '../../../checks/support/edits.ts'
import { settingPlace } from '../../../checks/support/place.ts'
import { counts, quantity } from '../../../semantic/definitions.ts'
import type { Evaluation } from '../../../semantic/evaluate.ts'
import { type ResolvedProfile, type Sourced, tableRows } from '../../../semantic/profile.ts'
import { coresText } from '../../../wording/counts.ts'
import { statedText } from '../../../wording/figures.ts'
import type { FoundLever } from '../types.ts'
import { type ForGroups, forGroups, inGroups, inSettings, outward, restate, wordOf, written } from './moves.ts'

/** The core counts of each group that matter. */
export type CountsOf = (group: number) => ReadonlySet<number>

interface Row {
  readonly sourced: Sourced
  readonly from: number
  readonly to: number
  /** Its place in its table. */
  readonly index: number
}

/** The rows of a table that are of any core count that matters; a load is predicted by the rows of its own counts alone. */
function rowsFor(profile: ResolvedProfile, word: string, { name, groups }: ForGroups, countsOf: CountsOf): Row[] {
  return tableRows(profile, word, name).flatMap((sourced, index): Row[] => {
    const found = counts(sourced.match, 'cores')
    const isOf = groups.some(group =>
      [...countsOf(group)].some(count => found && count >= found.from && count <= found.to),
    )
    return found === undefined || !isOf ? [] : [{ sourced, from: found.from, to: found.to, index }]
  })
}

export function stepLevers({ profile, input }: Evaluation, countsOf: CountsOf): readonly FoundLever[] {
  const part = input.bench?.part
  if (part === undefined) return []
  return forGroups(profile, name => profile.key('steps', name)).flatMap(table => {
    const { sourced: home, groups, stated } = table
    const cores = groups.map(group => part.groups?.[group] ?? part)
    const grain = {
      one: part.ratioStep,
      grain: part.ratioStep,
      low: Math.max(...cores.map(({ ratioLow }) => ratioLow)),
      high: Math.min(...cores.map(({ ratioHigh }) => ratioHigh)),
    }
    return rowsFor(profile, 'steps', table, countsOf).flatMap((row): FoundLever[] => {
      const ratio = quantity(row.sourced.match, 'ratio')
      if (home === undefined || ratio === undefined) return []
      return [
        {
          kind: 'step',
          name: `${wordOf('steps', stated)} ${coresText(row.from, row.to)}`,
          place: settingPlace(profile, row.sourced),
          from: ratio.value,
          unit: 'x',
          isBench: false,
          moves: outward(ratio.value, grain, to => {
            const { text, value } = written(ratio, to)
            return {
              to,
              edits: restate(profile, home, undefined, [{ start: ratio.start, end: ratio.end, text }]),
              numbers: inGroups(groups, ({ steps }) => ({
                steps: steps.map((one, at) => (at === row.index ? { ...one, ratio: value } : one)),
              })),
            }
          }),
        },
      ]
    })
  })
}

export function bandLevers({ profile, input }: Evaluation, countsOf: CountsOf): readonly FoundLever[] {
  const part = input.bench?.part
  if (part === undefined) return []
  return forGroups(profile, name => profile.key('bands', name)).flatMap(table =>
    rowsFor(profile, 'bands', table, countsOf).flatMap(row => leversOfBand(profile, table, row, part.ratioStep)),
  )
}

function leversOfBand(
  profile: ResolvedProfile,
  { sourced: home, groups, stated }: ForGroups,
  { sourced, from, to: last, index }: Row,
  ratioStep: number,
): readonly FoundLever[] {
  const { match } = sourced
  const [above, drop] = [quantity(match, 'above'), quantity(match, 'drop')]
  if (home === undefined || above === undefined || drop === undefined) return []
  const shared = { place: settingPlace(profile, sourced), isBench: false }
  const name = `${wordOf('bands', stated)} ${coresText(from, last)} above ${statedText(above.value, '°C')}`
  const drops = outward(drop.value, { one: ratioStep, grain: ratioStep, low: 0 }, to => {
    const { text, value } = written(drop, to)
    // A row that gives nothing back is taken out.
    const change =
      to === 0
        ? { ...removalSpan(sourced.definition.chunk, match.statement), text: '' }
        : { start: drop.start, end: drop.end, text: `-${text}` }
    return {
      to,
      edits: restate(profile, home, undefined, [change]),
      numbers: inGroups(groups, ({ bands }) => ({
        bands: bands.flatMap((one, at) => (at !== index ? [one] : to === 0 ? [] : [{ ...one, drop: value }])),
      })),
    }
  })
  const thresholds = outward(above.value, { one: 2, grain: 1 }, to => {
    const { text, value } = written(above, to)
    return {
      to,
      edits: restate(profile, home, undefined, [{ start: above.start, end: above.end, text }]),
      numbers: inGroups(groups, ({ bands }) => ({
        bands: bands.map((one, at) => (at === index ? { ...one, aboveC: value } : one)),
      })),
    }
  })
  return [
    { ...shared, kind: 'band-drop', name: `${name}, ratio given back`, from: drop.value, unit: 'x', moves: drops },
    { ...shared, kind: 'band-threshold', name: `${name}, threshold`, from: above.value, unit: '°C', moves: thresholds },
  ]
}

export function returnLevers({ profile, input }: Evaluation): readonly FoundLever[] {
  const { bench } = input
  if (bench === undefined) return []
  return forGroups(profile, name => profile.key('bands', name)).flatMap(
    ({ sourced, groups, name, stated }): FoundLever[] => {
      const first = groups[0] ?? 0
      const now = (bench.profile.groups?.[first] ?? bench.profile).returnK
      const [head] = sourced?.match.statement.items ?? []
      if (sourced === undefined || head === undefined || tableRows(profile, 'bands', name).length === 0) return []
      const known = quantity(sourced.match, 'return')
      // Behind the word, or the name of the group behind it.
      const behind = stated === undefined ? head.end : (sourced.match.statement.items[1]?.end ?? head.end)
      const moves = outward(now, { one: 2, grain: 1, low: 0 }, to => {
        const found = known === undefined ? { text: `${to} K`, value: to } : written(known, to)
        const change =
          known === undefined
            ? { start: behind, end: behind, text: ` return ${found.text}` }
            : { start: known.start, end: known.end, text: found.text }
        return {
          to,
          edits: restate(profile, sourced, undefined, [change]),
          numbers: inGroups(groups, () => ({ returnK: found.value })),
        }
      })
      const place = settingPlace(profile, sourced)
      const label = `${wordOf('bands', stated)} return`
      return [{ kind: 'return', name: label, place, from: now, unit: 'K', isBench: false, moves }]
    },
  )
}

const duty = (from: number, amount: number): number => Math.min(100, Math.max(0, from + amount))

/** All rows of `fan` by the same; a row that is at its end stays there. */
export function fanLevers({ profile }: Evaluation): readonly FoundLever[] {
  const table = profile.key('fan')
  const rows = tableRows(profile, 'fan').flatMap((sourced): { sourced: Sourced; dutyPct: number }[] => {
    const found = quantity(sourced.match, 'duty')
    return found === undefined ? [] : [{ sourced, dutyPct: found.value }]
  })
  if (table === undefined || rows.length === 0) return []
  const moves = outward(0, { one: 10, grain: 1 }, to => {
    // Beyond the end of every row nothing changes any more.
    if (rows.every(({ dutyPct }) => duty(dutyPct, to) === duty(dutyPct, to - Math.sign(to)))) return undefined
    const changes = rows.flatMap(({ sourced, dutyPct }) => {
      const found = quantity(sourced.match, 'duty')
      return found === undefined
        ? []
        : [{ start: found.start, end: found.end, text: written(found, duty(dutyPct, to)).text }]
    })
    return {
      to,
      edits: restate(profile, table, undefined, changes),
      numbers: inSettings(({ fan }) => ({ fan: fan.map(one => ({ ...one, dutyPct: duty(one.dutyPct, to) })) })),
    }
  })
  const place = settingPlace(profile, table)
  return [{ kind: 'fan', name: 'fan, every row', place, from: 0, unit: '%', isBench: false, moves }]
}
