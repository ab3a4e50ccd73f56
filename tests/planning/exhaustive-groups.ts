/**
 * The best steps of a part with two groups under at most one row of bands for each row of steps, by trying everything: slow
 * and simple. It shares nothing with the search itself but the judge.
 */
import type { GroupsJudge, Settings } from '../../server/planning/index.ts'
import type { Link, StepRow, Verdict } from '../../server/planning/types.ts'

type Case = GroupsJudge['cases'][number]
/** Of each group the ratio of each count. */
export type Ladders = readonly (readonly number[])[]

/** The ratio of each count of a group, none above that of fewer cores. */
export function ladders(ratios: readonly number[], cores: number): readonly (readonly number[])[] {
  let found: readonly (readonly number[])[] = [[]]
  for (let count = 0; count < cores; count++) {
    found = found.flatMap(ladder =>
      ratios.filter(ratio => ratio <= (ladder.at(-1) ?? Number.POSITIVE_INFINITY)).map(ratio => [...ladder, ratio]),
    )
  }
  return found
}

/** The rows that the ratios of the counts make. */
export function rowsOf(ladder: readonly number[]): readonly StepRow[] {
  const starts = ladder.flatMap((ratio, index) => (ratio === ladder[index - 1] ? [] : [index]))
  return starts.map((start, at) => ({
    from: start + 1,
    to: starts[at + 1] ?? ladder.length,
    ratio: ladder[start] as number,
  }))
}

/** What steps are worth: ratios times weights and active cores, counts without a weight telling equals apart. */
export function worthOf(judge: GroupsJudge, found: Ladders): number {
  let sum = 0
  for (const { counts, weight } of judge.cases) {
    for (const [group, count] of counts.entries())
      if (count > 0) sum += (weight + 1e-6) * count * (found[group]?.[count - 1] as number)
  }
  return sum
}

/** Every row of bands that a row of steps may have, and none. */
function linksFor(judge: GroupsJudge, group: number, ratio: number): readonly (Link | undefined)[] {
  const { ratios, ratioStep } = judge.groups[group] as GroupsJudge['groups'][number]
  const found: (Link | undefined)[] = [undefined]
  for (let aboveC = Math.ceil(judge.ceilingC) - 1; aboveC >= 25; aboveC--) {
    for (let step = 1; step <= 8; step++)
      if (ratio - step * ratioStep >= (ratios[0] as number) - 1e-9) found.push({ aboveC, drop: step * ratioStep })
  }
  return found
}

/** Whether steps are carried without bands: at each mix of counts, in one corner at least, by each load that decides there. */
function carrier(judge: GroupsJudge): (found: Ladders) => boolean {
  const points = new Map<string, Case[]>()
  for (const one of judge.cases) {
    const key = one.counts.join(' ')
    points.set(key, [...(points.get(key) ?? []), one])
  }
  const known = new Map<string, boolean>()
  return found => {
    for (const [point, all] of points) {
      const deciding = all.some(one => !one.yields) ? all.filter(one => !one.yields) : all.filter(one => one.standsIn)
      if (deciding.length === 0) continue
      const settings: Settings = (deciding[0] as Case).counts.map((count, group) =>
        count === 0 ? undefined : { ratio: found[group]?.[count - 1] as number, bands: [] },
      )
      const key = `${point} ${settings.map(one => one?.ratio ?? '').join(' ')}`
      let isCarried = known.get(key)
      if (isCarried === undefined) {
        isCarried = [...new Set(deciding.map(({ corner }) => corner))].some(corner =>
          deciding.every(one => {
            if (one.corner !== corner) return true
            const { failure, held } = judge.judge(one, settings)
            return failure === undefined && held === undefined
          }),
        )
        known.set(key, isCarried)
      }
      if (!isCarried) return false
    }
    return true
  }
}

/** A mix of counts at two ratios: whether all its cases are sound under two rows of bands, worked out when it is asked for. */
type Point = (linkA: number, linkB: number) => boolean

/** Whether some bands keep every case sound, at one row of bands for each row of steps at most. */
function bandsServe(judge: GroupsJudge): (found: Ladders) => boolean {
  const known = new Map<string, Point>()
  const none: readonly (Link | undefined)[] = [undefined]
  const pointOf = (
    cases: readonly Case[],
    counts: readonly number[],
    ratios: readonly (number | undefined)[],
    kind: string,
  ): Point => {
    const key = `${kind} ${counts.join(' ')} ${ratios.join(' ')}`
    const before = known.get(key)
    if (before !== undefined) return before
    const [first = none, second = none] = ratios.map((ratio, group) =>
      ratio === undefined ? none : linksFor(judge, group, ratio),
    )
    /** 0: not looked at, 1: sound, 2: not. */
    const looked = new Uint8Array(first.length * second.length)
    const order = cases.map(one => ({ one, verdicts: new Map<number, Verdict>() }))
    const verdictOf = ({ one, verdicts }: (typeof order)[number], linkA: number, linkB: number): Verdict => {
      const place = linkA * second.length + linkB
      const had = verdicts.get(place)
      if (had !== undefined) return had
      const links = [first[linkA], second[linkB]]
      // What rests below a threshold without that row is the same with it.
      const higher = (links[0]?.aboveC ?? -1) >= (links[1]?.aboveC ?? -1) ? 0 : 1
      const threshold = links[higher]?.aboveC
      if (threshold !== undefined) {
        const without = higher === 0 ? verdictOf({ one, verdicts }, 0, linkB) : verdictOf({ one, verdicts }, linkA, 0)
        if (without.settledC < threshold && without.settledC > Number.NEGATIVE_INFINITY) return without
      }
      const settings = links.map((link, group) => {
        const ratio = ratios[group]
        return ratio === undefined ? undefined : { ratio, bands: link === undefined ? [] : [link] }
      })
      const found = judge.judge(one, settings)
      // Only what may stand in for others is kept.
      if (linkA === 0 || linkB === 0) verdicts.set(place, found)
      return found
    }
    const point: Point = (linkA, linkB) => {
      const place = linkA * second.length + linkB
      if (looked[place] === 0) {
        const failing = order.findIndex(own => verdictOf(own, linkA, linkB).failure !== undefined)
        if (failing > 0) order.unshift(...order.splice(failing, 1))
        looked[place] = failing < 0 ? 1 : 2
      }
      return looked[place] === 1
    }
    known.set(key, point)
    return point
  }
  return found => {
    const rows = found.map(rowsOf)
    const [ofFirst = [], ofSecond = []] = rows
    const beyond = judge.beyond(rows)
    /** Of each pair of rows, -1 for an idle group, the mixes of counts within them. */
    const within = new Map<string, Point[]>()
    const points = new Map<
      string,
      { readonly counts: readonly number[]; readonly own: Case[]; readonly more: Case[] }
    >()
    for (const [list, isBeyond] of [
      [judge.cases, false],
      [beyond, true],
    ] as const) {
      for (const one of list) {
        const key = one.counts.join(' ')
        const point = points.get(key) ?? { counts: one.counts, own: [], more: [] }
        points.set(key, point)
        if (isBeyond) point.more.push(one)
        else point.own.push(one)
      }
    }
    const placeIn = (list: readonly StepRow[], count: number | undefined): number =>
      list.findIndex(({ from, to }) => count !== undefined && from <= count && count <= to)
    for (const { counts, own, more } of points.values()) {
      const ratios = counts.map((count, group) => (count === 0 ? undefined : (found[group]?.[count - 1] as number)))
      const key = `${placeIn(ofFirst, counts[0])} ${placeIn(ofSecond, counts[1])}`
      const list = within.get(key) ?? []
      within.set(key, list)
      for (const [kind, cases] of [
        ['own', own],
        ['more', more],
      ] as const) {
        if (cases.length === 0) continue
        list.push(pointOf(cases, counts, ratios, kind))
      }
    }
    const isSound = (a: number, linkA: number, b: number, linkB: number): boolean =>
      (within.get(`${a} ${b}`) ?? []).every(point => point(linkA, linkB))
    /** The links of each row that its group alone is sound with. */
    const alone = (list: readonly StepRow[], group: number): number[][] =>
      list.map(({ ratio }, place) =>
        linksFor(judge, group, ratio).flatMap((_, link) =>
          (group === 0 ? isSound(place, link, -1, 0) : isSound(-1, 0, place, link)) ? [link] : [],
        ),
      )
    const domains = [alone(ofFirst, 0), alone(ofSecond, 1)] as const
    /** Rows of the first group one after the other, each ruling out bands of the second. */
    const solve = (a: number, left: readonly (readonly number[])[]): boolean => {
      if (left.some(own => own.length === 0)) return false
      if (a === ofFirst.length) return true
      return (domains[0][a] as number[]).some(linkA =>
        solve(
          a + 1,
          left.map((own, b) => own.filter(linkB => isSound(a, linkA, b, linkB))),
        ),
      )
    }
    return solve(0, domains[1])
  }
}

/** The most that steps with bands are worth; undefined where there are none. */
export function mostWorthWithBands(judge: GroupsJudge, atLeast: number): number | undefined {
  const isCarried = carrier(judge)
  const serve = bandsServe(judge)
  const [first = [], second = []] = judge.groups.map(({ ratios, cores }) => ladders(ratios, cores))
  const all = first.flatMap(a => second.map(b => ({ found: [a, b], worth: worthOf(judge, [a, b]) })))
  all.sort((a, b) => b.worth - a.worth)
  for (const { found, worth } of all) {
    if (worth < atLeast) return undefined
    if (isCarried(found) && serve(found)) return worth
  }
  return undefined
}
