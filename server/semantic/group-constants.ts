/** The groups of a part as plain numbers: what each states, and what it takes from the part. */

import type { Match } from '../../grammar/values.ts'
import { mainRail, type NamedGroup, type Part, type VoltageRow } from '../model/index.ts'
import { entries, entry, mentions, pureNumber, range, text } from './definitions.ts'
import { type Gathering, numberOf, required, type UncertainConstant } from './gather.ts'

/** A group's block and name. */
export interface GroupBlock {
  readonly name: string
  readonly block: Match
}

/** The groups of a part in the order of the text; of two with one name the last. */
export function groupBlocks(part: Match): readonly GroupBlock[] {
  const found = new Map<string, GroupBlock>()
  for (const block of entries(part, 'group')) {
    const name = text(block, 'name')?.text
    if (name !== undefined) found.set(name, { name, block })
  }
  return [...found.values()]
}

/** How many cores a part has, those of its groups together; undefined where it does not say. */
export function coresIn(part: Match): number | undefined {
  const counted = (block: Match): number | undefined => {
    const found = entry(block, 'cores')
    return found && pureNumber(found)?.value
  }
  const groups = groupBlocks(part)
  if (groups.length === 0) return counted(part)
  const all = groups.map(({ block }) => counted(block) ?? counted(part))
  return all.reduce((sum, own) => (sum === undefined || own === undefined ? undefined : sum + own), 0)
}

/** Constants that were noted for a part, as those of some of its groups. @param own they stand in the one group's block */
function ofGroups(noted: readonly UncertainConstant[], groups: readonly string[], own: boolean): UncertainConstant[] {
  return noted.map(one => ({
    ...one,
    name: own ? `${one.name} of ${groups[0]}` : one.name,
    changes: groups.flatMap(of => one.changes.map(change => ({ ...change, of }))),
  }))
}

/** Reads something of each group: from its own block where it mentions the word, else once from the part's. */
function ofEach<T>(
  gathering: Gathering,
  groups: readonly GroupBlock[],
  word: string,
  read: (from: Gathering) => T,
): readonly T[] {
  const heirs = groups.filter(({ block }) => !mentions(block, word))
  const take = (from: Gathering, names: readonly string[], own: boolean): T => {
    const uncertain: UncertainConstant[] = []
    const value = read({ ...from, uncertain })
    gathering.uncertain.push(...ofGroups(uncertain, names, own))
    return value
  }
  const inherited =
    heirs.length === 0
      ? undefined
      : take(
          gathering,
          heirs.map(({ name }) => name),
          false,
        )
  return groups.map(group =>
    heirs.includes(group) ? (inherited as T) : take({ ...gathering, block: group.block }, [group.name], true),
  )
}

type Leakage = Pick<Part, 'leakageW' | 'leakageAtV' | 'leakageAtC'>

/** What reads the words that are more than a number. */
export interface GroupReaders {
  readonly leakage: (from: Gathering) => Leakage
  readonly needs: (from: Gathering, group: Omit<NamedGroup, 'needs'>) => readonly VoltageRow[]
}

/** The groups of a part; where something is missing or broken that is noted. */
export function readGroups(
  gathering: Gathering,
  groups: readonly GroupBlock[],
  readers: GroupReaders,
): readonly NamedGroup[] {
  const numbers = (word: string, field: string): readonly number[] =>
    ofEach(gathering, groups, word, from => numberOf(from, word, field))
  const cores = numbers('cores', 'cores')
  const counted: Gathering = { ...gathering, cores: cores.reduce((sum, own) => sum + own, 0) }
  const ratios = ofEach(counted, groups, 'ratio', from => {
    const found = required(from, 'ratio')
    return found && range(found)
  })
  ofEach(counted, groups, 'core-voltage', from => required(from, 'core-voltage'))
  const [at, slope, vector] = [
    numbers('needs-at', 'needsAtC'),
    numbers('needs-slope', 'needsSlopeVPerK'),
    numbers('vector-needs', 'vectorNeedsV'),
  ]
  const [switching, resistance] = [
    numbers('switching', 'switchingNf'),
    numbers('core-resistance', 'coreResistanceKPerW'),
  ]
  const leakage = leakages(counted, groups, cores, readers)
  const without = groups.map(({ name, block }, index): Omit<NamedGroup, 'needs'> => {
    const rail = entry(block, 'rail')
    return {
      name,
      rail: (rail && text(rail, 'value')?.text) ?? mainRail,
      cores: cores[index] as number,
      ratioLow: ratios[index]?.low.value ?? Number.NaN,
      ratioHigh: ratios[index]?.high.value ?? Number.NaN,
      needsAtC: at[index] as number,
      needsSlopeVPerK: slope[index] as number,
      vectorNeedsV: vector[index] as number,
      switchingNf: switching[index] as number,
      coreResistanceKPerW: resistance[index] as number,
      ...(leakage[index] as Leakage),
    }
  })
  if (groups.some(({ block }) => !mentions(block, 'rail'))) gathering.assumed.push(`rail ${mainRail}`)
  return without.map((group, index) => {
    const { block, name } = groups[index] as GroupBlock
    const isOwn = mentions(block, 'needs')
    const uncertain: UncertainConstant[] = []
    const from = { ...counted, uncertain, ...(isOwn ? { block } : {}) }
    const needs = readers.needs(from, group)
    // Rows of the part that several groups take are one constant each.
    for (const one of ofGroups(uncertain, [name], isOwn)) addTo(gathering.uncertain, one)
    return { ...group, needs }
  })
}

/** Adds a constant, or what it moves where it is there already. */
function addTo(all: UncertainConstant[], one: UncertainConstant): void {
  const before = all.findIndex(({ name }) => name === one.name)
  const known = all[before]
  if (known === undefined) all.push(one)
  else all[before] = { ...known, changes: [...known.changes, ...one.changes] }
}

/** The leakage of each group: its own, or a share by cores of the part's, which is that of all groups without one. */
function leakages(
  gathering: Gathering,
  groups: readonly GroupBlock[],
  cores: readonly number[],
  readers: GroupReaders,
): readonly Leakage[] {
  const heirs = groups.map(({ block }) => !mentions(block, 'leakage'))
  const shared = cores.reduce((sum, own, index) => (heirs[index] ? sum + own : sum), 0)
  const noted: UncertainConstant[] = []
  const whole = heirs.includes(true) ? readers.leakage({ ...gathering, cores: shared, uncertain: noted }) : undefined
  const shareOf = (index: number): number => (cores[index] as number) / shared
  for (const one of noted) {
    const changes = groups.flatMap(({ name }, index) =>
      heirs[index] ? one.changes.map(change => ({ ...change, of: name, per: change.per * shareOf(index) })) : [],
    )
    gathering.uncertain.push({ ...one, changes })
  }
  return groups.map(({ name, block }, index) => {
    if (whole !== undefined && heirs[index]) return { ...whole, leakageW: whole.leakageW * shareOf(index) }
    const uncertain: UncertainConstant[] = []
    const own = readers.leakage({ ...gathering, block, cores: cores[index] as number, uncertain })
    gathering.uncertain.push(...ofGroups(uncertain, [name], true))
    return own
  })
}

/** What stands in the fields of the part itself where it has groups: the first one's, with the cores and leakage of all. */
export function totalsOf(
  groups: readonly NamedGroup[],
  { leakageExponent, leakageDoublingK }: Pick<Part, 'leakageExponent' | 'leakageDoublingK'>,
): Omit<NamedGroup, 'name' | 'rail'> | undefined {
  const [first] = groups
  if (first === undefined) return undefined
  const { name: _, rail: __, ...own } = first
  let [cores, leakageW] = [0, 0]
  for (const group of groups) {
    cores += group.cores
    const byVolts = (first.leakageAtV / group.leakageAtV) ** leakageExponent
    leakageW += group.leakageW * byVolts * 2 ** ((first.leakageAtC - group.leakageAtC) / leakageDoublingK)
  }
  return { ...own, cores, leakageW }
}
