/** Proposes the steps and bands of a profile: the highest steps, and the fewest rows of bands, that hold everywhere. */
import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import { type Bench, benchOfGroup, type Corner, groupSettings, groupsOf, type Ladder } from '../../model/index.ts'
import { type Failure, type Judge, type NoPlan, type Plan, planGroups, planSteps } from '../../planning/index.ts'
import { doubtedOf, doubtedText } from '../../semantic/doubted.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type Expectation, expectationsOf } from '../../semantic/expectations.ts'
import { createRunsOverTime, overTimeSliceMs } from '../../semantic/over-time.ts'
import { predictAll } from '../../semantic/predict.ts'
import { unreadText, unreadWith } from '../../semantic/unread.ts'
import { listed } from '../../wording/counts.ts'
import { ratioText } from '../../wording/figures.ts'
import { brokenText, missingText } from '../../wording/missing.ts'
import { beyondPart } from '../beyond-part.ts'
import type { ProposeOptions } from './asked.ts'
import type { BenchCase } from './cases.ts'
import { chancesOf } from './chance.ts'
import { caseText, failureText } from './failure-words.ts'
import { lowestLadder, type Minded, ratiosOf } from './faults.ts'
import { createGroupsJudges } from './group-judge.ts'
import { createJudges } from './judge.ts'
import { isFollowed, keeping } from './margins.ts'

/** An expectation that no plan meets. */
export interface Unmet {
  readonly expectation: Expectation
  /** What comes of it with the plan, or why it cannot be judged. */
  readonly why: string
}

export interface Proposal {
  readonly profile: string
  readonly plan: Plan | NoPlan
  readonly unmet: readonly Unmet[]
  /** The profile as it would be; undefined where there is no plan. */
  readonly proposed: Evaluation | undefined
}

/** Whether an expectation of a profile is about what trials show. */
export function asksOfTrials(evaluation: Evaluation): boolean {
  return expectationsOf(evaluation, undefined).some(({ figure }) => figure === 'stable')
}

/** Why nothing can be proposed for a profile, in words that follow "because"; undefined where something may be. */
export function noProposalText(
  { profile, input }: Evaluation,
  options: ProposeOptions,
  evidence: PartEvidence | undefined,
): string | undefined {
  const broken = brokenText(profile.broken)
  if (broken !== undefined) return broken
  const lacks = input.missing.filter(({ kind, word }) => !(kind === 'profile' && word === 'steps') && kind !== 'load')
  if (lacks.length > 0) return listed([...new Set(lacks.map(missingText))])
  const bench = input.benchForSteps
  if (bench === undefined) return 'the bench is incomplete'
  const [unread] = unreadWith(profile)
  if (unread !== undefined) return `\`${unreadText(unread)}\` does not read`
  const [doubted] = doubtedOf(profile)
  if (doubted !== undefined) return `\`${doubtedText(doubted)}\` is far from what is usual`
  if (groupsOf(bench.part).some((_, index) => ratiosOf(benchOfGroup(bench, index)).length === 0))
    return 'the part has no ratio on the grid of its `ratio-step`'
  const names = new Set(profile.loads.map(({ name }) => name))
  const unknown = [...options.weights.keys(), ...options.yields].find(name => !names.has(name))
  if (unknown !== undefined) return `there is no load ${unknown} in its file or those that it uses`
  if (options.stable !== undefined && evidence === undefined)
    return `nothing was tried of part \`${profile.part?.name}\`, so there is nothing that --stable could go by`
  return undefined
}

/** The profile as it would be with other steps and bands. */
function withLadder(
  evaluation: Evaluation,
  bench: Bench,
  ladder: Partial<Bench['profile']>,
  corners: readonly Corner[] = evaluation.input.corners,
): Evaluation {
  const own = { ...bench, profile: { ...bench.profile, ...ladder } }
  const input = { ...evaluation.input, bench: own, benchForSteps: own, corners }
  return { profile: evaluation.profile, input, predictions: predictAll(input), overTime: createRunsOverTime() }
}

/**
 * The expectations under a plan that do not hold. Those over time were followed in the search itself, without a `return`:
 * with one they are followed again.
 */
function* notHolding(
  evaluation: Evaluation,
  evidence: PartEvidence | undefined,
  wasFollowed: boolean,
): Generator<undefined, readonly Expectation[]> {
  // What was followed in the search need not be; where anything else is asked for, all that is pending is made.
  while (expectationsOf(evaluation, evidence).some(({ pending }) => pending === true) && !wasFollowed) {
    evaluation.overTime.makeSome(overTimeSliceMs)
    yield
  }
  return expectationsOf(evaluation, evidence).filter(({ holds, pending }) => holds !== true && pending !== true)
}

function ladderOfPlan(bench: Bench, { rows, returnK }: Plan): Ladder {
  const of = (own: Plan['rows']): Pick<Ladder, 'steps' | 'bands' | 'returnK'> => ({
    steps: own.map(({ from, to, ratio }) => ({ fromCores: from, toCores: to, ratio })),
    bands: own.flatMap(({ from, to, bands }) => bands.map(link => ({ fromCores: from, toCores: to, ...link }))),
    returnK,
  })
  const groups = bench.part.groups?.map(({ name }, index) => ({
    ...groupSettings(bench.profile, index),
    ...of(rows.filter(({ group }) => group === name)),
  }))
  const [first] = groups ?? []
  if (groups === undefined || first === undefined) return of(rows)
  return { steps: first.steps, bands: first.bands, returnK, groups }
}

const isWorkExpectation = (evaluation: Evaluation, { load }: Expectation): boolean =>
  evaluation.input.loads.some(one => one.name === load && one.load.kind === 'work')

/**
 * The proposal for a profile that `noProposalText` has nothing against, a few milliseconds at a time.
 * @param evidence what trials of the part show
 * @param allowed codes of findings that the profile accepts
 */
export function* proposeInSlices(
  evaluation: Evaluation,
  options: ProposeOptions,
  evidence: PartEvidence | undefined,
  allowed: ReadonlySet<string>,
): Generator<undefined, Proposal> {
  const bench = evaluation.input.benchForSteps
  if (bench === undefined) throw new Error('the profile has no bench')
  const { cores, groups } = bench.part
  const lowest = ratiosOf(bench)[0] ?? bench.part.ratioLow
  const low = groups === undefined ? { steps: [{ fromCores: 1, toCores: cores, ratio: lowest }], bands: [] } : undefined
  const plain = withLadder(evaluation, bench, low ?? lowestLadder(bench))
  yield
  const chance = options.probability === undefined ? undefined : chancesOf(evaluation, bench, options.probability)
  const given = { evaluation, bench, options, evidence, allowed, chance }
  const counts = { rows: options.rows, bands: options.bands }
  const stated = expectationsOf(plain, evidence)
  const beyond = new Map(stated.map(one => [one.text, beyondPart(plain, bench, one)] as const))
  // What no steps could meet is not looked for.
  const within = stated.filter(one => beyond.get(one.text) === undefined)
  const all = within.filter(one => isWorkExpectation(plain, one) && !isFollowed(one, bench))
  const followed = within.filter(one => isFollowed(one, bench))
  const judges = groups === undefined ? createJudges(given) : undefined
  const grouped = groups === undefined ? undefined : createGroupsJudges(given)
  const plannedFor = function* (expectations: readonly Minded[]): Generator<undefined, Plan | NoPlan> {
    if (grouped !== undefined) return yield* planGroups(grouped(expectations), counts)
    if (judges === undefined) throw new Error('there is nobody to judge')
    return yield* planSteps(judges(expectations), counts)
  }
  let plan = yield* plannedFor(all)
  let minded: readonly Expectation[] = all
  const left: { readonly expectation: Expectation; readonly why: string }[] = []
  if (plan.kind === 'none' && all.length > 0) {
    plan = yield* plannedFor([])
    const kept: Expectation[] = []
    for (const expectation of plan.kind === 'none' ? [] : all) {
      const found = yield* plannedFor([...kept, expectation])
      if (found.kind === 'plan') {
        kept.push(expectation)
        plan = found
      } else {
        // What it fails by itself says more than what it fails together with others.
        const alone = kept.length === 0 ? found : yield* plannedFor([expectation])
        const isAlone = alone.kind === 'none'
        const { ratio, failure } = isAlone ? alone : found
        const others = isAlone ? [] : kept
        const stopped = judges && clockStopped(judges(others), expectation)
        const worst = stopped ?? `even ${failureText(ratio, failure)}`
        const why = `${isAlone ? '' : 'with the other expectations kept, '}${worst}`
        left.push({ expectation, why })
      }
    }
    minded = kept
  }
  const under = (found: Plan, corners?: readonly Corner[]): Evaluation =>
    withLadder(evaluation, bench, ladderOfPlan(bench, found), corners)
  let proposed = plan.kind === 'none' ? undefined : under(plan)
  let unkept: ReadonlyMap<Expectation, Failure | undefined> = new Map()
  if (plan.kind === 'plan' && followed.length > 0) {
    const planned = (margins: readonly Minded[]) => plannedFor([...minded, ...margins])
    const search = {
      evaluation,
      bench,
      evidence,
      followed,
      lowest: plain,
      planned,
      under,
      isBanded: options.bands > 0 && groups === undefined,
    }
    const kept = yield* keeping(search, plan)
    plan = kept.plan
    proposed = kept.proposed
    unkept = kept.unkept
  }
  const { name } = evaluation.profile.definition
  if (proposed === undefined) return { profile: name, plan, unmet: [], proposed }
  yield
  const wasFollowed = within.length === stated.length && left.length === 0 && plan.kind === 'plan' && plan.returnK === 0
  const unmet = (yield* notHolding(proposed, evidence, wasFollowed)).map(expectation => {
    const isSame = (one: Expectation): boolean => one.text === expectation.text
    const failure = [...unkept].find(([one]) => isSame(one))?.[1]
    const leftWhy = left.find(one => isSame(one.expectation))?.why
    const other = failure === undefined ? 'none of the steps and bands tried keeps it' : failureWords(failure)
    const why =
      beyond.get(expectation.text) ?? leftWhy ?? (failure === undefined ? (expectation.undecided ?? other) : other)
    return { expectation, why }
  })
  return { profile: name, plan, unmet, proposed }
}

/**
 * What stops the lowest ratio that is as fast as a clock that should be held: a ratio below it says nothing of that. Undefined
 * where nothing stops it, and where no clock is asked for.
 */
function clockStopped(judge: Judge<BenchCase>, { figure, compare, load, target }: Minded): string | undefined {
  if (figure !== 'clock' || compare !== '>=') return undefined
  for (let cores = judge.cores; cores >= 1; cores--) {
    for (const one of judge.cases(cores)) {
      if (one.name !== load) continue
      const ratio = judge.ratios.find(each => judge.fastestMhz(one, each) >= target.value * 1000 * (1 - 1e-6))
      if (ratio === undefined) continue
      const { failure, held } = judge.judge(one, ratio, [])
      const stops = failure ?? held
      if (stops !== undefined) return `it takes ${ratioText(ratio)}, and ${failureText(ratio, stops())}`
    }
  }
  return undefined
}

function failureWords(failure: Failure): string {
  return `to keep it, one step ${failure.words}${caseText(failure)}`
}
