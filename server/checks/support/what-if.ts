/** The way out of a finding, found by trying it: another step, another limit, another voltage. */

import type { CountRange } from '../../../grammar/values.ts'
import { firstServing } from '../../model/first-serving.ts'
import {
  type Bench,
  type CoreVoltage,
  type GroupSettings,
  groupSettings,
  type Limits,
  partOfGroup,
  ratioStepCount,
  type SettledState,
  settleState,
  withGroupSettings,
} from '../../model/index.ts'
import { counts, quantity } from '../../semantic/definitions.ts'
import type { EnvelopePoint } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { groupViews } from '../../semantic/group-view.ts'
import { type ResolvedProfile, type Sourced, tableRows } from '../../semantic/profile.ts'
import { inUnit } from '../../wording/entered.ts'
import { powerText, ratioText } from '../../wording/figures.ts'
import type { Fix } from '../types.ts'
import type { RowGroup } from './physics-rows.ts'

export function withLimits(bench: Bench, limits: Limits): Bench {
  return { ...bench, profile: { ...bench.profile, limits: { ...bench.profile.limits, ...limits } } }
}

export function withVoltage(bench: Bench, voltage: CoreVoltage): Bench {
  return { ...bench, profile: { ...bench.profile, voltage } }
}

/** The bench with another ratio in the step row that covers these core counts, of every group that takes the row. */
function withStep({ profile }: Evaluation, bench: Bench, row: Sourced, cores: CountRange, ratio: number): Bench {
  const stepped = ({ steps }: Pick<GroupSettings, 'steps'>): Pick<GroupSettings, 'steps'> => ({
    steps: [{ fromCores: cores.from, toCores: cores.to, ratio }, ...steps],
  })
  return groupsWith(profile, row).reduce(
    (changed, index) => withGroupSettings(changed, index, stepped(groupSettings(changed.profile, index))),
    bench,
  )
}

/** Places of the groups whose steps a row is one of; of a plain part it is that of all cores. */
function groupsWith(profile: ResolvedProfile, row: Sourced): readonly number[] {
  return groupViews(profile).flatMap((view, index) =>
    tableRows(view, 'steps').some(({ match }) => match === row.match) ? [index] : [],
  )
}

/** Points tried again after a first answer; more would cost more than the answer is worth while typing. */
const pointsVerified = 16
/** A limit brings whatever it holds back to the same power, so that few points tell as much as many. */
const limitedVerified = 6

/** What a point settles at on another bench. */
export function settleAgain(bench: Bench, point: EnvelopePoint): SettledState | undefined {
  return settleState(bench, point.load, point.corner) ?? undefined
}

interface StepAnswer {
  readonly ratio: number
  /** What the worst point settles at then. */
  readonly settled: SettledState
}

/** The highest ratio of the group's step row, in ratio-steps down from its own, at which every point of it holds. */
function stepThatHolds(
  evaluation: Evaluation,
  group: RowGroup,
  holds: (settled: SettledState) => boolean,
): StepAnswer | undefined {
  const { bench } = evaluation.input
  const { row, worst, bad } = group
  const covered = row && counts(row.match, 'cores')
  const ratio = row && quantity(row.match, 'ratio')?.value
  if (bench === undefined || row === undefined || covered === undefined || ratio === undefined) return undefined
  const part = partOfGroup(bench.part, groupsWith(evaluation.profile, row)[0] ?? 0)
  const tryStep = (steps: number, point: EnvelopePoint): SettledState | undefined => {
    const lower = ratio - steps * part.ratioStep
    return settleAgain(withStep(evaluation, bench, row, covered, lower), point)
  }
  const isFine = (settled: SettledState | undefined): boolean => settled !== undefined && holds(settled)
  const most = Math.floor(ratioStepCount(part, ratio))
  if (most < 1 || !isFine(tryStep(most, worst))) return undefined
  let high = firstServing(0, most, steps => isFine(tryStep(steps, worst)))
  const others = bad.slice(0, pointsVerified)
  while (high <= most && !others.every(point => isFine(tryStep(high, point)))) high++
  const settled = high <= most ? tryStep(high, worst) : undefined
  return settled === undefined ? undefined : { ratio: ratio - high * part.ratioStep, settled }
}

/** A fix that lowers a step row which this profile states itself. */
export function lowerStep({ profile }: Evaluation, row: Sourced | undefined, ratio: number): readonly Fix[] {
  const written = row && quantity(row.match, 'ratio')
  if (row === undefined || written === undefined || row.definition !== profile.definition) return []
  const { chunk } = row.definition
  const decimals = Number.isInteger(ratio)
    ? 0
    : Math.min(3, String(Number(ratio.toFixed(3))).split('.')[1]?.length ?? 0)
  const text = inUnit(ratio, written.unit, decimals)
  return [{ title: `Lower this step to ${text}`, edits: [{ chunk, start: written.start, end: written.end, text }] }]
}

/** The sentence and the fix for a finding that a lower step fixes. */
export function stepWayOut(
  evaluation: Evaluation,
  group: RowGroup,
  holds: (settled: SettledState) => boolean,
): { readonly words: string; readonly fixes: readonly Fix[] } {
  const answer = stepThatHolds(evaluation, group, holds)
  if (answer === undefined) return { words: '', fixes: [] }
  const before = group.worst.settled.powerW
  const after = answer.settled.powerW
  const less = before !== null && after !== null && before > after ? `, ${powerText(before - after)} less,` : ''
  return {
    words: ` A step of ${ratioText(answer.ratio)}${less} would hold.`,
    fixes: lowerStep(evaluation, group.row, answer.ratio),
  }
}

/** The highest whole `sustained-power` in W under which none of these points is over; undefined where none serves. */
export function sustainedThatHolds(
  { input }: Evaluation,
  points: readonly EnvelopePoint[],
  fromW: number,
  overW: (settled: SettledState) => number,
): number | undefined {
  const { bench } = input
  if (bench === undefined) return undefined
  let sustainedPowerW = Math.floor(fromW + 1e-6)
  const tried = [...points].sort((a, b) => (b.settled.powerW ?? 0) - (a.settled.powerW ?? 0)).slice(0, limitedVerified)
  for (let round = 0; round < 12 && sustainedPowerW > 0; round++) {
    const other = withLimits(bench, { sustainedPowerW })
    let most = Number.NEGATIVE_INFINITY
    for (const point of tried) {
      const settled = settleAgain(other, point)
      if (settled === undefined || settled.powerW === null || settled.notes.sustainedOver) return undefined
      most = Math.max(most, overW(settled))
    }
    if (most <= 1e-6) return sustainedPowerW
    sustainedPowerW -= Math.max(1, Math.ceil(most))
  }
  return undefined
}
