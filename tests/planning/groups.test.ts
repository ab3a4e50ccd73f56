/** Plans for parts with groups of cores: beside the best of all, and what holds of every one, on small benches drawn at random. */
import { describe, expect, it } from 'vitest'
import { planEdits } from '../../server/features/propose/edit.ts'
import { noProposalText, nothingAsked, proposeInSlices } from '../../server/features/propose/index.ts'
import { finished } from '../../server/model/slices.ts'
import { type GroupsJudge, type Plan, planGroups, type Settings } from '../../server/planning/index.ts'
import { applyEdits } from '../../server/service.ts'
import { benchCount, type Planned, plannedBench, plannedUri } from '../harness/planned-benches.ts'
import { groupsJudgeOf, plannedGroupsText } from '../harness/planned-groups.ts'
import { ladders, mostWorthWithBands, rowsOf, worthOf } from './exhaustive-groups.ts'

type Case = GroupsJudge['cases'][number]

const seeds = Array.from({ length: benchCount(6, 12) }, (_, index) => index)

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
  return judge.beyond(ladder.map(rowsOf)).every(one => {
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

/** Of each group the ratio of each count. */
function laddersOf(judge: GroupsJudge, { rows }: Plan): readonly (readonly number[])[] {
  return judge.groups.map(({ name, cores }) =>
    Array.from({ length: cores }, (_, index) => {
      const row = rows.find(one => one.group === name && one.from <= index + 1 && one.to >= index + 1)
      return row?.ratio as number
    }),
  )
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
      const ladder = laddersOf(judge, plan)
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

/** What takes a moment to plan takes a second to try in full. */
const bandedSeeds = Array.from({ length: benchCount(6, 30) }, (_, index) => index)

describe('steps of groups with bands', () => {
  it('are within 1 % of the best of all on 95 of 100 benches', { timeout: 30_000 * bandedSeeds.length }, async () => {
    const shares: number[] = []
    const wrong: number[] = []
    let nothing = 0
    for (const seed of bandedSeeds) {
      const judge = groupsJudgeOf(await plannedBench(plannedGroupsText(seed, 'smallest')), { bands: 1 })
      const plan = finished(planGroups(judge, { rows: undefined, bands: 1 }))
      if (plan.kind === 'none') {
        // Where there is any plan at all, one is found; to try that takes a hundred times as long.
        if (nothing++ < 2 && mostWorthWithBands(judge, 0) !== undefined) wrong.push(seed)
        continue
      }
      const own = worthOf(judge, laddersOf(judge, plan))
      const best = mostWorthWithBands(judge, own * (1 - 1e-9))
      if (best === undefined) wrong.push(seed)
      else shares.push(own / best)
      if (process.env.PLANNED_BENCHES !== undefined)
        process.stdout.write(`bench ${seed}: ${best === undefined ? 'not found' : (own / best).toFixed(4)}\n`)
    }
    const close = shares.filter(share => share >= 0.99)
    if (process.env.PLANNED_BENCHES !== undefined)
      process.stdout.write(`${close.length} of ${shares.length} within 1 %, least ${Math.min(...shares).toFixed(4)}\n`)
    expect(wrong).toEqual([])
    expect(shares.length).toBeGreaterThan(bandedSeeds.length / 3)
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
  /** What is proposed for a bench, asked for once. */
  const known = new Map<number, ReturnType<typeof proposalFor>>()
  const proposalFor = async (seed: number) => {
    const bench = await plannedBench(plannedGroupsText(seed))
    return { bench, ...proposed(bench) }
  }
  const knownProposal = (seed: number): ReturnType<typeof proposalFor> => {
    const found = known.get(seed) ?? proposalFor(seed)
    known.set(seed, found)
    return found
  }

  it.each(benches)('passes the checks, is written whole and is the same again: bench $seed', async ({ seed }) => {
    const { bench, plan, unmet } = await knownProposal(seed)
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
    const proposals = await Promise.all(benches.map(({ seed }) => knownProposal(seed)))
    const found = proposals.flatMap(({ plan }) => (plan.kind === 'plan' ? [plan] : []))
    expect(found.length).toBeGreaterThan(seeds.length / 3)
    expect(found.filter(({ rows }) => rows.some(({ bands }) => bands.length > 0)).length).toBeGreaterThan(0)
    for (const { rows } of found) expect(new Set(rows.map(({ group }) => group))).toEqual(new Set(['broad', 'small']))
  })
})

describe('the return of bands of groups', () => {
  /** What the cases under bands do with a return: whether all come back, and whether one alternates too fast. */
  function swings(judge: GroupsJudge, { rows }: Plan, returnK: number): { comeBack: boolean; isFast: boolean } {
    let [comeBack, isFast] = [true, false]
    for (const one of judge.cases) {
      const settings: Settings = one.counts.map((count, group) => {
        const { name } = judge.groups[group] ?? {}
        const row = rows.find(own => own.group === name && own.from <= count && count <= own.to)
        return row && { ratio: row.ratio, bands: row.bands }
      })
      if (settings.every(own => (own?.bands.length ?? 0) === 0)) continue
      const swing = judge.swing(one, settings, returnK)
      comeBack &&= swing.failure === undefined && !swing.latches
      isFast ||= swing.isFast
    }
    return { comeBack, isFast }
  }
  const planFor = async (seed: number) => {
    const judge = groupsJudgeOf(await plannedBench(plannedGroupsText(seed)), { bands: 1 })
    const plan = finished(planGroups(judge, { rows: undefined, bands: 1 }))
    if (plan.kind === 'none') throw new Error(plan.failure.words)
    return { judge, plan }
  }

  it('is the smallest with which no clock alternates too fast and every band is left again', async () => {
    const { judge, plan } = await planFor(13)
    expect(plan.isFast).toBe(false)
    expect(plan.returnK).toBeGreaterThan(0)
    expect(swings(judge, plan, plan.returnK)).toEqual({ comeBack: true, isFast: false })
    for (let returnK = 0; returnK < plan.returnK; returnK++) {
      const { comeBack, isFast } = swings(judge, plan, returnK)
      expect(comeBack && !isFast).toBe(false)
    }
  })

  it('is the widest that is left again where none keeps a clock from alternating too fast', async () => {
    const { judge, plan } = await planFor(11)
    expect(plan.isFast).toBe(true)
    for (let returnK = 0; returnK <= 5; returnK++) {
      const { comeBack, isFast } = swings(judge, plan, returnK)
      expect(comeBack && !isFast).toBe(false)
      if (returnK > plan.returnK) expect(comeBack).toBe(false)
    }
    expect(swings(judge, plan, plan.returnK).comeBack).toBe(true)
  })
})
