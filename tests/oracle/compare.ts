/** Where two predictions of one bench differ by more than their numerical error. */
import type { PlateNotes, Settled } from '../../server/model/types.ts'
import type { OracleSettled } from './settle.ts'

const relative = 1e-6
const zeroCelsiusK = 273.15

/** `driveV` is compared among the notes of the plate. */
type Figure = Exclude<keyof Settled, 'notes' | 'state' | 'limiter' | 'driveV' | 'groups'>

/** How far each figure may be off, from the reference's own value and the power that flows. */
const allowance: Record<Figure, (value: number, powerW: number) => number> = {
  ratio: value => relative * value,
  ratioLow: () => 1e-9,
  ratioHigh: () => 1e-9,
  shareHigh: () => 1e-5,
  clockMhz: value => relative * value,
  setV: () => 1e-9,
  // A voltage that the load line eats up altogether is a rounded zero.
  voltageV: value => relative * value + 1e-9,
  needV: value => relative * value,
  powerW: (_value, powerW) => relative * powerW,
  dynamicW: (_value, powerW) => relative * powerW,
  leakageW: (_value, powerW) => relative * powerW,
  currentA: value => relative * value,
  dieC: value => relative * (value + zeroCelsiusK),
  plateC: value => relative * (value + zeroCelsiusK),
  coolantC: value => relative * (value + zeroCelsiusK),
  wetC: value => relative * (value + zeroCelsiusK),
  fanPct: () => 1e-3,
  driveA: () => 1e-4,
  driveW: (_value, powerW) => 1e-5 * powerW,
  marginW: (_value, powerW) => relative * powerW,
}

const figures = Object.keys(allowance) as Figure[]

/** The plate's own notes: their numbers to the accuracy of a current that is searched for. */
const plateDifferences = (got: PlateNotes | null, expected: PlateNotes | null, powerW: number): string[] => {
  if (got === null || expected === null)
    return got === expected ? [] : [`plate: model ${got}, second model ${expected}`]
  return (Object.keys(expected) as (keyof PlateNotes)[]).flatMap(name => {
    const [ours, theirs] = [got[name], expected[name]]
    if (typeof ours === 'number' && typeof theirs === 'number') {
      const size = name.endsWith('W') ? powerW : Math.max(1, Math.abs(theirs))
      if (Math.abs(ours - theirs) <= 2e-5 * size) return []
    } else if (ours === theirs) return []
    return [`plate.${name}: model ${ours}, second model ${theirs}`]
  })
}

/** One line for each figure that differs. */
export const differences = (got: Settled, expected: OracleSettled): string[] => {
  const found: string[] = []
  const note = (name: string, ours: unknown, theirs: unknown): void => {
    found.push(`${name}: model ${String(ours)}, second model ${String(theirs)}`)
  }
  if (got.state !== expected.state) note('state', got.state, expected.state)
  if (got.limiter !== expected.limiter) note('limiter', got.limiter, expected.limiter)
  if (found.length > 0) return found
  const powerW = Math.max(10, expected.powerW ?? 0, Math.abs(expected.marginW ?? 0))
  for (const name of figures) {
    const ours = got[name]
    const theirs = expected[name]
    if (ours === null || theirs === null) {
      if (ours !== theirs) note(name, ours, theirs)
    } else if (!(Math.abs(ours - theirs) <= allowance[name](theirs, powerW))) note(name, ours, theirs)
  }
  const { notes } = expected
  for (const name of ['sustainedOver', 'currentOver', 'fanBelowData'] as const)
    if (notes[name] !== undefined && got.notes[name] !== notes[name]) note(name, got.notes[name], notes[name])
  if (notes.alternatesAtC !== undefined && got.notes.alternatesAtC !== notes.alternatesAtC)
    note('alternatesAtC', got.notes.alternatesAtC, notes.alternatesAtC)
  for (const [name, tolerance] of [
    ['slope', 1e-3],
    ['hotC', 4e-4],
    ['coldestPlateC', 4e-4],
  ] as const) {
    const ours = got.notes[name]
    const theirs = notes[name]
    if (theirs === undefined) continue
    if (ours === null || theirs === null) {
      if (ours !== theirs) note(name, ours, theirs)
    } else if (!(Math.abs(ours - theirs) <= tolerance * Math.max(1, Math.abs(theirs)))) note(name, ours, theirs)
  }
  if (notes.plate !== undefined) found.push(...plateDifferences(got.notes.plate, notes.plate, powerW))
  notes.voltages?.forEach((row, index) => {
    const ours = got.notes.voltages[index]
    for (const name of ['ratio', 'setV', 'voltageV', 'needV'] as const)
      if (!(Math.abs((ours?.[name] ?? Number.NaN) - row[name]) <= relative * row[name] + 1e-9))
        note(`voltages ${index} ${name}`, ours?.[name], row[name])
  })
  return found
}
