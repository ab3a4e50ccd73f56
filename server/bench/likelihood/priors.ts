/** What is known of each constant of a part and of its coolers before any run. */
import { usualRadiator, usualValueOf } from '../../../grammar/vocabulary/usual-values.ts'
import type { LoopCooler } from '../../model/types.ts'
import { coolerConstants, partConstants } from '../../semantic/constants.ts'
import { type Definition, mentions } from '../../semantic/definitions.ts'
import type { UncertainConstant } from '../../semantic/gather.ts'
import { groupBlocks } from '../../semantic/group-constants.ts'
import { type BenchConstant, type ConstantPlace, constantIn, coolerPlaces, partPlaces } from './constants.ts'

/** A constant with what is known of it. */
export interface PriorConstant extends BenchConstant {
  /** Whether the file states it; else it counts as usual. */
  readonly from: 'stated' | 'usual'
}

/** Datasheets of modules differ from the modules by this factor; engineering judgement. */
const MODULE_SPREAD = 1.1
/** A constant without a usual value is known to this factor once it is stated; engineering judgement. */
const STATED_SPREAD = 1.5
/** Plates leak and leads resist something, whether or not anybody says so; engineering judgement. */
const unstated: Readonly<Record<string, readonly [value: number, factor: number]>> = {
  'plate-leak': [0.15, 3],
  leads: [0.01, 3],
}

/** The factor of a constant that is stated without `±`. */
function keySpread({ target, word }: ConstantPlace, definition: Definition): number {
  if (word === 'radiator') return usualRadiator.loop[0]?.resistance.spread ?? STATED_SPREAD
  if (word === 'module') return MODULE_SPREAD
  return usualValueOf(target, word, definition.coolerKind)?.spread ?? STATED_SPREAD
}

/** The logarithm's standard deviation, from what is uncertain of the constant; several figures of a datasheet add up. */
function uncertainSpread(
  place: ConstantPlace,
  value: number,
  uncertain: readonly UncertainConstant[],
): { readonly spread: number; readonly isUsual: boolean } | undefined {
  const named = (label: string): UncertainConstant | undefined =>
    uncertain.find(({ name }) => name === `${place.target} ${label}`)
  // What nobody states is noted for all groups together.
  const own = named(place.label) ?? (place.group === undefined ? undefined : named(place.word))
  if (own?.spread !== undefined) return { spread: Math.log(own.spread), isUsual: true }
  if (own !== undefined) return { spread: own.standardUncertainty / value, isUsual: false }
  if (place.word !== 'module') return undefined
  const parts = uncertain.flatMap(({ standardUncertainty, changes }) =>
    changes.flatMap(({ field, per }) => (field === place.field ? [(per * standardUncertainty) / value] : [])),
  )
  return parts.length === 0 ? undefined : { spread: Math.hypot(...parts), isUsual: false }
}

function priorOf(
  place: ConstantPlace,
  value: number,
  definition: Definition,
  uncertain: readonly UncertainConstant[],
): PriorConstant[] {
  const own = uncertainSpread(place, value, uncertain)
  if (own !== undefined) return [{ ...place, value, spread: own.spread, from: own.isUsual ? 'usual' : 'stated' }]
  const none = unstated[place.word]
  if (value === 0 && none !== undefined) return [{ ...place, value: none[0], spread: Math.log(none[1]), from: 'usual' }]
  // A constant of zero stays zero, by whatever factor it is multiplied.
  if (!(value > 0)) return []
  return [{ ...place, value, spread: Math.log(keySpread(place, definition)), from: 'stated' }]
}

/** @returns none where the part lacks something */
export function partPriors(definition: Definition): readonly PriorConstant[] {
  const { value, uncertain } = partConstants(definition)
  if (value === undefined) return []
  const { match } = definition
  const blocks = new Map(groupBlocks(match).map(({ name, block }) => [name, block]))
  const states = (word: string, group?: string): boolean => mentions((group && blocks.get(group)) || match, word)
  return partPlaces(definition.name, value, states).flatMap(place =>
    priorOf(place, constantIn(place, value), definition, uncertain),
  )
}

/** @param naming `plain` where there is one cooler */
export function coolerPriors(definition: Definition, naming: 'plain' | 'with-owner'): readonly PriorConstant[] {
  const { value, uncertain } = coolerConstants(definition)
  if (value === undefined) return []
  return coolerPlaces(definition.name, value, naming).flatMap(place =>
    priorOf(place, constantIn(place, value), definition, uncertain),
  )
}

/** The owner of constants that nobody has named: what is known of coolers that are not described. */
export const NOBODY = ''

/** A loop of usual constants, for points that were seen under a cooler that nobody describes. */
export const usualLoop: LoopCooler = {
  kind: 'loop',
  blockResistanceKPerW: usualValueOf('cooler', 'block-resistance')?.base ?? Number.NaN,
  radiator: usualRadiator.loop.map(({ dutyPct, resistance }) => ({ dutyPct, resistanceKPerW: resistance.base })),
  plateHeatJPerK: usualValueOf('cooler', 'plate-heat')?.base ?? Number.NaN,
  coolantHeatJPerK: usualValueOf('cooler', 'coolant-heat', 'loop')?.base ?? Number.NaN,
}

export function usualLoopPriors(): readonly PriorConstant[] {
  return coolerPlaces(NOBODY, usualLoop, 'plain').map(place => ({
    ...place,
    value: constantIn(place, usualLoop),
    spread: Math.log(
      place.word === 'radiator'
        ? (usualRadiator.loop[0]?.resistance.spread ?? 1)
        : (usualValueOf('cooler', place.word, 'loop')?.spread ?? 1),
    ),
    from: 'usual',
  }))
}
