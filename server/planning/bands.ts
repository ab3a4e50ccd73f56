/**
 * The bands of one row of steps: the fewest rows with which every case is sound. A set counts where none of its rows can
 * be left out, so what is sound is looked for by size, and nothing is added to it.
 *
 * A die warms past one threshold after the other, so a case's outcome under a set follows from the row that it comes to
 * rest at: each is predicted once for the two drops between which it went and the threshold, however many sets share them.
 */
import type { Case, Failure, Judge, Link, Verdict } from './types.ts'

/** A row more must be worth so much of the mean clock. */
const WORTH_MHZ = 25
/** Sets this close are told apart by how quietly they do it. */
const CLOSE_MHZ = 1
/** Deepest drop, in ratio-steps. */
const DEEPEST = 8

export interface Bands {
  readonly links: readonly Link[]
}

/** No set serves: what fails even where the most is given back, as early as can be. */
export interface NoBands {
  readonly failure: Failure
}

/** The verdicts of one case under any set. */
type Outcomes = (links: readonly Link[]) => Verdict

function outcomesOf<C extends Case>(judge: Judge<C>, one: C, ratio: number): Outcomes {
  const free = judge.judge(one, ratio, [])
  const known = new Map<string, Verdict>()
  return links => {
    let verdict = free
    for (const [index, { aboveC, drop }] of links.entries()) {
      if (verdict.settledC < aboveC) return verdict
      const arrived = verdict.passed || verdict.settledC < Number.POSITIVE_INFINITY
      const key = arrived
        ? `${links[index - 1]?.drop ?? 0} ${aboveC} ${drop}`
        : links
            .slice(0, index + 1)
            .map(link => `${link.aboveC}/${link.drop}`)
            .join(' ')
      const before = known.get(key)
      verdict = before ?? judge.judge(one, ratio, links.slice(0, index + 1))
      if (before === undefined) known.set(key, verdict)
    }
    return verdict
  }
}

interface Found extends Bands {
  readonly clockMhz: number
  readonly alternating: number
}

const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0)
const dropsOf = ({ links }: Bands): number => sum(links.map(({ drop }) => drop))
const thresholdsOf = ({ links }: Bands): number => sum(links.map(({ aboveC }) => aboveC))

/** Of sets with as good a clock: fewer cases that alternate, then smaller drops, then higher thresholds. */
function quieterFirst(a: Found, b: Found): number {
  return (
    a.alternating - b.alternating ||
    dropsOf(a) - dropsOf(b) ||
    thresholdsOf(b) - thresholdsOf(a) ||
    firstDifference(a.links, b.links)
  )
}

function firstDifference(a: readonly Link[], b: readonly Link[]): number {
  for (const [index, link] of a.entries()) {
    const other = b[index] as Link
    if (link.aboveC !== other.aboveC) return other.aboveC - link.aboveC
    if (link.drop !== other.drop) return link.drop - other.drop
  }
  return 0
}

/** Shares of the cases in the mean clock: of those with a weight, else of those that stand for every load. */
export function sharesOf(cases: readonly Case[]): readonly number[] {
  const own = cases.map(({ weight }) => weight)
  const weights = sum(own) > 0 ? own : cases.map(({ weightElse }) => weightElse)
  const all = sum(weights)
  return weights.map(weight => (all > 0 ? weight / all : 0))
}

/** What a band of this row may be. */
function gridOf<C extends Case>(judge: Judge<C>, cases: readonly C[], ratio: number): readonly Link[] {
  const lowest = judge.ratios[0] as number
  const steps = Math.min(DEEPEST, Math.floor((ratio - lowest) / judge.ratioStep + 1e-9))
  if (steps < 1) return []
  const deepest = ratio - steps * judge.ratioStep
  // Where even the slowest case at the deepest drop is warmer, one threshold is as good as another.
  const coolest = cases.flatMap(one => judge.judge(one, deepest, []).dieC ?? [])
  const top = Math.ceil(judge.ceilingC) - 1
  // A drop that is wrong by itself, as one below the lowest ratio, serves at no threshold.
  const drops = Array.from({ length: steps }, (_, index) => Number(((index + 1) * judge.ratioStep).toFixed(9))).filter(
    drop => judge.judge(cases[0] as C, ratio, [{ aboveC: top, drop }]).settledC > Number.NEGATIVE_INFINITY,
  )
  const bottom = coolest.length === 0 ? top : Math.min(top, Math.floor(Math.min(...coolest)))
  const links: Link[] = []
  for (let aboveC = top; aboveC >= bottom; aboveC--) {
    for (const drop of drops) links.push({ aboveC, drop })
  }
  return links
}

/**
 * The set of at most `most` rows with which every case of these counts is sound at a ratio: of the fewest rows within 25 MHz
 * of the best mean clock the one with the highest.
 */
export function* bandsFor<C extends Case>(
  judge: Judge<C>,
  from: number,
  to: number,
  ratio: number,
  most: number,
): Generator<undefined, Bands | NoBands> {
  const cases: C[] = []
  for (let cores = from; cores <= to; cores++) cases.push(...judge.cases(cores))
  const shares = sharesOf(cases)
  const outcomes = cases.map(one => outcomesOf(judge, one, ratio))
  /** Those that failed last come first: they fail soonest. */
  const order = cases.map((_, index) => index)
  const failing = (links: readonly Link[]): number | undefined => {
    for (const [place, index] of order.entries()) {
      if (outcomes[index]?.(links).failure === undefined) continue
      order.splice(place, 1)
      order.unshift(index)
      return index
    }
    return undefined
  }
  const described = (links: readonly Link[]): Found => {
    const verdicts = outcomes.map(outcome => outcome(links))
    return {
      links,
      clockMhz: sum(verdicts.map(({ clockMhz }, index) => clockMhz * (shares[index] as number))),
      alternating: verdicts.filter(({ alternates }) => alternates).length,
    }
  }
  const confirmed = function* ({ links }: Bands): Generator<undefined, boolean> {
    yield
    return (yield* judge.confirm(cases, ratio, links, 'row')) === undefined
  }

  if (failing([]) === undefined && (yield* confirmed({ links: [] }))) return { links: [] }
  const grid = most > 0 ? gridOf(judge, cases, ratio) : []
  const search: Search = {
    grid,
    most,
    upperMhz: upperMhz(judge, cases, shares, outcomes, ratio),
    failing,
    settledC: (index, links) => outcomes[index]?.(links).settledC ?? 0,
    described,
    confirmed,
  }
  const quick = yield* searchedSets(search, true)
  // What was left out counted on the best set at first sight; where that one does not hold, all are looked at.
  const isBestConfirmed = quick.every(({ found, bestMhz }) => found.length === 0 || bestMhz === found[0]?.clockMhz)
  const bySize = isBestConfirmed ? quick : yield* searchedSets(search, false)
  const chosen = yield* chosenOf(bySize)
  return chosen ?? { failure: yield* mostGivenBack(judge, cases, ratio, grid, outcomes) }
}

interface Search {
  readonly grid: readonly Link[]
  readonly most: number
  /** What no mean clock can be above. */
  readonly upperMhz: number
  /** The first case that is not sound under a set. */
  failing(links: readonly Link[]): number | undefined
  settledC(index: number, links: readonly Link[]): number
  described(links: readonly Link[]): Found
  confirmed(bands: Bands): Generator<undefined, boolean>
}

const keyOf = (links: readonly Link[]): string => links.map(({ aboveC, drop }) => `${aboveC}/${drop}`).join(' ')

/**
 * The sound sets by size.
 * @param isQuick leaves out what cannot be chosen: a row that acts earlier gives back for longer, so once a set is too far
 * below the best, its last row is not tried at lower thresholds
 */
function* searchedSets(search: Search, isQuick: boolean): Generator<undefined, Sized[]> {
  const { grid, most, failing, settledC, described, confirmed } = search
  const bySize: Sized[] = []
  const soundKeys = new Set<string>()
  let bestMhz = Number.NEGATIVE_INFINITY
  let open: (readonly Link[])[] = [[]]
  let looked = 0
  for (let size = 1; size <= most && open.length > 0; size++) {
    const [sound, next]: [Found[], (readonly Link[])[]] = [[], []]
    for (const prefix of open) {
      const last = prefix.at(-1)
      /** Drops that are not worth a lower threshold. */
      const spent = new Set<number>()
      for (const link of grid) {
        if (last !== undefined && (link.aboveC <= last.aboveC || link.drop <= last.drop)) continue
        if (spent.has(link.drop)) continue
        const links = [...prefix, link]
        if (size > 1 && isWider(links, soundKeys)) continue
        if (++looked % 16 === 0) yield
        const index = failing(links)
        if (index === undefined) {
          const found = described(links)
          sound.push(found)
          bestMhz = Math.max(bestMhz, found.clockMhz)
          if (isQuick && found.clockMhz < bestMhz - WORTH_MHZ - CLOSE_MHZ) spent.add(link.drop)
        }
        // What came to rest below the next threshold stays as it is, whatever is added.
        else if (settledC(index, links) >= link.aboveC + 1 && size < most) next.push(links)
      }
    }
    for (const { links } of sound) soundKeys.add(keyOf(links))
    bySize.push(yield* sizedOf(sound, confirmed))
    // No row more could be worth it.
    if ((bySize.at(-1)?.bestMhz ?? 0) >= search.upperMhz - WORTH_MHZ) break
    open = next
  }
  return bySize
}

/** Whether one of its rows can be left out. */
function isWider(links: readonly Link[], sound: ReadonlySet<string>): boolean {
  const subsets = 2 ** links.length - 1
  for (let subset = 1; subset < subsets; subset++) {
    if (sound.has(keyOf(links.filter((_, index) => (subset >> index) & 1)))) return true
  }
  return false
}

/**
 * What the mean clock cannot be above: a band gives back, so a case that rests below the die limit without any runs no
 * faster with one.
 */
function upperMhz<C extends Case>(
  judge: Judge<C>,
  cases: readonly C[],
  shares: readonly number[],
  outcomes: readonly Outcomes[],
  ratio: number,
): number {
  return sum(
    cases.map((one, index) => {
      const share = shares[index] as number
      if (share === 0) return 0
      const { clockMhz, passed } = (outcomes[index] as Outcomes)([])
      return share * (passed ? judge.fastestMhz(one, ratio) : clockMhz)
    }),
  )
}

/** The sound sets of one size, the fastest first, and the clock of the fastest that is confirmed. */
interface Sized {
  readonly found: readonly Found[]
  readonly bestMhz: number
  readonly holds: (one: Found) => Generator<undefined, boolean>
}

function* sizedOf(
  found: readonly Found[],
  confirmed: (bands: Bands) => Generator<undefined, boolean>,
): Generator<undefined, Sized> {
  const known = new Map<Found, boolean>()
  const holds = function* (one: Found): Generator<undefined, boolean> {
    const before = known.get(one)
    if (before !== undefined) return before
    const answer = yield* confirmed(one)
    known.set(one, answer)
    return answer
  }
  const sorted = found.toSorted((a, b) => b.clockMhz - a.clockMhz || quieterFirst(a, b))
  for (const one of sorted) if (yield* holds(one)) return { found: sorted, bestMhz: one.clockMhz, holds }
  return { found: sorted, bestMhz: Number.NEGATIVE_INFINITY, holds }
}

/** The fewest rows within 25 MHz of the best clock, among what is confirmed. */
function* chosenOf(bySize: readonly Sized[]): Generator<undefined, Found | undefined> {
  const bestMhz = Math.max(...bySize.map(one => one.bestMhz))
  const fewest = bySize.find(one => one.bestMhz >= bestMhz - WORTH_MHZ && one.bestMhz > Number.NEGATIVE_INFINITY)
  if (fewest === undefined) return undefined
  const close = fewest.found.filter(one => one.clockMhz >= fewest.bestMhz - CLOSE_MHZ)
  for (const one of close.toSorted(quieterFirst)) if (yield* fewest.holds(one)) return one
  return undefined
}

/** What fails where the most is given back from the lowest threshold on, else without any band. */
function* mostGivenBack<C extends Case>(
  judge: Judge<C>,
  cases: readonly C[],
  ratio: number,
  grid: readonly Link[],
  outcomes: readonly Outcomes[],
): Generator<undefined, Failure> {
  const deepest = grid.at(-1)
  for (const links of deepest === undefined ? [[]] : [[deepest], []]) {
    for (const outcome of outcomes) {
      const { failure } = outcome(links)
      if (failure !== undefined) return failure()
    }
    const failure = yield* judge.confirm(cases, ratio, links, 'row')
    if (failure !== undefined) return failure
  }
  throw new Error('no set of bands serves, and nothing fails')
}
