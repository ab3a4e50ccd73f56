/** How much a load may be held back by so that an expectation that is followed over time is kept, and how the search minds it. */

import { findUnit, toBase } from '../../../grammar/units/units.ts'
import type { Quantity } from '../../../grammar/values.ts'
import { type Bench, groupLoads, isWork } from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import { fixed } from '../../wording/figures.ts'
import type { Minded } from './faults.ts'

/** A declared load at a count. */
export interface At {
  readonly name: string
  readonly counts: readonly number[]
}

/** What a load must come to so that an expectation that is followed is kept. */
export interface Margin extends At {
  /** It settles at or below this. */
  readonly dieC: number | undefined
  /** Without bands it settles at or below this, in one corner at least, where that is more. */
  readonly bareC?: number
  /** It settles at this clock, in GHz, at least; and at most. */
  readonly leastGhz: number | undefined
  readonly mostGhz: number | undefined
}

function quantity(value: number, symbol: '°C' | 'GHz'): Quantity {
  const unit = findUnit(symbol)
  if (unit === undefined) throw new Error(`no unit ${symbol}`)
  return { kind: 'quantity', start: 0, end: 0, value, dimension: unit.dimension, unit }
}

export const isSame = (a: At, b: At): boolean => a.name === b.name && a.counts.join(' ') === b.counts.join(' ')

/** A margin as expectations of its load that the search minds. */
export function mindedFor(
  { name, counts, dieC, bareC, leastGhz, mostGhz }: Margin,
  of: Expectation,
): readonly Minded[] {
  const { text } = of
  const { course, ...rest } = of
  const minded = (figure: 'die' | 'clock', compare: '<=' | '>=', target: Quantity, why: string): Minded => {
    const group = figure === 'clock' ? of.group : undefined
    const about = { load: name, counts, group, forS: undefined, figure, compare, target, unit: target.unit.symbol }
    return { ...rest, ...about, why: `\`expect ${text}\` ${why}` }
  }
  const found: Minded[] = []
  const cool = (limitC: number): Minded =>
    minded('die', '<=', quantity(limitC, '°C'), `holds only where it settles at ${limitC} °C or below`)
  if (bareC !== undefined) found.push(cool(bareC))
  if (dieC !== undefined) found.push({ ...cool(dieC), isOfBands: bareC !== undefined })
  if (leastGhz !== undefined)
    found.push(minded('clock', '>=', quantity(leastGhz, 'GHz'), `asks for ${fixed(leastGhz, 2)} GHz`))
  if (mostGhz !== undefined)
    found.push(
      minded('clock', '<=', quantity(mostGhz, 'GHz'), `holds only where it runs at ${fixed(mostGhz, 2)} GHz or below`),
    )
  return found
}

/** The hottest that a load settles at, and the fastest. */
export function settledOf(
  evaluation: Evaluation,
  at: At,
  { part }: Bench,
  group: string | undefined,
): { dieC: number; clockGhz: number } {
  let [dieC, clockMhz] = [Number.NEGATIVE_INFINITY, 0]
  for (const { load, settled } of evaluation.predictions) {
    if (!isWork(load.load) || load.name !== at.name) continue
    if (groupLoads(part, load.load).some(({ cores }, index) => cores !== at.counts[index])) continue
    const own = group === undefined ? settled : settled.groups?.find(one => one.group === group)
    dieC = Math.max(dieC, settled.dieC ?? Number.NEGATIVE_INFINITY)
    clockMhz = Math.max(clockMhz, own?.clockMhz ?? 0)
  }
  return { dieC, clockGhz: clockMhz / 1000 }
}

/** The margins that one load may be given, rising. */
export interface Choice {
  readonly values: readonly number[]
  readonly guess: number
  readonly make: (value: number) => Margin
}

/** The clock that is asked for, where it settles; then steps that are no higher than that takes. */
export function clockMargins(
  { target }: Expectation,
  at: At,
  { clockGhz }: { readonly clockGhz: number },
  { part }: Bench,
  isFirst: boolean,
): Choice {
  const stepGhz = part.ratioStep * part.referenceGhz
  const values: number[] = []
  const top = Math.ceil(clockGhz / stepGhz - 1e-6)
  for (let steps = Math.ceil(target.value / stepGhz - 1e-6); steps < top; steps++) values.push(steps * stepGhz)
  // Above all of them it is the clock alone that is asked for.
  if (isFirst) values.push((top + 1) * stepGhz)
  const make = (mostGhz: number): Margin => {
    const own = mostGhz > (top + 0.5) * stepGhz ? undefined : mostGhz
    return { ...at, dieC: undefined, leastGhz: target.value, mostGhz: own }
  }
  return { values, guess: (top + 1) * stepGhz, make }
}

/** Clocks of lower steps. */
export function stepMargins(at: At, { clockGhz }: { readonly clockGhz: number }, { part }: Bench): Choice {
  const stepGhz = part.ratioStep * part.referenceGhz
  const values: number[] = []
  const top = Math.ceil(clockGhz / stepGhz - 1e-6)
  for (let steps = Math.ceil(part.ratioLow / part.ratioStep - 1e-6); steps < top; steps++) values.push(steps * stepGhz)
  const make = (mostGhz: number): Margin => ({ ...at, dieC: undefined, leastGhz: undefined, mostGhz })
  return { values, guess: (top - 1) * stepGhz, make }
}

/** Whole temperatures below what it settles at now, down to what it settles at at the lowest ratio. */
export function dieMargins(
  at: At,
  { figure, target, predicted }: Expectation,
  settled: { readonly dieC: number },
  leastC: number,
): Choice {
  const values: number[] = []
  for (let limitC = Math.ceil(leastC); limitC < settled.dieC; limitC++) values.push(limitC)
  // A load that settles cooler by what a temperature is too high is likely to do.
  const overK = figure === 'die' && predicted !== null ? toBase(predicted, target.unit) - target.value : 0
  const make = (dieC: number): Margin => ({ ...at, dieC, leastGhz: undefined, mostGhz: undefined })
  return { values, guess: Math.floor(settled.dieC - Math.max(overK, 1e-6)), make }
}
