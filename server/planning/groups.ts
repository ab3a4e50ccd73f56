/**
 * Plans the steps and bands of a part with groups of cores, which compete for the same heat: each group's rows as it carries
 * them with the others idle, then lower where several at work ask for it, then higher again wherever a row can rise.
 */
import { bandsFor } from './bands.ts'
import { bandReasons } from './bands-why.ts'
import { groupBands } from './groups-bands.ts'
import {
  atRow,
  type GroupSteps,
  type GroupsJudge,
  type MixedCase,
  rowAt,
  type Settings,
  settingsFor,
  viewOf,
} from './groups-view.ts'
import { limitOf, mildest } from './plan.ts'
import { smallestReturn } from './return.ts'
import { capsOf, carrying, fewerRows, merged, type NotCarried, rowsOf } from './steps.ts'
import type { Failure, NoPlan, Plan, PlannedRow, PlanOptions, StepRow } from './types.ts'

type Found<T> = Generator<undefined, T>

/** Whether the cases with several groups at work are carried, one point of counts after the other. */
interface Mixed<C extends MixedCase> {
  /** The first case of a point that is not carried in any corner, among the points that a row covers. */
  failing(steps: GroupSteps, within?: { readonly group: number; readonly row: StepRow }): Found<Refusal<C> | undefined>
}

interface Refusal<C extends MixedCase> {
  readonly one: C
  readonly failures: readonly Failure[]
}

function mixedOf<C extends MixedCase>(judge: GroupsJudge<C>, everyCorner: boolean): Mixed<C> {
  const points = new Map<string, C[]>()
  for (const one of judge.cases) {
    if (one.yields || one.counts.filter(count => count > 0).length < 2) continue
    const key = one.counts.join(' ')
    points.set(key, [...(points.get(key) ?? []), one])
  }
  const known = new Map<string, Refusal<C> | undefined>()
  const lookedAt = function* (cases: readonly C[], settings: Settings): Found<Refusal<C> | undefined> {
    const failures: Failure[] = []
    let first: C | undefined
    const corners = new Set(cases.map(({ corner }) => corner))
    for (const corner of corners) {
      for (const one of cases.filter(other => other.corner === corner)) {
        const { failure, held } = judge.judge(one, settings)
        const fails = (failure ?? held)?.() ?? (yield* judge.confirm(one, settings))
        if (fails === undefined) continue
        first ??= one
        failures.push(fails)
        break
      }
    }
    const isCarried = everyCorner ? failures.length === 0 : failures.length < corners.size
    return isCarried || first === undefined ? undefined : { one: first, failures }
  }
  return {
    *failing(steps, within) {
      for (const [point, cases] of points) {
        const { counts } = cases[0] as C
        if (within !== undefined && !atRow(within.row, counts[within.group] as number)) continue
        const settings = settingsFor(steps, undefined, counts)
        const key = `${point} ${settings.map(one => one?.ratio ?? '').join(' ')}`
        if (!known.has(key)) {
          known.set(key, yield* lookedAt(cases, settings))
          yield
        }
        const found = known.get(key)
        if (found !== undefined) return found
      }
      return undefined
    },
  }
}

/** What a step of these counts of a group adds to the mean clock: weights times busy cores; what has no weight tells equals apart. */
function worthOf<C extends MixedCase>(judge: GroupsJudge<C>, group: number, { from, to }: StepRow): number {
  let worth = 0
  for (const { counts, weight } of judge.cases) {
    const count = counts[group] as number
    if (count >= from && count <= to) worth += (weight + 1e-6) * count
  }
  return worth
}

/** A group's rows with a stretch of counts at another ratio; none of those behind it stays above it. */
function withRatio(rows: readonly StepRow[], from: number, to: number, ratio: number): readonly StepRow[] {
  return merged(
    rows.flatMap(row => {
      const parts: StepRow[] = []
      if (row.from < from) parts.push({ ...row, to: Math.min(row.to, from - 1) })
      if (row.to >= from && row.from <= to)
        parts.push({ from: Math.max(row.from, from), to: Math.min(row.to, to), ratio })
      if (row.to > to) parts.push({ ...row, from: Math.max(row.from, to + 1), ratio: Math.min(row.ratio, ratio) })
      return parts
    }),
  )
}

const replaced = (steps: GroupSteps, group: number, rows: readonly StepRow[]): GroupSteps =>
  steps.map((own, index) => (index === group ? rows : own))

/** The step below or above a ratio of a group; undefined beyond its lowest and highest. */
function nextTo<C extends MixedCase>(judge: GroupsJudge<C>, group: number, ratio: number, by: 1 | -1) {
  const { ratios, ratioStep } = judge.groups[group] as GroupsJudge['groups'][number]
  return ratios.find(one => Math.abs(one - ratio - by * ratioStep) < ratioStep / 2)
}

/**
 * The step down that costs least core-clock for each watt in a case; undefined where all are at their lowest.
 * @param dear how many times dearer a group is taken to be
 */
function cheapestDown<C extends MixedCase>(
  judge: GroupsJudge<C>,
  steps: GroupSteps,
  one: C,
  isWhole: boolean,
  dear: readonly number[],
): GroupSteps | undefined {
  const powerOf = (at: GroupSteps): number => judge.powerW(one, settingsFor(at, undefined, one.counts)) ?? 1e6
  const nowW = powerOf(steps)
  let best: { readonly steps: GroupSteps; readonly cost: number } | undefined
  for (const [group, count] of one.counts.entries()) {
    if (count === 0) continue
    const rows = steps[group] as readonly StepRow[]
    const row = rowAt(rows, count)
    const lower = nextTo(judge, group, row.ratio, -1)
    if (lower === undefined) continue
    const from = isWhole ? row.from : count
    const lowered = replaced(steps, group, withRatio(rows, from, row.to, lower))
    const savedW = Math.max(1e-3, nowW - powerOf(lowered))
    const cost = ((dear[group] ?? 1) * worthOf(judge, group, { ...row, from })) / savedW
    if (best === undefined || cost < best.cost - 1e-12) best = { steps: lowered, cost }
  }
  return best?.steps
}

interface Carry<C extends MixedCase> {
  readonly own: readonly NotCarried[]
  readonly mixed: Mixed<C>
}

/**
 * Why a row of a group is not carried at a ratio, bands left aside; undefined where it is.
 * @param raised the steps with it
 */
function* whyNotCarried<C extends MixedCase>(
  { own, mixed }: Carry<C>,
  raised: GroupSteps,
  group: number,
  row: StepRow,
  ratio: number,
): Found<Failure | undefined> {
  for (let count = row.to; count >= row.from; count--) {
    const failures = yield* (own[group] as NotCarried)(count, ratio)
    if (failures !== undefined) return mildest(failures)
  }
  const refusal = yield* mixed.failing(raised, { group, row })
  return refusal && mildest(refusal.failures)
}

/** A stretch of counts of a group that may rise by a step, and the row before it. */
interface Climb {
  readonly group: number
  readonly row: StepRow
  readonly before: StepRow | undefined
  readonly worth: number
}

/** Rows, and the fewer cores of each where rows may be cut, the one that gains most first. */
function climbsOf<C extends MixedCase>(judge: GroupsJudge<C>, steps: GroupSteps, isWhole: boolean): readonly Climb[] {
  const found = steps.flatMap((rows, group) =>
    rows.flatMap((whole, index) => {
      const ends = isWhole ? [whole.to] : Array.from({ length: whole.to - whole.from + 1 }, (_, at) => whole.from + at)
      return ends.map((to): Climb => {
        const row = { ...whole, to }
        return { group, row, before: rows[index - 1], worth: worthOf(judge, group, row) }
      })
    }),
  )
  return found.sort((a, b) => b.worth - a.worth)
}

/**
 * Lets rows rise by a step as long as one can, the one that gains most first; then one at the price of a step of another
 * group that is worth less, and again.
 * @param isWhole rows are not cut
 */
function* risen<C extends MixedCase>(
  judge: GroupsJudge<C>,
  carry: Carry<C>,
  found: GroupSteps,
  isWhole: boolean,
  serves?: (steps: GroupSteps) => Found<boolean>,
): Found<GroupSteps> {
  let steps = found
  const refused = new Set<string>()
  const mayBe = function* (raised: GroupSteps, { group, row }: Climb, ratio: number): Found<boolean> {
    const key = JSON.stringify(raised)
    if (refused.has(key)) return false
    const why = yield* whyNotCarried(carry, raised, group, row, ratio)
    if (why === undefined && (serves === undefined || (yield* serves(raised)))) return true
    refused.add(key)
    return false
  }
  const raisedBy = (at: GroupSteps, { group, row, before }: Climb): { at: GroupSteps; ratio: number } | undefined => {
    const ratio = nextTo(judge, group, row.ratio, 1)
    if (ratio === undefined || (before !== undefined && ratio > before.ratio)) return undefined
    return { at: replaced(at, group, withRatio(at[group] as readonly StepRow[], row.from, row.to, ratio)), ratio }
  }
  const better = function* (): Found<GroupSteps | undefined> {
    const climbs = climbsOf(judge, steps, isWhole)
    for (const climb of climbs) {
      const raised = raisedBy(steps, climb)
      if (raised !== undefined && (yield* mayBe(raised.at, climb, raised.ratio))) return raised.at
    }
    for (const climb of climbs) {
      for (const [group, rows] of steps.entries()) {
        for (const row of group === climb.group ? [] : rows) {
          const ratio = nextTo(judge, group, row.ratio, -1)
          for (let from = row.from; ratio !== undefined && from <= row.to; from++) {
            if (worthOf(judge, group, { ...row, from }) >= climb.worth - 1e-9 || (isWhole && from > row.from)) continue
            const lowered = replaced(steps, group, withRatio(rows, from, row.to, ratio))
            const raised = raisedBy(lowered, climb)
            if (raised !== undefined && (yield* mayBe(raised.at, climb, raised.ratio))) return raised.at
          }
        }
      }
    }
    return undefined
  }
  for (;;) {
    const next = yield* better()
    if (next === undefined) return steps
    steps = next
  }
}

/** Each group's rows with the others idle; or why one has none. */
function* ownRows<C extends MixedCase>(
  judge: GroupsJudge<C>,
  { own }: Carry<C>,
  options: PlanOptions,
): Found<GroupSteps | NoPlan> {
  const steps: (readonly StepRow[])[] = []
  for (const [group, { ratioStep }] of judge.groups.entries()) {
    const view = viewOf(judge, group)
    const notCarried = own[group] as NotCarried
    const caps = yield* capsOf(view, notCarried)
    if ('failures' in caps)
      return { kind: 'none', cores: caps.cores, ratio: view.ratios[0] as number, failure: mildest(caps.failures) }
    const weights = caps.map((_, index) => view.cases(index + 1).reduce((sum, { weight }) => sum + weight, 0))
    const rows =
      options.rows === undefined ? rowsOf(caps) : yield* fewerRows(caps, weights, ratioStep, options.rows, notCarried)
    steps.push(rows ?? [{ from: 1, to: caps.length, ratio: Math.min(...caps) }])
  }
  return steps
}

/** What steps are worth altogether, in ratios times weights and busy cores. */
function worthOfAll<C extends MixedCase>(judge: GroupsJudge<C>, steps: GroupSteps): number {
  return steps.reduce(
    (sum, rows, group) => rows.reduce((all, row) => all + worthOf(judge, group, row) * row.ratio, sum),
    0,
  )
}

interface Served {
  readonly kind: 'served'
  readonly steps: GroupSteps
  readonly bands: GroupLinks
  /** Nothing had to come down. */
  readonly isWhole: boolean
}

/** Brings rows down until every case is carried and has its bands, then lets them rise again. */
function* servedFrom<C extends MixedCase>(
  judge: GroupsJudge<C>,
  carry: Carry<C>,
  first: GroupSteps,
  options: PlanOptions,
  dear: readonly number[],
): Found<Served | NoPlan> {
  const isWhole = options.rows !== undefined
  let steps = first
  for (;;) {
    const refusal = yield* carry.mixed.failing(steps)
    if (refusal === undefined) break
    const lowered = cheapestDown(judge, steps, refusal.one, isWhole, dear)
    if (lowered === undefined) return noneOf(refusal.one, steps, mildest(refusal.failures))
    steps = lowered
  }
  steps = yield* risen(judge, carry, steps, isWhole)
  let isLowered = false
  for (;;) {
    const banded = yield* groupBands(judge, steps, options.bands)
    if (!('unsound' in banded)) {
      if (!isLowered) return { kind: 'served', steps, bands: banded.bands, isWhole: steps === first }
      // Steps that came down for the sake of bands may have come down further than they had to.
      const best = yield* risen(judge, carry, steps, isWhole, function* (raised) {
        return !('unsound' in (yield* groupBands(judge, raised, options.bands)))
      })
      const links = best === steps ? banded : yield* groupBands(judge, best, options.bands)
      if ('unsound' in links) throw new Error('a row that could rise has no bands')
      return { kind: 'served', steps: best, bands: links.bands, isWhole: false }
    }
    isLowered = true
    const next = cheapestDown(judge, steps, banded.unsound, isWhole, dear)
    if (next === undefined) return noneOf(banded.unsound, steps, banded.failure)
    steps = next
  }
}

/** How much dearer a step down of one group is made, in turn, so that more than one way down is tried. */
const DEARER = [3, 1e6]

/**
 * The steps and bands of a part with groups, a few milliseconds at a time. Nothing more is claimed than that no row alone can
 * rise.
 */
export function* planGroups<C extends MixedCase>(judge: GroupsJudge<C>, options: PlanOptions): Found<Plan | NoPlan> {
  const everyCorner = options.bands === 0
  const carry: Carry<C> = {
    own: judge.groups.map((_, group) => carrying(viewOf(judge, group), everyCorner)),
    mixed: mixedOf(judge, everyCorner),
  }
  const first = yield* ownRows(judge, carry, options)
  if ('kind' in first) return first
  const plain = judge.groups.map(() => 1)
  let best = yield* servedFrom(judge, carry, first, options, plain)
  if (best.kind === 'none' || !best.isWhole) {
    for (const factor of DEARER) {
      for (const group of plain.keys()) {
        const other = yield* servedFrom(judge, carry, first, options, plain.with(group, factor))
        if (other.kind === 'none') continue
        if (best.kind === 'none' || worthOfAll(judge, other.steps) > worthOfAll(judge, best.steps) + 1e-9) best = other
      }
    }
  }
  if (best.kind === 'none') return best
  const { steps, bands } = best
  const rows = yield* rowsWith(judge, carry, steps, bands, options)
  const banded = judge.cases.flatMap(one => {
    const settings = settingsFor(steps, bands, one.counts)
    const isBanded = settings.some(setting => setting !== undefined && setting.bands.length > 0)
    return isBanded ? [(returnK: number) => judge.swing(one, settings, returnK)] : []
  })
  return { kind: 'plan', rows, ...(yield* smallestReturn(banded)) }
}

type GroupLinks = readonly (readonly (readonly PlannedRow['bands'][number][])[])[]

function noneOf(one: MixedCase, steps: GroupSteps, failure: Failure): NoPlan {
  const lowest = one.counts.flatMap((count, group) =>
    count === 0 ? [] : [rowAt(steps[group] as readonly StepRow[], count).ratio],
  )
  return { kind: 'none', cores: one.cores, ratio: Math.min(...lowest), failure }
}

/** The rows with what keeps each from one step more. */
function* rowsWith<C extends MixedCase>(
  judge: GroupsJudge<C>,
  carry: Carry<C>,
  steps: GroupSteps,
  bands: GroupLinks,
  options: PlanOptions,
): Found<PlannedRow[]> {
  const planned: PlannedRow[] = []
  for (const [group, rows] of steps.entries()) {
    const { name, ratios, ratioStep } = judge.groups[group] as GroupsJudge['groups'][number]
    for (const [index, row] of rows.entries()) {
      const wanted = row.ratio + ratioStep
      const ratio = nextTo(judge, group, row.ratio, 1)
      const before = rows[index - 1]
      const why = function* (): Found<Failure> {
        if (ratio === undefined)
          return limitOf('ratio', row.to, wanted, ratios.at(-1) as number, `is above the group's highest ratio`)
        const raised = replaced(steps, group, withRatio(rows, row.from, row.to, ratio))
        const failure = yield* whyNotCarried(carry, raised, group, row, ratio)
        if (failure !== undefined) return failure
        if (before !== undefined && ratio > before.ratio)
          return limitOf('count-below', row.from, ratio, before.ratio, 'would be above the step for fewer cores')
        const alone = yield* bandsFor(viewOf(judge, group), row.from, row.to, ratio, options.bands)
        if ('failure' in alone) return alone.failure
        const together = yield* groupBands(judge, raised, options.bands)
        if ('unsound' in together) return together.failure
        throw new Error(`${row.from} to ${row.to} cores of ${name} could go to ${ratio}x`)
      }
      const links = bands[group]?.[index] ?? []
      const settingsUnder = (one: C, own: readonly PlannedRow['bands'][number][]): Settings =>
        settingsFor(steps, bands.with(group, (bands[group] ?? []).with(index, own)), one.counts)
      const cases = [...judge.cases, ...judge.beyond(steps)].filter(({ counts }) => atRow(row, counts[group] as number))
      const grid = { ratioStep, ceilingC: judge.ceilingC }
      const reasons = yield* bandReasons(links, grid, {
        cases,
        judge: (one, own) => judge.judge(one, settingsUnder(one, own)),
        *confirm(own) {
          for (const one of cases) {
            const failure = yield* judge.confirm(one, settingsUnder(one, own))
            if (failure !== undefined) return failure
          }
          return undefined
        },
      })
      planned.push({ ...row, group: name, bands: links, bandReasons: reasons, next: yield* why() })
    }
  }
  return planned
}
