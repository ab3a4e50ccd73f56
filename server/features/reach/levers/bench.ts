/** What changes the bench: the room's warm end, radiator and block, the load's cores, another cooler. */

import { setWhole } from '../../../checks/support/physics-edits.ts'
import { namePlace, placeIn } from '../../../checks/support/place.ts'
import type { Cooler, Corner } from '../../../model/index.ts'
import { kindOf } from '../../../semantic/coolers/index.ts'
import {
  counts,
  type Definition,
  entries,
  entry,
  nameAfter,
  quantity,
  range,
  rows,
} from '../../../semantic/definitions.ts'
import type { Evaluation } from '../../../semantic/evaluate.ts'
import type { Scope } from '../../../semantic/scope.ts'
import type { FoundLever, Numbers } from '../types.ts'
import { outward, valueSpan, wordOf, written } from './moves.ts'

/** The corners of a room that is as warm as this at its warm end. */
function withWarmEnd(corners: readonly Corner[], lowC: number, highC: number): readonly Corner[] {
  const humidities = [...new Set(corners.map(({ humidityPct }) => humidityPct))]
  const airs = lowC === highC ? [lowC] : [lowC, highC]
  return airs.flatMap(airC => humidities.map(humidityPct => ({ airC, humidityPct })))
}

export function roomLevers({ profile }: Evaluation): readonly FoundLever[] {
  const { room } = profile
  const air = room && entry(room.match, 'air')
  const stated = air && range(air)
  if (room === undefined || stated === undefined) return []
  const { low, high } = stated
  const isOne = low.value === high.value
  // A single temperature is both ends: it falls as a whole, and rises by a warm end of its own.
  const grain = { one: 1, grain: 0.5, low: isOne ? -40 : low.value, high: 60 }
  const moves = outward(high.value, grain, to => {
    const top = written(high, to)
    const lowC = isOne ? Math.min(low.value, top.value) : low.value
    const text = top.value === lowC ? top.text : `${written(low, lowC).text} to ${top.text}`
    return {
      to,
      edits: [{ chunk: room.chunk, start: stated.start, end: stated.end, text }],
      numbers: (numbers: Numbers) => ({ ...numbers, corners: withWarmEnd(numbers.corners, lowC, top.value) }),
    }
  })
  const name = `room ${room.name}, warm end of air`
  const place = placeIn(room, stated)
  return [{ kind: 'room-air', name, place, from: high.value, unit: '°C', isBench: true, moves }]
}

const inCooler =
  (change: (cooler: Cooler) => Cooler) =>
  (numbers: Numbers): Numbers => ({ ...numbers, bench: { ...numbers.bench, cooler: change(numbers.bench.cooler) } })

export function coolerLevers({ profile }: Evaluation): readonly FoundLever[] {
  const { cooler } = profile
  return cooler === undefined ? [] : [...radiatorLevers(cooler), ...blockLevers(cooler)]
}

const percent = { one: 10, grain: 1, low: 1 }

/** All rows of the radiator by the same share. */
function radiatorLevers(cooler: Definition): readonly FoundLever[] {
  const table = entry(cooler.match, 'radiator')
  const stated = (table === undefined ? [] : rows(table)).flatMap(row => {
    const [duty, resistance] = [quantity(row, 'duty'), quantity(row, 'resistance')]
    return duty === undefined || resistance === undefined ? [] : [{ dutyPct: duty.value, resistance }]
  })
  if (table === undefined || stated.length === 0) return []
  const moves = outward(100, percent, to => {
    const found = stated.map(row => ({ ...row, ...written(row.resistance, (row.resistance.value * to) / 100) }))
    return {
      to,
      edits: found.map(({ resistance, text }) => ({
        chunk: cooler.chunk,
        ...valueSpan(cooler.chunk, resistance),
        text,
      })),
      numbers: inCooler(own =>
        kindOf(own).withRows(own, row => ({
          ...row,
          resistanceKPerW: found.find(one => one.dutyPct === row.dutyPct)?.value ?? row.resistanceKPerW,
        })),
      ),
    }
  })
  const { items } = table.statement
  const place = placeIn(cooler, { start: table.statement.start, end: items.at(-1)?.end ?? table.statement.end })
  return [
    { kind: 'radiator', name: `cooler ${cooler.name}, radiator`, place, from: 100, unit: '%', isBench: true, moves },
  ]
}

function blockLevers(cooler: Definition): readonly FoundLever[] {
  const match = entry(cooler.match, 'block-resistance')
  const stated = match && quantity(match)
  if (stated === undefined || !(stated.value > 0)) return []
  const { value: now } = stated
  const moves = outward(100, percent, to => {
    const found = written(stated, (now * to) / 100)
    return {
      to: found.value,
      edits: [{ chunk: cooler.chunk, ...valueSpan(cooler.chunk, stated), text: found.text }],
      numbers: inCooler(own => ({ ...own, blockResistanceKPerW: found.value })),
    }
  })
  const name = `cooler ${cooler.name}, block-resistance`
  const place = placeIn(cooler, stated)
  return [{ kind: 'block-resistance', name, place, from: now, unit: 'K/W', isBench: true, moves }]
}

/** How many cores the load keeps busy at most, of each group that it names. */
export function loadLevers({ input }: Evaluation, load: Definition | undefined): readonly FoundLever[] {
  const part = input.bench?.part
  if (load === undefined || part === undefined) return []
  return entries(load.match, 'cores').flatMap((match): FoundLever[] => {
    const stated = counts(match)
    if (stated === undefined) return []
    const group = nameAfter(match)
    const most = part.groups?.find(({ name }) => name === group)?.cores ?? part.cores
    const isOne = stated.from === stated.to
    const moves = outward(stated.to, { one: 1, grain: 1, low: isOne ? 1 : stated.from, high: most }, to => {
      const text = isOne || to === stated.from ? `${to}` : `${stated.from} to ${to}`
      return { to, edits: [{ chunk: load.chunk, start: stated.start, end: stated.end, text }] }
    })
    const name = `load ${wordOf(load.name, group)}`
    const place = placeIn(load, stated)
    return [{ kind: 'load-cores', name, place, from: stated.to, unit: 'cores', isBench: true, moves }]
  })
}

/** Changing the cooler is a job for an evening. */
const coolerAsks = 10

export function otherCoolers({ profile }: Evaluation, scope: Scope): readonly FoundLever[] {
  const { cooler } = profile
  if (cooler === undefined) return []
  return scope.all('cooler').flatMap((other): FoundLever[] => {
    if (other === cooler) return []
    const edit = setWhole(profile, profile.key('cooler'), undefined, `cooler ${other.name}`)
    if (edit === undefined) return []
    const moves = [{ to: other.name, asks: coolerAsks, side: 1 as const, edits: [edit] }]
    return [
      {
        kind: 'cooler',
        name: `cooler ${other.name}`,
        place: namePlace(other),
        from: cooler.name,
        unit: null,
        isBench: true,
        moves,
      },
    ]
  })
}
