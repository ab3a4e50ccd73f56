/** Plans for parts with groups of cores: beside the best of all, and what holds of every one, on small benches drawn at random. */
import { describe, expect, it } from 'vitest'
import { planEdits } from '../../server/features/propose/edit.ts'
import { noProposalText, nothingAsked, proposeInSlices } from '../../server/features/propose/index.ts'
import { finished } from '../../server/model/slices.ts'
import { type GroupsJudge, planGroups, type Settings } from '../../server/planning/index.ts'
import { applyEdits } from '../../server/service.ts'
import { benchCount, type Planned, plannedBench, plannedUri } from '../harness/planned-benches.ts'
import { groupsJudgeOf, plannedGroupsText } from '../harness/planned-groups.ts'

type Case = GroupsJudge['cases'][number]

const seeds = Array.from({ length: benchCount(6, 12) }, (_, index) => index)

/** The ratio of each count of a group, none above that of fewer cores. */
function ladders(ratios: readonly number[], cores: number): readonly (readonly number[])[] {
  let found: readonly (readonly number[])[] = [[]]
  for (let count = 0; count < cores; count++) {
    found = found.flatMap(ladder =>
      ratios.filter(ratio => ratio <= (ladder.at(-1) ?? Number.POSITIVE_INFINITY)).map(ratio => [...ladder, ratio]),
    )
  }
  return found
}

/** The weighted core-clock of steps without bands; undefined where a case is not sound, or a declared load does not run its step. */
function worth(
  judge: GroupsJudge,
  ladder: readonly (readonly number[])[],
  known: Map<string, number>,
): number | undefined {
  let sum = 0
  for (const [index, one] of judge.cases.entries()) {
    const settings: Settings = one.counts.map((count, group) =>
      count === 0 ? undefined : { ratio: ladder[group]?.[count - 1] as number, bands: [] },
    )
    const key = `${index} ${settings.map(setting => setting?.ratio ?? '').join(' ')}`
    let found = known.get(key)
    if (found === undefined) {
      found = worthOfCase(judge, one, settings)
      known.set(key, found)
    }
    if (Number.isNaN(found)) return undefined
    sum += found
  }
  return sum
}

function worthOfCase(judge: GroupsJudge, one: Case, settings: Settings): number {
  const { failure, held, clockMhz } = judge.judge(one, settings)
  const isAlone = one.counts.filter(count => count > 0).length === 1
  const isAsked = !one.yields || (one.standsIn && isAlone && !hasDeclared(judge, one))
  if (failure !== undefined || (isAsked && held !== undefined)) return Number.NaN
  return one.weight * one.cores * clockMhz
}

const hasDeclared = (judge: GroupsJudge, one: Case): boolean =>
  judge.cases.some(other => !other.yields && other.counts.join(' ') === one.counts.join(' '))

/** Whether the cases that the checks look at as well are sound. */
function passesBeyond(judge: GroupsJudge, ladder: readonly (readonly number[])[]): boolean {
  const steps = ladder.map(ratios => {
    const starts = ratios.flatMap((ratio, index) => (ratio === ratios[index - 1] ? [] : [index]))
    return starts.map((start, at) => {
      return { from: start + 1, to: starts[at + 1] ?? ratios.length, ratio: ratios[start] as number }
    })
  })
  return judge.beyond(steps).every(one => {
    const settings = one.counts.map((count, group) =>
      count === 0 ? undefined : { ratio: ladder[group]?.[count - 1] as number, bands: [] },
    )
    return judge.judge(one, settings).failure === undefined
  })
}

/** The most that any steps are worth, by trying them all. */
function mostWorth(judge: GroupsJudge, known: Map<string, number>): number | undefined {
  let best: number | undefined
  const [first = [], second = []] = judge.groups.map(({ ratios, cores }) => ladders(ratios, cores))
  for (const a of first) {
    for (const b of second) {
      const found = worth(judge, [a, b], known)
      if (found !== undefined && (best === undefined || found > best) && passesBeyond(judge, [a, b])) best = found
    }
  }
  return best
}

describe('steps of groups without bands', () => {
  it('are within 1 % of the best of all on 95 of 100 benches', async () => {
    const shares: number[] = []
    const wrong: number[] = []
    for (const seed of seeds) {
      const judge = groupsJudgeOf(await plannedBench(plannedGroupsText(seed)), { bands: 0 })
      const known = new Map<string, number>()
      const best = mostWorth(judge, known)
      const plan = finished(planGroups(judge, { rows: undefined, bands: 0 }))
      if (plan.kind === 'none' || best === undefined) {
        // Where there is any plan at all, one is found.
        if ((plan.kind === 'none') !== (best === undefined)) wrong.push(seed)
        continue
      }
      const ladder = judge.groups.map(({ name, cores }) =>
        Array.from({ length: cores }, (_, index) => {
          const row = plan.rows.find(one => one.group === name && one.from <= index + 1 && one.to >= index + 1)
          return row?.ratio as number
        }),
      )
      const own = worth(judge, ladder, known)
      if (own === undefined) wrong.push(seed)
      else shares.push(best === 0 ? 1 : own / best)
    }
    const close = shares.filter(share => share >= 0.99)
    if (process.env.PLANNED_BENCHES !== undefined)
      process.stdout.write(`${close.length} of ${shares.length} within 1 %, least ${Math.min(...shares).toFixed(4)}\n`)
    expect(wrong).toEqual([])
    expect(shares.length).toBeGreaterThan(seeds.length / 3)
    expect(close.length / shares.length).toBeGreaterThanOrEqual(0.95)
  })
})

const proposed = ({ evaluation }: Planned) => {
  expect(noProposalText(evaluation, nothingAsked, undefined)).toBeUndefined()
  return finished(proposeInSlices(evaluation, nothingAsked, undefined, new Set()))
}

const serious = async (text: string): Promise<readonly string[]> => {
  const { service } = await plannedBench(text)
  return service
    .findings(plannedUri)
    .filter(({ finding }) => finding.severity === 'error' || finding.severity === 'warning')
    .map(({ finding }) => `${finding.code} ${finding.message}`)
}

describe('a proposal for a part with groups', () => {
  const benches = seeds.map(seed => ({ seed }))

  it.each(benches)('passes the checks, is written whole and is the same again: bench $seed', async ({ seed }) => {
    const bench = await plannedBench(plannedGroupsText(seed))
    const { plan, unmet } = proposed(bench)
    if (plan.kind === 'none') {
      expect(plan.failure.words).not.toBe('')
      return
    }
    const document = bench.service.workspace.document(plannedUri)
    if (document === undefined) throw new Error('the bench is not loaded')
    const text = applyEdits(bench.text, planEdits(document, bench.evaluation.profile, plan))
    const judge = groupsJudgeOf(bench)
    const lowest = judge.groups.map(
      ({ name, cores, ratios }) => `  steps ${name} { 1 to ${cores} cores ${ratios[0]}x }\n`,
    )
    const usual = new Set(
      (await serious(bench.text.replace(/\}\n$/, `${lowest.join('')}}\n`))).map(one => one.split(' ')[0]),
    )
    const own = (await serious(text)).filter(
      one => !usual.has(one.split(' ')[0]) && !(unmet.length > 0 && one.startsWith('expect-')),
    )
    expect(own).toEqual([])
    const again = await plannedBench(text)
    expect(proposed(again).plan).toEqual(plan)
    expect(proposed(bench).plan).toEqual(plan)
  })

  it('has bands on some, and rows of both groups', async () => {
    const plans: ReturnType<typeof proposed>['plan'][] = []
    for (const { seed } of benches) plans.push(proposed(await plannedBench(plannedGroupsText(seed))).plan)
    const found = plans.flatMap(plan => (plan.kind === 'plan' ? [plan] : []))
    expect(found.length).toBeGreaterThan(seeds.length / 3)
    expect(found.filter(({ rows }) => rows.some(({ bands }) => bands.length > 0)).length).toBeGreaterThan(0)
    for (const { rows } of found) expect(new Set(rows.map(({ group }) => group))).toEqual(new Set(['broad', 'small']))
  })
})
