/**
 * Plans the steps and bands of a part whose cores are all alike: the highest steps, and the fewest rows of bands, that
 * hold everywhere. Pure: what a case comes to is asked of a judge.
 */
import { bandsFor } from './bands.ts'
import { bandReasons } from './bands-why.ts'
import { smallestReturn } from './return.ts'
import { capsOf, carrying, fewerRows, highestCarried, merged, type NotCarried, rowsOf } from './steps.ts'
import type { Case, Failure, Judge, NoPlan, Plan, PlannedRow, PlanOptions, StepRow, Swing } from './types.ts'

const countsOf = ({ from, to }: StepRow): number[] => Array.from({ length: to - from + 1 }, (_, index) => from + index)

/** Weights of the counts: a load's weight is shared among its counts, and its corners. */
function weightsOf<C extends Case>(judge: Judge<C>): readonly number[] {
  return Array.from({ length: judge.cores }, (_, index) =>
    judge.cases(index + 1).reduce((sum, { weight }) => sum + weight, 0),
  )
}

/**
 * The highest steps and the fewest bands that hold everywhere, a few milliseconds at a time.
 * @returns where some count carries no ratio, what fails there at the lowest
 */
export function* planSteps<C extends Case>(judge: Judge<C>, options: PlanOptions): Generator<undefined, Plan | NoPlan> {
  const notCarried = carrying(judge, options.bands === 0)
  const caps = yield* capsOf(judge, notCarried)
  if (!Array.isArray(caps)) {
    const { cores, failures } = caps as Exclude<typeof caps, readonly number[]>
    return { kind: 'none', cores, ratio: judge.ratios[0] as number, failure: mildest(failures) }
  }
  const rows =
    options.rows === undefined
      ? rowsOf(caps)
      : yield* fewerRows(caps, weightsOf(judge), judge.ratioStep, options.rows, notCarried)
  if (rows === undefined) return yield* tooFewRows(judge, caps, notCarried)
  const banded = yield* withBands(judge, rows, options.bands, notCarried)
  if (!Array.isArray(banded)) return banded as NoPlan
  const planned: PlannedRow[] = []
  for (const [index, row] of (banded as readonly BandedRow[]).entries()) {
    const next = yield* whyNotHigher(judge, row, planned[index - 1], options, notCarried)
    const cases = countsOf(row).flatMap(count => judge.cases(count))
    const reasons = yield* bandReasons(row.bands, judge, {
      cases,
      judge: (one, links) => judge.judge(one, row.ratio, links),
      confirm: links => judge.confirm(cases, row.ratio, links, 'row'),
    })
    planned.push({ ...row, bandReasons: reasons, next })
  }
  return { kind: 'plan', rows: planned, ...(yield* returnFor(judge, planned)) }
}

type BandedRow = Omit<PlannedRow, 'next' | 'bandReasons'>

/** The rows that were asked for would take a count down to a ratio that it does not carry. */
function* tooFewRows<C extends Case>(
  judge: Judge<C>,
  caps: readonly number[],
  notCarried: NotCarried,
): Generator<undefined, NoPlan> {
  const lowest = caps.at(-1) as number
  for (const [index, cap] of caps.entries()) {
    const failures = cap > lowest ? yield* notCarried(index + 1, lowest) : undefined
    if (failures !== undefined) return { kind: 'none', cores: index + 1, ratio: lowest, failure: mildest(failures) }
  }
  // Every count carries the lowest of the caps, which then is one row for all.
  throw new Error(`${judge.cores} counts carry ${lowest}x and make no row`)
}

/** Gives each row its bands; one that has none that serve comes down, and those after it do not rise above it. */
function* withBands<C extends Case>(
  judge: Judge<C>,
  found: readonly StepRow[],
  most: number,
  notCarried: NotCarried,
): Generator<undefined, readonly BandedRow[] | NoPlan> {
  let rows = [...found]
  const banded: BandedRow[] = []
  for (let at = 0; at < rows.length; ) {
    const row = rows[at] as StepRow
    const bands = yield* bandsFor(judge, row.from, row.to, row.ratio, most)
    if ('links' in bands) {
      banded.push({ ...row, bands: bands.links })
      at++
      continue
    }
    const below = row.ratio - judge.ratioStep / 2
    const lowered: StepRow[] = []
    for (const one of rows.slice(at)) {
      const notAbove = lowered.at(-1)?.ratio ?? below
      const ratio =
        one.ratio <= notAbove ? one.ratio : yield* highestCarried(judge.ratios, notCarried, countsOf(one), notAbove)
      // Lower than this nothing is carried: what the bands fail by decides.
      if (ratio === undefined) return { kind: 'none', cores: one.to, ratio: one.ratio, failure: bands.failure }
      lowered.push({ ...one, ratio })
    }
    rows = [...rows.slice(0, at), ...merged(lowered)]
  }
  return banded
}

/** Of the failures of several corners the one that comes nearest to none. */
export function mildest(failures: readonly Failure[]): Failure {
  const excess = ({ value, allowed }: Failure): number =>
    value === null || allowed === null
      ? Number.POSITIVE_INFINITY
      : Math.abs(value - allowed) / Math.max(1e-9, Math.abs(allowed))
  return failures.reduce((best, one) => (excess(one) < excess(best) ? one : best))
}

/** Why one ratio-step more in a row would not do. */
function* whyNotHigher<C extends Case>(
  judge: Judge<C>,
  row: BandedRow,
  before: StepRow | undefined,
  options: PlanOptions,
  notCarried: NotCarried,
): Generator<undefined, Failure> {
  const highest = judge.ratios.at(-1) as number
  const wanted = row.ratio + judge.ratioStep
  const next = judge.ratios.find(ratio => Math.abs(ratio - wanted) < judge.ratioStep / 2)
  if (next === undefined) return limitOf('ratio', row.to, wanted, highest, `is above the part's highest ratio`)
  for (const cores of countsOf(row).toReversed()) {
    const failures = yield* notCarried(cores, next)
    if (failures !== undefined) return mildest(failures)
  }
  if (before !== undefined && next > before.ratio)
    return limitOf('count-below', row.from, next, before.ratio, 'would be above the step for fewer cores')
  const bands = yield* bandsFor(judge, row.from, row.to, next, options.bands)
  if ('failure' in bands) return bands.failure
  // A row of several that are held together: it could rise by itself, and the one after it would hold it back no more.
  throw new Error(`${row.from} to ${row.to} cores could go to ${next}x`)
}

export const limitOf = (
  by: 'ratio' | 'count-below',
  cores: number,
  value: number,
  allowed: number,
  words: string,
): Failure => ({
  by,
  load: null,
  cores,
  airC: null,
  humidityPct: null,
  figure: 'ratio',
  value,
  allowed,
  unit: 'x',
  words,
})

/** Every case under bands, as it does with a `return`. */
function* returnFor<C extends Case>(
  judge: Judge<C>,
  rows: readonly BandedRow[],
): Generator<undefined, Pick<Plan, 'returnK' | 'isFast'>> {
  const banded: ((returnK: number) => Swing)[] = []
  for (const row of rows) {
    if (row.bands.length === 0) continue
    for (const cores of countsOf(row)) {
      for (const one of judge.cases(cores)) banded.push(returnK => judge.swing(one, row.ratio, row.bands, returnK))
    }
  }
  return yield* smallestReturn(banded)
}
