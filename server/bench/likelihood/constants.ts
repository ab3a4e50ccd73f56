/** The constants of a bench that a fit can move, all positive and counted by their logarithms, and the bench as a function of them. */

import type { Dimension } from '../../../grammar/units/units.ts'
import { correlates, type FittedOfCooler, fittedOfCooler } from '../../../grammar/vocabulary/fitted-of-cooler.ts'
import { findWord } from '../../../grammar/vocabulary/index.ts'
import type { Cooler, Part, RadiatorPoint } from '../../model/types.ts'
import { kindOf } from '../../semantic/coolers/index.ts'

export interface BenchConstant {
  /** As it is asked for and shown: `switching`, `radiator 20 %`; behind it `of NAME` where there are several coolers. */
  readonly name: string
  readonly target: 'part' | 'cooler'
  /** The name of the part or cooler. */
  readonly owner: string
  /** The key word in the language. */
  readonly word: string
  /** As a `correlated` line names it: the key word, behind it the duty of a row or the figure of a module. */
  readonly label: string
  readonly field: string
  /** For rows of the radiator: which one, by rising duty. */
  readonly row?: number
  /** Of a part with groups: those whose field it is, by their places, and which share of it each has. */
  readonly groups?: readonly { readonly index: number; readonly share: number }[]
  /** The group in whose block it stands; absent: in that of the part itself. */
  readonly group?: string
  /** Undefined for a pure number. */
  readonly dimension: Dimension | undefined
  /** Before any run: median in base units, and the standard deviation of its logarithm. */
  readonly value: number
  readonly spread: number
}

type Row = readonly [word: string, field: keyof Part & string, dimension: Dimension | undefined]

const partRows: readonly Row[] = [
  ['switching', 'switchingNf', 'capacitance'],
  ['leakage', 'leakageW', 'power'],
  ['leakage-doubling', 'leakageDoublingK', 'temperature-difference'],
  ['leakage-exponent', 'leakageExponent', undefined],
  ['shared-power', 'sharedPowerW', 'power'],
  ['idle-power', 'idlePowerW', 'power'],
  ['package-resistance', 'packageResistanceKPerW', 'thermal-resistance'],
  ['core-resistance', 'coreResistanceKPerW', 'thermal-resistance'],
  ['die-heat', 'dieHeatJPerK', 'heat-capacity'],
]

/** A constant without what is known of it. */
export type ConstantPlace = Omit<BenchConstant, 'value' | 'spread'>

/** What each group of cores may have of its own. */
const ofGroups = new Set(['switching', 'leakage', 'core-resistance'])

/**
 * The constants of a part. What several groups take from the part is one constant where the part states it; what nobody
 * states is usual of each group by itself.
 * @param states whether the block of a group, or of the part without one, states a word
 */
export function partPlaces(
  owner: string,
  { groups = [] }: Pick<Part, 'groups'> = {},
  states: (word: string, group?: string) => boolean = () => true,
): readonly ConstantPlace[] {
  const place = ([word, field, dimension]: Row): ConstantPlace => {
    return { name: word, target: 'part', owner, word, label: word, field, dimension }
  }
  return partRows.flatMap((row): readonly ConstantPlace[] => {
    const [word] = row
    if (groups.length === 0 || !ofGroups.has(word)) return [place(row)]
    const all = groups.map(({ name, cores }, index) => ({ name, cores, index, isOwn: states(word, name) }))
    const heirs = all.filter(({ isOwn }) => !isOwn)
    const isShared = heirs.length > 0 && states(word)
    // The part's leakage is shared out by cores; all else is the same in each group.
    const cores = heirs.reduce((sum, one) => sum + one.cores, 0)
    const shareOf = (own: number): number => (word === 'leakage' ? own / cores : 1)
    const shared = heirs.map(({ index, cores: own }) => ({ index, share: shareOf(own) }))
    const single = all.flatMap(({ name, index, isOwn }): ConstantPlace[] => {
      if (!isOwn && isShared) return []
      const label = `${word} of ${name}`
      return [{ ...place(row), name: label, label, group: name, groups: [{ index, share: 1 }] }]
    })
    return [...(isShared ? [{ ...place(row), groups: shared }] : []), ...single]
  })
}

/** What a fit does with a number of a cooler that it moves. */
interface Moved {
  readonly word: FittedOfCooler | 'module'
  readonly label?: string
  readonly dimension: Dimension
  /** Whether temperatures over time depend on it. */
  readonly warms: boolean
}

type FieldOf<C> = C extends unknown ? keyof C : never
type CoolerField = Exclude<FieldOf<Cooler>, 'kind'>

const own = (word: FittedOfCooler, warms: boolean): Moved => ({
  word,
  dimension: fittedOfCooler[word].dimension,
  warms,
})
const ofModule = (figure: string, dimension: Dimension): Moved => ({
  word: 'module',
  label: `module ${figure}`,
  dimension,
  warms: true,
})

/**
 * Each number of a cooler, in the order of a fit's unknowns: what a fit does with it, or `stated`, where it takes it as it
 * stands. A new one does not compile without its line.
 */
const coolerFields: Readonly<Record<CoolerField, Moved | 'stated'>> = {
  blockResistanceKPerW: own('block-resistance', true),
  radiator: own('radiator', true),
  plateHeatJPerK: own('plate-heat', true),
  coolantHeatJPerK: own('coolant-heat', true),
  seebeckVPerK: ofModule('seebeck', 'voltage-per-kelvin'),
  resistanceOhm: ofModule('resistance', 'resistance'),
  conductanceWPerK: ofModule('conductance', 'thermal-conductance'),
  plateLeakWPerK: own('plate-leak', true),
  leadsOhm: own('leads', false),
  coolantC: 'stated',
  capacityW: 'stated',
  beyondKPerW: 'stated',
  modules: 'stated',
  constantsAtC: 'stated',
  driveCurrentA: 'stated',
  wiringSeries: 'stated',
  wiringParallel: 'stated',
  supplyLimitA: 'stated',
  driveWhenOff: 'stated',
  driveLagS: 'stated',
  ratingW: 'stated',
}

const movedFields = Object.entries(coolerFields).flatMap(([field, moved]) =>
  moved === 'stated' ? [] : [{ field, ...moved }],
)

/** Whether temperatures over time depend on a constant. */
export const warms = ({ target, word }: Pick<ConstantPlace, 'target' | 'word'>): boolean =>
  target === 'part' ? thermalOfPart.has(word) : movedFields.some(one => one.word === word && one.warms)

const thermalOfPart: ReadonlySet<string> = new Set(['package-resistance', 'core-resistance', 'die-heat'])

/** Whether a `correlated` line is written of a constant: those serve what a load settles at. */
export const settles = ({ target, word }: Pick<ConstantPlace, 'target' | 'word'>): boolean =>
  target === 'part' ? word !== 'die-heat' : correlates(word)

/** @param naming `plain` where there is one cooler; `with-owner` tells those of several apart */
export function coolerPlaces(owner: string, cooler: Cooler, naming: 'plain' | 'with-owner'): readonly ConstantPlace[] {
  const place = (
    word: string,
    label: string,
    field: string,
    dimension: Dimension | undefined,
    row?: number,
  ): ConstantPlace => ({
    name: naming === 'plain' ? label : `${label} of ${owner}`,
    target: 'cooler',
    owner,
    word,
    label,
    field,
    dimension,
    ...(row === undefined ? {} : { row }),
  })
  const { radiatorOf } = kindOf(cooler)
  return movedFields.flatMap(({ field, word, label = word, dimension }) => {
    const kinds = findWord('cooler', word)?.kinds ?? [cooler.kind]
    if (!kinds.includes(cooler.kind)) return []
    if (field !== 'radiator') return [place(word, label, field, dimension)]
    return radiatorOf(cooler).map(({ dutyPct }, row) => place(word, `${word} ${dutyPct} %`, field, dimension, row))
  })
}

type Fields = Readonly<Record<string, unknown>>

/** The constant as the part or the cooler has it. */
export function constantIn({ field, row, groups }: ConstantPlace, target: Part | Cooler): number {
  const [first] = groups ?? []
  const own = first && 'groups' in target ? target.groups?.[first.index] : undefined
  if (first !== undefined && own !== undefined) return ((own as unknown as Fields)[field] as number) / first.share
  const found = (target as unknown as Fields)[field]
  return row === undefined
    ? ((found as number | undefined) ?? 0)
    : ((found as readonly RadiatorPoint[])[row]?.resistanceKPerW ?? Number.NaN)
}

/**
 * The bench as a function of the logarithms of its constants. The same values as last time give the same objects.
 * @param at place of each constant in the values
 */
export function benchOf<P extends Part, C extends Cooler | undefined>(
  part: P,
  cooler: C,
  constants: readonly { readonly place: ConstantPlace; readonly at: number }[],
): (values: ArrayLike<number>) => { readonly part: P; readonly cooler: C } {
  const last = new Float64Array(constants.length).fill(Number.NaN)
  const ofPart = constants.filter(({ place }) => place.target === 'part')
  const ofCooler = constants.filter(({ place }) => place.target === 'cooler')
  let found: { readonly part: P; readonly cooler: C } = { part, cooler }
  return values => {
    let isSame = true
    for (let index = 0; index < constants.length; index++) {
      const own = values[(constants[index] as (typeof constants)[number]).at] as number
      if (own !== last[index]) isSame = false
      last[index] = own
    }
    if (isSame) return found
    const nextPart = { ...part } as unknown as Record<string, unknown>
    let groups: Record<string, unknown>[] | undefined
    for (const { place, at } of ofPart) {
      const value = Math.exp(values[at] as number)
      if (place.groups === undefined) nextPart[place.field] = value
      else {
        groups ??= (part.groups ?? []).map(group => ({ ...group }))
        for (const { index, share } of place.groups)
          (groups[index] as Record<string, unknown>)[place.field] = share * value
      }
    }
    if (groups !== undefined) nextPart.groups = groups
    const nextCooler = { ...cooler } as unknown as Record<string, unknown>
    let rows: RadiatorPoint[] | undefined
    for (const { place, at } of ofCooler) {
      const value = Math.exp(values[at] as number)
      if (place.row === undefined) nextCooler[place.field] = value
      else {
        rows ??= (nextCooler.radiator as readonly RadiatorPoint[]).slice()
        rows[place.row] = { dutyPct: rows[place.row]?.dutyPct ?? Number.NaN, resistanceKPerW: value }
        nextCooler.radiator = rows
      }
    }
    found = { part: nextPart as unknown as P, cooler: (cooler === undefined ? cooler : nextCooler) as unknown as C }
    return found
  }
}
