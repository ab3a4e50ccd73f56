/** The constants that a fit can move. */

import type { Dimension } from '../../../grammar/units/units.ts'
import type { Cooler, Part, RadiatorPoint } from '../../model/types.ts'
import { kindOf } from '../../semantic/coolers/index.ts'

export interface FitParameter {
  /** As it is asked for and shown: `switching`, `radiator 20 %`. */
  readonly name: string
  readonly target: 'part' | 'cooler'
  /** The name of the part or cooler. */
  readonly owner: string
  /** The key word in the language. */
  readonly word: string
  /** As a `correlated` line names it: the key word, behind it the duty of a row. */
  readonly label: string
  readonly field: string
  /** For rows of the radiator: which one. */
  readonly row?: number
  /** Undefined for a pure number. */
  readonly dimension: Dimension | undefined
  /** What the model can do with. */
  readonly least: number
}

type Row = readonly [word: string, field: keyof Part & string, dimension: Dimension | undefined, least: number]

/** In order of importance: of those that the data cannot tell apart the later ones are left alone. */
const partRows: readonly Row[] = [
  ['switching', 'switchingNf', 'capacitance', 1e-6],
  ['leakage', 'leakageW', 'power', 1e-6],
  ['package-resistance', 'packageResistanceKPerW', 'thermal-resistance', 1e-6],
  ['shared-power', 'sharedPowerW', 'power', 0],
  ['leakage-doubling', 'leakageDoublingK', 'temperature-difference', 1],
  ['core-resistance', 'coreResistanceKPerW', 'thermal-resistance', 0],
  ['leakage-exponent', 'leakageExponent', undefined, 1],
]

export function partParameters(owner: string): readonly FitParameter[] {
  return partRows.map(([word, field, dimension, least]) => ({
    name: word,
    target: 'part',
    owner,
    word,
    label: word,
    field,
    dimension,
    least,
  }))
}

/** @param naming `plain` where there is one cooler; `with-owner` tells those of several apart */
export function coolerParameters(
  owner: string,
  cooler: Cooler,
  naming: 'plain' | 'with-owner',
): readonly FitParameter[] {
  const of = naming === 'plain' ? '' : ` of ${owner}`
  const shared = { target: 'cooler', owner, dimension: 'thermal-resistance', least: 1e-6 } as const
  const rows = kindOf(cooler).radiatorOf(cooler)
  return [
    {
      ...shared,
      name: `block-resistance${of}`,
      word: 'block-resistance',
      label: 'block-resistance',
      field: 'blockResistanceKPerW',
    },
    ...rows.map(({ dutyPct }, row) => ({
      ...shared,
      name: `radiator ${dutyPct} %${of}`,
      word: 'radiator',
      label: `radiator ${dutyPct} %`,
      field: 'radiator',
      row,
    })),
  ]
}

type Fields = Readonly<Record<string, unknown>>

export function constantOf(parameter: FitParameter, part: Part, cooler: Cooler): number {
  const target = (parameter.target === 'part' ? part : cooler) as unknown as Fields
  const found = target[parameter.field]
  if (parameter.row === undefined) return found as number
  return (found as readonly RadiatorPoint[])[parameter.row]?.resistanceKPerW ?? Number.NaN
}

/** The same part or cooler with some of its constants replaced. */
export function withValues<T extends Part | Cooler>(
  target: T,
  parameters: readonly FitParameter[],
  values: readonly number[],
): T {
  const fields: Record<string, unknown> = { ...target }
  parameters.forEach(({ field, row }, index) => {
    const value = values[index] as number
    if (row === undefined) fields[field] = value
    else {
      const rows = fields[field] as readonly RadiatorPoint[]
      fields[field] = rows.map((one, at) => (at === row ? { ...one, resistanceKPerW: value } : one))
    }
  })
  return fields as unknown as T
}
