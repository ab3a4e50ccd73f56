/** Cases with several groups of cores at work, and the search's view of one group with the others idle. */
import type { Case, Failure, Judge, Link, StepRow, Swing, Verdict } from './types.ts'

/** A load with so many cores of each group busy, in a corner; `cores` is all of them. */
export interface MixedCase extends Case {
  readonly counts: readonly number[]
}

/** What a group with busy cores runs. */
interface Setting {
  readonly ratio: number
  readonly bands: readonly Link[]
}

/** By group, in the part's order; undefined where the group is idle. */
export type Settings = readonly (Setting | undefined)[]

/** The rows of each group. */
export type GroupSteps = readonly (readonly StepRow[])[]

/** Predicts and judges cases of a part with groups. */
export interface GroupsJudge<C extends MixedCase = MixedCase> {
  readonly groups: readonly (Pick<Judge, 'cores' | 'ratios' | 'ratioStep'> & { readonly name: string })[]
  readonly ceilingC: number
  readonly cases: readonly C[]
  /** What the checks look at as well: loads at counts that they do not declare, where rows begin and end. */
  beyond(steps: GroupSteps): readonly C[]
  judge(one: C, settings: Settings): Verdict
  /** What takes long to know of a case that is sound at first sight; undefined where it is sound after all. */
  confirm(one: C, settings: Settings): Generator<undefined, Failure | undefined>
  /** The mean clock of the busy cores before anything is given back but what vector loads give back, in MHz. */
  fastestMhz(one: C, settings: Settings): number
  /** What the case draws without bands, in W; undefined where nothing is steady. */
  powerW(one: C, settings: Settings): number | undefined
  /** What the case does with a `return` of all bands, in K. */
  swing(one: C, settings: Settings, returnK: number): Swing
}

export const atRow = ({ from, to }: StepRow, count: number): boolean => count >= from && count <= to

export function rowAt(rows: readonly StepRow[], count: number): StepRow {
  const found = rows.find(row => atRow(row, count))
  if (found === undefined) throw new Error(`no step covers ${count} cores`)
  return found
}

/** What each busy group runs at such counts. @param bands of each row of each group; none where left out */
export function settingsFor(
  steps: GroupSteps,
  bands: readonly (readonly (readonly Link[])[])[] | undefined,
  counts: readonly number[],
): Settings {
  return counts.map((count, group) => {
    if (count === 0) return undefined
    const rows = steps[group] as readonly StepRow[]
    const row = rowAt(rows, count)
    return { ratio: row.ratio, bands: bands?.[group]?.[rows.indexOf(row)] ?? [] }
  })
}

/** One group with the others idle, as a part of its own. */
export function viewOf<C extends MixedCase>(judge: GroupsJudge<C>, group: number): Judge<C> {
  const isAlone = ({ counts }: C): boolean => counts.every((count, index) => index === group || count === 0)
  const others = (ratio: number, bands: readonly Link[]): Settings =>
    judge.groups.map((_, index) => (index === group ? { ratio, bands } : undefined))
  return viewWith(judge, group, judge.cases.filter(isAlone), (_, ratio, bands) => others(ratio, bands))
}

/** A group's rows as those of a part of its own, under cases that may keep others busy as well. */
export function viewWith<C extends MixedCase>(
  judge: GroupsJudge<C>,
  group: number,
  cases: readonly C[],
  settingsAt: (one: C, ratio: number, bands: readonly Link[]) => Settings,
): Judge<C> {
  const { cores, ratios, ratioStep } = judge.groups[group] as GroupsJudge['groups'][number]
  return {
    cores,
    ratios,
    ratioStep,
    ceilingC: judge.ceilingC,
    cases: count => cases.filter(({ counts }) => counts[group] === count),
    judge: (one, ratio, bands) => judge.judge(one, settingsAt(one, ratio, bands)),
    fastestMhz: (one, ratio) => judge.fastestMhz(one, settingsAt(one, ratio, [])),
    *confirm(all, ratio, bands) {
      for (const one of all) {
        const failure = yield* judge.confirm(one, settingsAt(one, ratio, bands))
        if (failure !== undefined) return failure
      }
      return undefined
    },
    swing: () => ({ failure: undefined, latches: false, isFast: false }),
  }
}
