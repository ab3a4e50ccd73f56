/** Steps: the highest ratio that each core count carries, and the rows that lose least where only few are wanted. */
import type { Case, Failure, Judge, StepRow } from './types.ts'

/** Losses that differ by less are equal: shares of weights are not exact in binary. */
const SAME_LOSS = 1e-9

/** Whether a ratio is carried at a count: undefined where it is, else what fails, one failure a corner. */
export type NotCarried = (cores: number, ratio: number) => Generator<undefined, readonly Failure[] | undefined>

/** @param everyCorner it must be carried in every corner, because no band gives back in the warm ones */
export function carrying<C extends Case>(judge: Judge<C>, everyCorner: boolean): NotCarried {
  const known = new Map<string, readonly Failure[] | undefined>()
  return function* (cores, ratio) {
    const key = `${cores} ${ratio}`
    if (known.has(key)) return known.get(key)
    const all = judge.cases(cores)
    const deciding = all.filter(one => !one.yields)
    const judged = deciding.length > 0 ? deciding : all.filter(one => one.standsIn)
    const failures: Failure[] = []
    let corners = 0
    for (const corner of new Set(judged.map(one => one.corner))) {
      const here = judged.filter(one => one.corner === corner)
      corners++
      const failure = yield* firstFailure(judge, here, ratio)
      if (failure !== undefined) failures.push(failure)
      else if (!everyCorner) break
    }
    const isCarried = everyCorner ? failures.length === 0 : failures.length < corners
    const found = isCarried ? undefined : failures
    known.set(key, found)
    return found
  }
}

function* firstFailure<C extends Case>(
  judge: Judge<C>,
  cases: readonly C[],
  ratio: number,
): Generator<undefined, Failure | undefined> {
  for (const one of cases) {
    const { failure, held } = judge.judge(one, ratio, [])
    const fails = failure ?? held
    if (fails !== undefined) return fails()
  }
  yield
  return yield* judge.confirm(cases, ratio, [], 'count')
}

/** The count that carries nothing, and why at the lowest ratio. */
export interface Stuck {
  readonly cores: number
  readonly failures: readonly Failure[]
}

/** At each count the highest carried ratio that is not above the count before; `caps[0]` is that of one core. */
export function* capsOf(
  { cores, ratios }: Pick<Judge, 'cores' | 'ratios'>,
  notCarried: NotCarried,
): Generator<undefined, readonly number[] | Stuck> {
  const caps: number[] = []
  for (let count = 1; count <= cores; count++) {
    const cap = yield* highestCarried(ratios, notCarried, [count], caps.at(-1) ?? Number.POSITIVE_INFINITY)
    if (cap === undefined) return { cores: count, failures: (yield* notCarried(count, ratios[0] as number)) ?? [] }
    caps.push(cap)
  }
  return caps
}

/** The highest ratio, not above one, that all these counts carry. */
export function* highestCarried(
  ratios: readonly number[],
  notCarried: NotCarried,
  counts: readonly number[],
  notAbove: number,
): Generator<undefined, number | undefined> {
  for (const ratio of ratios.toReversed()) {
    if (ratio > notAbove + SAME_LOSS) continue
    let isCarried = true
    for (const count of counts) {
      if ((yield* notCarried(count, ratio)) === undefined) continue
      isCarried = false
      break
    }
    if (isCarried) return ratio
  }
  return undefined
}

/** Equal neighbours are one row. */
export function rowsOf(caps: readonly number[]): StepRow[] {
  return merged(caps.map((ratio, index) => ({ from: index + 1, to: index + 1, ratio })))
}

export function merged(rows: readonly StepRow[]): StepRow[] {
  const found: StepRow[] = []
  for (const row of rows) {
    const last = found.at(-1)
    if (last !== undefined && last.ratio === row.ratio) found[found.length - 1] = { ...last, to: row.to }
    else found.push(row)
  }
  return found
}

/** What a set of rows loses, in the order in which it counts. */
interface Loss {
  readonly weighted: number
  readonly steps: number
  readonly rows: number
}

interface Cut extends Loss {
  /** Last count of the first row. */
  readonly end: number
}

function isLess(a: Loss, b: Loss): boolean {
  if (Math.abs(a.weighted - b.weighted) > SAME_LOSS) return a.weighted < b.weighted
  if (Math.abs(a.steps - b.steps) > SAME_LOSS) return a.steps < b.steps
  return a.rows < b.rows
}

/**
 * At most so many rows, each at the ratio of its last count, that lose least: by weight, then by ratio-steps, then by
 * rows, then with cuts at lower counts. The loss adds up over the rows, so the best of the counts from one on does not
 * depend on what stands before it.
 * @param weights of the counts
 * @returns undefined where a row would take a count down to a ratio that it does not carry, wherever the cuts are
 */
export function* fewerRows(
  caps: readonly number[],
  weights: readonly number[],
  ratioStep: number,
  most: number,
  notCarried: NotCarried,
): Generator<undefined, StepRow[] | undefined> {
  const count = caps.length
  const lossOf = function* (from: number, to: number): Generator<undefined, Loss | undefined> {
    const ratio = caps[to] as number
    let [weighted, steps] = [0, 0]
    for (let at = from; at <= to; at++) {
      const lost = ((caps[at] as number) - ratio) / ratioStep
      if (lost > SAME_LOSS && (yield* notCarried(at + 1, ratio)) !== undefined) return undefined
      weighted += (weights[at] as number) * lost
      steps += lost
    }
    return { weighted, steps, rows: 1 }
  }
  /** The best of the counts from one on with so many rows; `best[0]` is that of none. */
  const best: (Cut | undefined)[][] = [new Array<Cut | undefined>(count + 1).fill(undefined)]
  const losses: (Loss | undefined)[][] = []
  for (let from = 0; from < count; from++) {
    losses[from] = []
    for (let to = from; to < count; to++) (losses[from] as (Loss | undefined)[])[to] = yield* lossOf(from, to)
    yield
  }
  const nothing: Cut = { weighted: 0, steps: 0, rows: 0, end: count }
  for (let rows = 1; rows <= Math.min(most, count); rows++) {
    const row: (Cut | undefined)[] = new Array<Cut | undefined>(count + 1).fill(undefined)
    for (let from = count - 1; from >= 0; from--) {
      for (let end = from; end < count; end++) {
        const own = losses[from]?.[end]
        const rest = end === count - 1 ? nothing : best[rows - 1]?.[end + 1]
        if (own === undefined || rest === undefined) continue
        const total = {
          weighted: own.weighted + rest.weighted,
          steps: own.steps + rest.steps,
          rows: 1 + rest.rows,
          end,
        }
        const before = row[from]
        if (before === undefined || isLess(total, before)) row[from] = total
      }
    }
    best.push(row)
    yield
  }
  let at = 0
  let left = best.length - 1
  if (best[left]?.[0] === undefined) return undefined
  const found: StepRow[] = []
  while (at < count) {
    const end = best[left]?.[at]?.end as number
    found.push({ from: at + 1, to: end + 1, ratio: caps[end] as number })
    at = end + 1
    left--
  }
  return merged(found)
}
