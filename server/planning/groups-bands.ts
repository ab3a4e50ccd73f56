/**
 * The bands of a part with groups: each row's own with the others idle, then more where several at work ask for it, and in
 * the end none that can be left out.
 */
import { bandsFor } from './bands.ts'
import {
  type GroupSteps,
  type GroupsJudge,
  type MixedCase,
  rowAt,
  settingsFor,
  viewOf,
  viewWith,
} from './groups-view.ts'
import type { Failure, Link, StepRow } from './types.ts'

type Bands = readonly (readonly (readonly Link[])[])[]

interface Sound {
  readonly bands: Bands
}

/** A case for which no bands of its rows serve. */
interface Unsound<C extends MixedCase> {
  readonly unsound: C
  readonly failure: Failure
}

/** The bands of each row of each group with which every case is sound. */
export function* groupBands<C extends MixedCase>(
  judge: GroupsJudge<C>,
  steps: GroupSteps,
  most: number,
): Generator<undefined, Sound | Unsound<C>> {
  let bands: Bands = steps.map(rows => rows.map(() => []))
  const placeOf = (one: C, group: number): number =>
    (steps[group] as readonly StepRow[]).indexOf(rowAt(steps[group] as readonly StepRow[], one.counts[group] as number))
  const put = (at: Bands, group: number, place: number, links: readonly Link[]): Bands =>
    at.map((rows, index) => (index === group ? rows.map((own, row) => (row === place ? links : own)) : rows))
  const failureOf = (one: C, at: Bands) => judge.judge(one, settingsFor(steps, at, one.counts)).failure
  const whyUnsound = function* (one: C, at: Bands): Generator<undefined, Failure | undefined> {
    return failureOf(one, at)?.() ?? (yield* judge.confirm(one, settingsFor(steps, at, one.counts)))
  }
  /** What is known at once comes before what takes long. */
  const firstUnsound = function* (among: readonly C[], at: Bands): Generator<undefined, C | undefined> {
    const found = among.find(one => failureOf(one, at) !== undefined)
    if (found !== undefined) return found
    for (const one of among)
      if ((yield* judge.confirm(one, settingsFor(steps, at, one.counts))) !== undefined) return one
    return undefined
  }
  for (const [group, rows] of steps.entries()) {
    const view = viewOf(judge, group)
    for (const [place, { from, to, ratio }] of rows.entries()) {
      const own = yield* bandsFor(view, from, to, ratio, most)
      if ('failure' in own) return { unsound: blamed(judge, own.failure, group, to), failure: own.failure }
      bands = put(bands, group, place, own.links)
    }
  }
  const beyond = judge.beyond(steps)
  const all = [...judge.cases, ...beyond]
  const mixed = [...judge.cases.filter(({ counts }) => counts.filter(count => count > 0).length > 1), ...beyond]
  const busyIn = ({ counts }: C): number[] => counts.flatMap((count, group) => (count > 0 ? [group] : []))
  const clockOf = (at: Bands, cases: readonly C[]): number =>
    cases.reduce((sum, one) => {
      const share = one.weight > 0 ? one.weight : 1e-6
      return sum + share * judge.judge(one, settingsFor(steps, at, one.counts)).clockMhz
    }, 0)
  /** The bands of one row of each of these groups, the same for all of them, with which a case and those that were sound are. */
  const served = function* (one: C, groups: readonly number[]): Generator<undefined, Bands | undefined> {
    const [lead = 0] = groups
    const places = one.counts.map((count, group) => (count > 0 ? placeOf(one, group) : -1))
    const touches = (other: C): boolean =>
      groups.some(group => (other.counts[group] as number) > 0 && placeOf(other, group) === places[group])
    const isLike = (other: C): boolean =>
      busyIn(one).every(group => (other.counts[group] as number) > 0 && placeOf(other, group) === places[group])
    const cases = all.filter(other => touches(other) && (isLike(other) || failureOf(other, bands) === undefined))
    const row = steps[lead]?.[places[lead] as number] as StepRow
    const withLinks = (links: readonly Link[]): Bands =>
      groups.reduce((at, group) => put(at, group, places[group] as number, links), bands)
    // Every case is looked at by the lead's row, whichever of its counts it has.
    const view = viewWith(judge, lead, [], (other, ratio, links) => {
      const lower = row.ratio - ratio
      const settings = settingsFor(steps, withLinks(links), other.counts)
      return settings.map((own, group) => {
        const isMoved = own !== undefined && groups.includes(group) && lower !== 0
        const least = judge.groups[group]?.ratios[0] ?? 0
        return isMoved ? { ...own, ratio: Math.max(least, own.ratio - lower) } : own
      })
    })
    const whole = { ...view, cases: (count: number) => (count === row.from ? cases : []) }
    const found = yield* bandsFor(whole, row.from, row.from, row.ratio, most)
    return 'failure' in found ? undefined : withLinks(found.links)
  }
  // Each round settles a case for good, or ends.
  for (;;) {
    yield
    const one = yield* firstUnsound(mixed, bands)
    if (one === undefined) break
    const busy = busyIn(one)
    let best: { readonly bands: Bands; readonly clockMhz: number } | undefined
    for (const group of busy) {
      const found = yield* served(one, [group])
      if (found === undefined) continue
      const clockMhz = clockOf(found, judge.cases)
      if (best === undefined || clockMhz > best.clockMhz) best = { bands: found, clockMhz }
    }
    const found = best?.bands ?? (yield* served(one, busy))
    if (found === undefined) {
      const failure = yield* whyUnsound(one, bands)
      if (failure === undefined) throw new Error('a case is sound and was not')
      return { unsound: one, failure }
    }
    bands = found
  }
  return { bands: yield* thinned(bands) }

  /** Leaves out every row of bands without which all cases are still sound. */
  function* thinned(whole: Bands): Generator<undefined, Bands> {
    let left = whole
    for (const [group, rows] of whole.entries()) {
      for (const [place, links] of rows.entries()) {
        for (const link of links) {
          const fewer = (left[group]?.[place] ?? []).filter(one => one !== link)
          const tried = put(left, group, place, fewer)
          yield
          const row = steps[group]?.[place] as StepRow
          const touched = all.filter(({ counts }) => {
            const count = counts[group] as number
            return count >= row.from && count <= row.to
          })
          if ((yield* firstUnsound(touched, tried)) === undefined) left = tried
        }
      }
    }
    return left
  }
}

/** A case of a group alone that a failure is about. */
function blamed<C extends MixedCase>(judge: GroupsJudge<C>, failure: Failure, group: number, to: number): C {
  const alone = judge.cases.filter(({ counts }) => counts.every((count, index) => index === group || count === 0))
  const found =
    alone.find(({ counts }) => counts[group] === failure.cores) ?? alone.find(one => one.counts[group] === to)
  if (found === undefined) throw new Error('a group without a case')
  return found
}
