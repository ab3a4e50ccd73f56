/** Definitions of the bench as plain numbers for the model. */

import { onceFor } from '../../grammar/once.ts'
import type { Match } from '../../grammar/values.ts'
import { usualLeakageAt, usualText, usualValueOf } from '../../grammar/vocabulary/usual-values.ts'
import type { Board, Cooler, Corner, Load, Part, VoltageRow } from '../model/types.ts'
import { coolerKinds } from './coolers/index.ts'
import {
  counts,
  type Definition,
  defaultOf,
  entries,
  entry,
  mentions,
  nameAfter,
  pureNumber,
  quantity,
  range,
  rows,
  text,
} from './definitions.ts'
import {
  type Correlation,
  correlationIn,
  type Gathering,
  gatherFrom,
  noteMissing,
  noteUncertain,
  noteUsual,
  numberOf,
  optionalNumber,
  required,
  takeUsual,
  type UncertainConstant,
  type UsualFigures,
} from './gather.ts'
import { type GroupBlock, groupBlocks, readGroups, totalsOf } from './group-constants.ts'
import { type KnownPoint, knownPoints, leadOf, needsOfKnown } from './known.ts'

export interface Constants<T> {
  /** Undefined where something required is missing or in error. */
  readonly value: T | undefined
  readonly missing: readonly string[]
  readonly broken: readonly string[]
  readonly assumed: readonly string[]
  /** Those of the assumed that are usual values, with their spread. */
  readonly usual: readonly UsualFigures[]
  readonly uncertain: readonly UncertainConstant[]
  readonly correlated: readonly Correlation[]
}

function constants<T>(gathering: Gathering, value: () => T | undefined): Constants<T> {
  const made = value()
  const { missing, broken, assumed, usual, uncertain, correlated } = gathering
  return {
    value: missing.length + broken.length > 0 ? undefined : made,
    missing,
    broken,
    assumed,
    usual,
    uncertain,
    correlated,
  }
}

/** How a part's needed voltages go with temperature and load, and its ratios with the clock. */
type NeedsFacts = Pick<
  Part,
  'referenceGhz' | 'ratioLow' | 'ratioHigh' | 'ratioStep' | 'needsAtC' | 'needsSlopeVPerK' | 'vectorNeedsV'
>

function needsRows(gathering: Gathering, points: readonly KnownPoint[], facts: NeedsFacts): VoltageRow[] {
  const table = entry(gathering.block, 'needs')
  if (table === undefined)
    return mentions(gathering.block, 'needs') ? brokenNeeds(gathering) : seenNeeds(gathering, points, facts)
  const result = rows(table).map(row => ({
    ratio: quantity(row, 'ratio')?.value ?? Number.NaN,
    voltageV: quantity(row, 'voltage')?.value ?? Number.NaN,
    uncertainty: quantity(row, 'voltage')?.uncertainty,
  }))
  if (result.length === 0) gathering.broken.push('needs')
  result.sort((a, b) => a.ratio - b.ratio)
  result.forEach((row, index) => {
    noteUncertain(gathering, `needs ${row.ratio}x`, row.uncertainty, [
      { field: 'needs', row: { index, column: 'voltageV' }, per: 1 },
    ])
  })
  return result.map(({ ratio, voltageV }) => ({ ratio, voltageV }))
}

function brokenNeeds(gathering: Gathering): VoltageRow[] {
  noteMissing(gathering, 'needs')
  return []
}

/** Voltages that were seen to be enough stand for `needs`; where there is none, it is missing. */
function seenNeeds(gathering: Gathering, points: readonly KnownPoint[], facts: NeedsFacts): VoltageRow[] {
  const { referenceGhz, ratioLow, ratioHigh, ratioStep, needsAtC, needsSlopeVPerK, vectorNeedsV } = facts
  const found = needsOfKnown(
    points,
    clockGhz => {
      const ratio = Number((Math.round(clockGhz / referenceGhz / ratioStep) * ratioStep).toFixed(6))
      return ratio < ratioLow || ratio > ratioHigh ? undefined : ratio
    },
    (dieC, vector) => needsSlopeVPerK * ((dieC ?? needsAtC) - needsAtC) + (vector ? vectorNeedsV : 0),
  ).filter(({ voltageV }) => voltageV > 0)
  if (found.length === 0) noteMissing(gathering, 'needs')
  for (const { ratio, voltageV } of found) gathering.assumed.push(`needs ${ratio}x ${Number(voltageV.toFixed(4))} V`)
  return found.map(({ ratio, voltageV }) => ({ ratio, voltageV }))
}

function correlations(gathering: Gathering): void {
  for (const match of entries(gathering.block, 'correlated')) {
    const found = correlationIn(match, gathering.place)
    if (found !== undefined) gathering.correlated.push(found)
  }
}

type Leakage = Pick<Part, 'leakageW' | 'leakageAtV' | 'leakageAtC'>

function leakageOf(gathering: Gathering): Leakage {
  const usual = usualValueOf('part', 'leakage')
  if (usual !== undefined && !mentions(gathering.block, 'leakage')) {
    noteUsual(gathering, 'leakage', `${usualText(usual, gathering.cores)} at ${usualLeakageAt.text}`, usual.spread)
    const leakageW = takeUsual(gathering, 'leakage', usual, { field: 'leakageW' })
    return { leakageW, leakageAtV: usualLeakageAt.voltageV, leakageAtC: usualLeakageAt.temperatureC }
  }
  const stated = required(gathering, 'leakage')
  const power = stated && quantity(stated, 'power')
  noteUncertain(gathering, 'leakage', power?.uncertainty, [{ field: 'leakageW', per: 1 }])
  const number = (name: string): number => (stated && quantity(stated, name)?.value) ?? Number.NaN
  return { leakageW: number('power'), leakageAtV: number('voltage'), leakageAtC: number('temperature') }
}

/** What is the die's own, whatever cores it has. */
function dieOf(gathering: Gathering, tripC: number | undefined) {
  const number = (word: string, field: string): number => numberOf(gathering, word, field)
  return {
    dieLimitC: number('die-limit', 'dieLimitC'),
    ...(tripC === undefined ? {} : { tripC }),
    leakageDoublingK: number('leakage-doubling', 'leakageDoublingK'),
    leakageExponent: number('leakage-exponent', 'leakageExponent'),
    sharedPowerW: number('shared-power', 'sharedPowerW'),
    idlePowerW: number('idle-power', 'idlePowerW'),
    packageResistanceKPerW: number('package-resistance', 'packageResistanceKPerW'),
    dieHeatJPerK: number('die-heat', 'dieHeatJPerK'),
  }
}

/** A part whose cores are of several kinds. */
function groupedPart(gathering: Gathering, definition: Definition, blocks: readonly GroupBlock[]): Part | undefined {
  const number = (word: string, field: string): number => numberOf(gathering, word, field)
  correlations(gathering)
  const tripC = optionalNumber(gathering, 'trip')
  if (tripC === undefined) gathering.assumed.push('trip the die ceiling + 10 K')
  const clocked = { referenceGhz: number('reference', 'referenceGhz'), ratioStep: number('ratio-step', 'ratioStep') }
  const points = knownPoints(definition)
  const groups = readGroups(gathering, blocks, {
    leakage: leakageOf,
    // The clock and voltage of a point are those of its first group at work.
    needs: (from, group) =>
      needsRows(
        from,
        points.filter(point => leadOf(point, blocks)?.name === group.name),
        { ...clocked, ...group },
      ),
  })
  const die = dieOf({ ...gathering, cores: groups.reduce((sum, { cores }) => sum + cores, 0) }, tripC)
  const totals = totalsOf(groups, die)
  return totals && { ...clocked, ...totals, ...die, groups }
}

export const partConstants = onceFor<Definition, Constants<Part>>(definition => {
  const { match } = definition
  const gathering = gatherFrom(match, 'part', 'part')
  const number = (word: string, field: string): number => numberOf(gathering, word, field)
  return constants(gathering, () => {
    const blocks = groupBlocks(match)
    if (blocks.length > 0) return groupedPart(gathering, definition, blocks)
    const ratio = required(gathering, 'ratio')
    const ratios = ratio && range(ratio)
    required(gathering, 'core-voltage')
    correlations(gathering)
    const tripC = optionalNumber(gathering, 'trip')
    if (tripC === undefined) gathering.assumed.push('trip the die ceiling + 10 K')
    const facts: NeedsFacts = {
      referenceGhz: number('reference', 'referenceGhz'),
      ratioLow: ratios?.low.value ?? Number.NaN,
      ratioHigh: ratios?.high.value ?? Number.NaN,
      ratioStep: number('ratio-step', 'ratioStep'),
      needsAtC: number('needs-at', 'needsAtC'),
      needsSlopeVPerK: number('needs-slope', 'needsSlopeVPerK'),
      vectorNeedsV: number('vector-needs', 'vectorNeedsV'),
    }
    return {
      cores: number('cores', 'cores'),
      ...facts,
      dieLimitC: number('die-limit', 'dieLimitC'),
      ...(tripC === undefined ? {} : { tripC }),
      needs: needsRows(gathering, knownPoints(definition), facts),
      switchingNf: number('switching', 'switchingNf'),
      ...leakageOf(gathering),
      leakageDoublingK: number('leakage-doubling', 'leakageDoublingK'),
      leakageExponent: number('leakage-exponent', 'leakageExponent'),
      sharedPowerW: number('shared-power', 'sharedPowerW'),
      idlePowerW: number('idle-power', 'idlePowerW'),
      packageResistanceKPerW: number('package-resistance', 'packageResistanceKPerW'),
      coreResistanceKPerW: number('core-resistance', 'coreResistanceKPerW'),
      dieHeatJPerK: number('die-heat', 'dieHeatJPerK'),
    }
  })
})

export const coolerConstants = onceFor<Definition, Constants<Cooler>>(({ match, coolerKind }) => {
  const gathering = gatherFrom(match, 'cooler', 'cooler')
  return constants(gathering, (): Cooler | undefined => {
    if (coolerKind === undefined) return undefined
    const ratingW = optionalNumber(gathering, 'rating')
    correlations(gathering)
    const shared = {
      blockResistanceKPerW: numberOf(gathering, 'block-resistance', 'blockResistanceKPerW'),
      plateHeatJPerK: numberOf(gathering, 'plate-heat', 'plateHeatJPerK'),
      ...(ratingW === undefined ? {} : { ratingW }),
    }
    return coolerKinds[coolerKind].read(gathering, shared)
  })
})

export const boardConstants = onceFor<Definition, Constants<Board>>(({ match }) => {
  const gathering = gatherFrom(match, 'board', 'board')
  return constants(gathering, () => {
    const coreVoltageStepV = optionalNumber(gathering, 'core-voltage-step')
    const rails = boardRails(gathering)
    const supplyW = optionalNumber(gathering, 'supply')
    return {
      ...(coreVoltageStepV === undefined ? {} : { coreVoltageStepV }),
      ...(supplyW === undefined ? {} : { supplyW }),
      loadLineOhm: numberOf(gathering, 'load-line', 'loadLineOhm'),
      ...(rails === undefined ? {} : { rails }),
      otherPowerW: numberOf(gathering, 'other-power', 'otherPowerW'),
    }
  })
})

/** What a board says of single supply rails. */
function boardRails(gathering: Gathering): Board['rails'] {
  const { block } = gathering
  const lines = [...entries(block, 'load-line'), ...entries(block, 'core-voltage-step')]
  const names = new Set(lines.flatMap(line => nameAfter(line) ?? []))
  if (names.size === 0) return undefined
  const railOf = (name: string): NonNullable<Board['rails']>[string] => {
    const line = entry(block, 'load-line', name)
    const step = entry(block, 'core-voltage-step', name)
    const [ohm, volts] = [line && quantity(line), step && quantity(step)]
    noteUncertain(gathering, `load-line of ${name}`, ohm?.uncertainty, [{ field: 'loadLineOhm', of: name, per: 1 }])
    return {
      ...(ohm === undefined ? {} : { loadLineOhm: ohm.value }),
      ...(volts === undefined ? {} : { coreVoltageStepV: volts.value }),
    }
  }
  return Object.fromEntries([...names].map(name => [name, railOf(name)]))
}

/** Without a board: no grid, no load line, the supply not judged. */
export const noBoard: Board = {
  loadLineOhm: defaultOf('board', 'load-line')?.value ?? 0,
  otherPowerW: defaultOf('board', 'other-power')?.value ?? 0,
}

/** The corners of a room, coolest and driest first, duplicates merged. */
export const roomCorners = onceFor<Definition, Constants<readonly Corner[]>>(({ match }) => {
  const gathering = gatherFrom(match, 'room', 'cooler')
  return constants(gathering, () => {
    const air = required(gathering, 'air')
    const humidity = required(gathering, 'humidity')
    const airs = air && range(air)
    const humidities = humidity && range(humidity)
    if (airs === undefined || humidities === undefined) return undefined
    const both = (low: number, high: number): number[] => (low === high ? [low] : [low, high])
    return both(airs.low.value, airs.high.value).flatMap(airC =>
      both(humidities.low.value, humidities.high.value).map(humidityPct => ({ airC, humidityPct })),
    )
  })
})

/** What a load does to each core that it keeps busy: all of it but how many those are. */
export type WorkKind = Required<Omit<Extract<Load, { readonly kind: 'work' }>, 'kind' | 'cores' | 'groups'>>

/** How a load keeps the part busy, whatever its core counts. */
export type BusyKind = Pick<LoadConstants, 'work' | 'activities'>

/** How many cores of one group a load keeps busy. */
export interface GroupCounts {
  readonly group: string
  readonly from: number
  readonly to: number
}

/** A declared load: every core count in its range. */
export interface LoadConstants {
  /** Of all groups together. */
  readonly fromCores: number
  readonly toCores: number
  /** Where it says so of each group by its name; empty: the groups are filled in their order. */
  readonly groups: readonly GroupCounts[]
  readonly work: WorkKind
  /** Activities of single groups. */
  readonly activities: ReadonlyMap<string, number>
}

function groupCounts(block: Match): readonly GroupCounts[] {
  const found = new Map<string, GroupCounts>()
  for (const line of entries(block, 'cores')) {
    const [group, range] = [nameAfter(line), counts(line)]
    if (group !== undefined && range !== undefined) found.set(group, { group, from: range.from, to: range.to })
  }
  return [...found.values()]
}

function groupActivities(gathering: Gathering): ReadonlyMap<string, number> {
  const found = new Map<string, number>()
  for (const line of entries(gathering.block, 'activity')) {
    const [group, value] = [nameAfter(line), pureNumber(line)]
    if (group === undefined || value === undefined) continue
    found.set(group, value.value)
    const changes = [{ field: 'activity', of: group, per: 1 }]
    noteUncertain(gathering, `activity of ${group}`, value.uncertainty, changes)
  }
  return found
}

export const loadConstants = onceFor<Definition, Constants<LoadConstants>>(({ match }) => {
  const gathering = gatherFrom(match, 'load', 'load')
  return constants(gathering, () => {
    const groups = groupCounts(match)
    const cores = groups.length > 0 ? undefined : required(gathering, 'cores')
    const range = cores && counts(cores)
    const sum = (of: (one: GroupCounts) => number): number | undefined =>
      groups.length === 0 ? undefined : groups.reduce((all, one) => all + of(one), 0)
    const vector = entry(match, 'vector')
    if (vector === undefined) gathering.assumed.push('vector no')
    return {
      fromCores: sum(({ from }) => from) ?? range?.from ?? Number.NaN,
      toCores: sum(({ to }) => to) ?? range?.to ?? Number.NaN,
      groups,
      work: {
        activity: numberOf(gathering, 'activity', 'activity'),
        vector: vector !== undefined && text(vector, 'value')?.text === 'yes',
        uneven: numberOf(gathering, 'uneven', 'uneven'),
      },
      activities: groupActivities(gathering),
    }
  })
})

/** Whether two loads differ in nothing but their core counts, on a part whose cores are alike. */
export function isSameWork(a: WorkKind, b: WorkKind): boolean {
  return a.activity === b.activity && a.vector === b.vector && a.uneven === b.uneven
}

/** Whether two loads differ in nothing but their core counts. */
export function isSameKind(a: BusyKind, b: BusyKind): boolean {
  const { activities } = a
  if (!isSameWork(a.work, b.work) || activities.size !== b.activities.size) return false
  return [...activities].every(([of, value]) => b.activities.get(of) === value)
}

/** A number of the part that has no place in the model's input: the allowed core voltages. */
export function coreVoltageRange(part: Definition): { readonly lowV: number; readonly highV: number } | undefined {
  const found = entry(part.match, 'core-voltage')
  const value = found && range(found)
  return value && { lowV: value.low.value, highV: value.high.value }
}

/** Whether the cooler says that its cold parts are insulated. */
export function isInsulated(cooler: Definition): boolean {
  const found = entry(cooler.match, 'insulated')
  return found !== undefined && text(found, 'value')?.text === 'yes'
}

export { missingInModule, moduleDatasheet } from './module.ts'
