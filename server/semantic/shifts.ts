/** The uncertain constants of a bench: which bear on a load, how they are correlated, and the bench with each moved. */
import { type Bench, isWork, type Load } from '../model/index.ts'
import type { Correlation, FieldChange, UncertainConstant } from './gather.ts'
import type { ProfileInput } from './input.ts'

type Fields = Record<string, unknown>

/** Constants that may well be negative: temperatures in °C and needs that fall. */
const ofEitherSign = new Set(['coolantC', 'constantsAtC', 'needsSlopeVPerK', 'vectorNeedsV'])

/** Constants that the model takes from 1 on. */
const atLeastOne = new Set(['leakageExponent', 'uneven'])

/** What things store: it delays a temperature, and settles none. */
const heats = new Set(['dieHeatJPerK', 'plateHeatJPerK', 'coolantHeatJPerK'])

/** The moved constant. However far a sample strays, what must be positive stays so and the model keeps its domain. */
function moved(field: string, value: number, by: number): number {
  const result = value + by
  if (ofEitherSign.has(field)) return result
  if (atLeastOne.has(field)) return Math.max(result, 1)
  return Math.max(result, value > 0 ? value * 1e-6 : 0)
}

/** @param move the value of a field, by its name, once it is moved */
function changed<T extends object>(
  target: T,
  { field, row }: FieldChange,
  move: (name: string, value: number) => number,
): T {
  const fields = target as unknown as Fields
  const value = fields[field]
  if (row === undefined) return typeof value === 'number' ? { ...target, [field]: move(field, value) } : target
  if (!Array.isArray(value)) return target
  const rows = value.map((one: Fields, index) =>
    index === row.index ? { ...one, [row.column]: move(row.column, one[row.column] as number) } : one,
  )
  return { ...target, [field]: rows }
}

/** The same in one of a part's groups, or in what a load asks of it. */
function inGroup<T extends { readonly groups?: readonly object[] }>(
  target: T,
  index: number,
  change: FieldChange,
  move: (name: string, value: number) => number,
): T {
  if (target.groups?.[index] === undefined) return target
  return { ...target, groups: target.groups.map((group, at) => (at === index ? changed(group, change, move) : group)) }
}

function inRail(
  board: Bench['board'],
  rail: string,
  change: FieldChange,
  move: (name: string, value: number) => number,
): Bench['board'] {
  const own = board.rails?.[rail]
  return own === undefined ? board : { ...board, rails: { ...board.rails, [rail]: changed(own, change, move) } }
}

/** How far a constant is moved by one standard uncertainty: of those with a spread, its logarithm. */
export function unitShift({ standardUncertainty, spread }: UncertainConstant): number {
  return spread === undefined ? standardUncertainty : Math.log(spread)
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
      const move = (name: string, value: number): number =>
        moved(name, value, constant.spread === undefined ? change.per * by : value * Math.expm1(by))
      const { of } = change
      if (of !== undefined) {
        const index = part.groups?.findIndex(({ name }) => name === of) ?? -1
        if (change.target === 'part') part = inGroup(part, index, change, move)
        else if (change.target === 'board') board = inRail(board, of, change, move)
        else if (change.target === 'load' && isWork(movedLoad)) movedLoad = inGroup(movedLoad, index, change, move)
      } else if (change.target === 'part') part = changed(part, change, move)
      else if (change.target === 'cooler') cooler = changed(cooler, change, move)
      else if (change.target === 'board') board = changed(board, change, move)
      else movedLoad = changed(movedLoad, change, move)
    }
  })
  return { bench: { ...bench, part, cooler, board }, load: movedLoad }
}

/** The uncertain constants that bear on what a load settles at. */
export function settlingConstants(input: ProfileInput, loadName: string): readonly UncertainConstant[] {
  const all = [...input.uncertain, ...(input.loadUncertain.get(loadName) ?? [])]
  return all.filter(({ changes }) => !changes.every(({ field }) => heats.has(field)))
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
