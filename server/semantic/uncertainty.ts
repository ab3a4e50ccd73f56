import { onceFor } from '../../grammar/once.ts'
import {
  type Bench,
  type Corner,
  type FigureOf,
  finished,
  type Load,
  type Propagation,
  propagateInSlices,
  settle,
} from '../model/index.ts'
import { mindsHumidity } from './drives.ts'
import type { Correlation, FieldChange, UncertainConstant } from './gather.ts'
import type { LoadCase, ProfileInput } from './input.ts'
import type { Prediction } from './predict.ts'

/** The uncertain constants of the bench, moved in the model's input. */

type Fields = Record<string, unknown>

/** Constants that may well be negative: temperatures in °C and needs that fall. */
const ofEitherSign = new Set(['coolantC', 'constantsAtC', 'needsSlopeVPerK', 'vectorNeedsV'])

/** Constants that the model takes from 1 on. */
const atLeastOne = new Set(['leakageExponent', 'uneven'])

/** The moved constant. However far a sample strays, what must be positive stays so and the model keeps its domain. */
function moved(field: string, value: number, by: number): number {
  const result = value + by
  if (ofEitherSign.has(field)) return result
  if (atLeastOne.has(field)) return Math.max(result, 1)
  return Math.max(result, value > 0 ? value * 1e-6 : 0)
}

function changed<T extends object>(target: T, { field, row, per }: FieldChange, by: number): T {
  const fields = target as unknown as Fields
  const value = fields[field]
  if (row === undefined)
    return typeof value === 'number' ? { ...target, [field]: moved(field, value, per * by) } : target
  if (!Array.isArray(value)) return target
  const rows = value.map((one: Fields, index) =>
    index === row.index ? { ...one, [row.column]: moved(row.column, one[row.column] as number, per * by) } : one,
  )
  return { ...target, [field]: rows }
}

/** The bench and load with every constant moved by its shift. */
export function shiftConstants(
  bench: Bench,
  load: Load,
  constants: readonly UncertainConstant[],
  shifts: readonly number[],
): { readonly bench: Bench; readonly load: Load } {
  let { part, cooler, board } = bench
  let movedLoad = load
  constants.forEach((constant, index) => {
    const by = shifts[index] ?? 0
    if (by === 0) return
    for (const change of constant.changes) {
      if (change.target === 'part') part = changed(part, change, by)
      else if (change.target === 'cooler') cooler = changed(cooler, change, by)
      else if (change.target === 'board') board = changed(board, change, by)
      else movedLoad = changed(movedLoad, change, by)
    }
  })
  return { bench: { ...bench, part, cooler, board }, load: movedLoad }
}

/** The uncertain constants that bear on a load. */
export function uncertainConstants(input: ProfileInput, loadName: string): readonly UncertainConstant[] {
  return [...input.uncertain, ...(input.loadUncertain.get(loadName) ?? [])]
}

/**
 * The correlation matrix of constants, row by row; undefined where none is said to be correlated. Of two lines for one
 * pair the last counts; a line for a constant without `±` says nothing.
 */
export function correlationOf(
  constants: readonly UncertainConstant[],
  correlated: readonly Correlation[],
): readonly (readonly number[])[] | undefined {
  const at = new Map(constants.map(({ name }, index) => [name, index]))
  const matrix = constants.map((_, row) => constants.map((__, column) => (row === column ? 1 : 0)))
  let some = false
  for (const { first, second, coefficient } of correlated) {
    const [i, j] = [at.get(first), at.get(second)]
    if (i === undefined || j === undefined || i === j) continue
    ;(matrix[i] as number[])[j] = coefficient
    ;(matrix[j] as number[])[i] = coefficient
    some = true
  }
  return some ? matrix : undefined
}

/** The propagation with the wet point of one corner: humidity moves nothing else where the drive does not mind it. */
function inCorner(propagation: Propagation, wetC: number): Propagation {
  const here =
    (figure: FigureOf): FigureOf =>
    figures =>
      figure({ ...figures, wetC })
  return {
    drawnFor: propagation.drawnFor,
    interval: (figure, unbalanced) => propagation.interval(here(figure), unbalanced),
    probability: (figure, side, limit) => propagation.probability(here(figure), side, limit),
  }
}

interface Carried {
  readonly corner: Corner
  readonly propagation: Propagation
}

/** What was carried before; evicted with the profile's input or with the load's case. One case's draws take 140 kB. */
const carriedIn = onceFor((_input: ProfileInput) => onceFor((_load: LoadCase): Carried[] => []))

/** The uncertainty of one prediction, a few milliseconds at a time; undefined where no constant carries any. */
export function* uncertaintyInSlices(
  input: ProfileInput,
  prediction: Prediction,
): Generator<undefined, Propagation | undefined> {
  const { bench } = input
  const constants = uncertainConstants(input, prediction.load.name)
  if (bench === undefined || constants.length === 0) return undefined
  const { load, corner, settled } = prediction
  const mindful = mindsHumidity(bench)
  const done = carriedIn(input)(load)
  const before = done.find(
    one => one.corner.airC === corner.airC && (!mindful || one.corner.humidityPct === corner.humidityPct),
  )
  if (before !== undefined) return inCorner(before.propagation, settled.wetC)
  const correlation = correlationOf(constants, input.correlated)
  const spread = {
    standard: constants.map(constant => constant.standardUncertainty),
    ...(correlation === undefined ? {} : { correlation }),
  }
  const propagation = yield* propagateInSlices(shifts => {
    const shifted = shiftConstants(bench, load.load, constants, shifts)
    return settle(shifted.bench, shifted.load, corner)
  }, spread)
  done.push({ corner, propagation })
  return propagation
}

/** The uncertainty of one prediction at once: up to a second where draws decide. */
export function uncertaintyOf(input: ProfileInput, prediction: Prediction): Propagation | undefined {
  return finished(uncertaintyInSlices(input, prediction))
}
