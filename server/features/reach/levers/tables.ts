/** Rows of `steps`, `bands` and `fan`, and the `return` of bands. */

import { removalSpan } from '../../../checks/support/edits.ts'
import { settingPlace } from '../../../checks/support/place.ts'
import { quantity } from '../../../semantic/definitions.ts'
import type { Evaluation } from '../../../semantic/evaluate.ts'
import { type Sourced, tableRows } from '../../../semantic/profile.ts'
import { bandsRows, type CountsRow, stepsRows } from '../../../semantic/profile-values.ts'
import { coresText } from '../../../wording/counts.ts'
import { statedText } from '../../../wording/figures.ts'
import type { FoundLever } from '../types.ts'
import { inSettings, outward, restate, written } from './moves.ts'

type Counts = ReadonlySet<number>

/** Whether a row is of any of these core counts; a load is predicted by the rows of its own counts alone. */
function covers({ from, to }: CountsRow, counts: Counts): boolean {
  for (const count of counts) if (count >= from && count <= to) return true
  return false
}

/** @param counts the core counts that matter */
export function stepLevers({ profile, input }: Evaluation, counts: Counts): readonly FoundLever[] {
  const table = profile.key('steps')
  const part = input.bench?.part
  if (table === undefined || part === undefined) return []
  return stepsRows(profile).flatMap((row, index): FoundLever[] => {
    const ratio = quantity(row.sourced.match, 'ratio')
    if (!covers(row, counts) || ratio === undefined) return []
    const grain = { one: part.ratioStep, grain: part.ratioStep, low: part.ratioLow, high: part.ratioHigh }
    return [
      {
        kind: 'step',
        name: `steps ${coresText(row.from, row.to)}`,
        place: settingPlace(profile, row.sourced),
        from: row.ratio,
        unit: 'x',
        isBench: false,
        moves: outward(row.ratio, grain, to => {
          const { text, value } = written(ratio, to)
          return {
            to,
            edits: restate(profile, table, undefined, [{ ...row.ratioSpan, text }]),
            numbers: inSettings(({ steps }) => ({
              steps: steps.map((one, at) => (at === index ? { ...one, ratio: value } : one)),
            })),
          }
        }),
      },
    ]
  })
}

export function bandLevers({ profile, input }: Evaluation, counts: Counts): readonly FoundLever[] {
  const table = profile.key('bands')
  const part = input.bench?.part
  if (table === undefined || part === undefined) return []
  return bandsRows(profile).flatMap((row, index): FoundLever[] => {
    const { match } = row.sourced
    const [above, drop] = [quantity(match, 'above'), quantity(match, 'drop')]
    if (!covers(row, counts) || above === undefined || drop === undefined) return []
    const shared = { place: settingPlace(profile, row.sourced), isBench: false }
    const name = `bands ${coresText(row.from, row.to)} above ${statedText(row.aboveC, '°C')}`
    const dropGrain = { one: part.ratioStep, grain: part.ratioStep, low: 0 }
    const drops = outward(row.drop, dropGrain, to => {
      const { text, value } = written(drop, to)
      // A row that gives nothing back is taken out.
      const change =
        to === 0
          ? { ...removalSpan(row.sourced.definition.chunk, match.statement), text: '' }
          : { start: drop.start, end: drop.end, text: `-${text}` }
      return {
        to,
        edits: restate(profile, table, undefined, [change]),
        numbers: inSettings(({ bands }) => ({
          bands: bands.flatMap((one, at) => (at !== index ? [one] : to === 0 ? [] : [{ ...one, drop: value }])),
        })),
      }
    })
    const thresholds = outward(row.aboveC, { one: 2, grain: 1 }, to => {
      const { text, value } = written(above, to)
      return {
        to,
        edits: restate(profile, table, undefined, [{ start: above.start, end: above.end, text }]),
        numbers: inSettings(({ bands }) => ({
          bands: bands.map((one, at) => (at === index ? { ...one, aboveC: value } : one)),
        })),
      }
    })
    return [
      { ...shared, kind: 'band-drop', name: `${name}, ratio given back`, from: row.drop, unit: 'x', moves: drops },
      {
        ...shared,
        kind: 'band-threshold',
        name: `${name}, threshold`,
        from: row.aboveC,
        unit: '°C',
        moves: thresholds,
      },
    ]
  })
}

export function returnLevers({ profile, input }: Evaluation): readonly FoundLever[] {
  const table = profile.key('bands')
  const now = input.bench?.profile.returnK
  if (table === undefined || now === undefined || bandsRows(profile).length === 0) return []
  const stated = quantity(table.match, 'return')
  const [head] = table.match.statement.items
  if (head === undefined) return []
  const moves = outward(now, { one: 2, grain: 1, low: 0 }, to => {
    const found = stated === undefined ? { text: `${to} K`, value: to } : written(stated, to)
    const change =
      stated === undefined
        ? { start: head.end, end: head.end, text: ` return ${found.text}` }
        : { start: stated.start, end: stated.end, text: found.text }
    return {
      to,
      edits: restate(profile, table, undefined, [change]),
      numbers: inSettings(() => ({ returnK: found.value })),
    }
  })
  const place = settingPlace(profile, table)
  return [{ kind: 'return', name: 'bands return', place, from: now, unit: 'K', isBench: false, moves }]
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
