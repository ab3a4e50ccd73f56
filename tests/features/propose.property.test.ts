/** What holds of every proposal, on small benches drawn at random. */
import { describe, expect, it } from 'vitest'
import { planEdits } from '../../server/features/propose/edit.ts'
import { noProposalText, nothingAsked, proposeInSlices } from '../../server/features/propose/index.ts'
import { finished } from '../../server/model/slices.ts'
import type { Plan } from '../../server/planning/index.ts'
import { applyEdits } from '../../server/service.ts'
import { benchCount, judgeOf, type Planned, plannedBench, plannedText, plannedUri } from '../harness/planned-benches.ts'
import { bandsOf, isCarried } from '../planning/exhaustive.ts'

const seeds = Array.from({ length: benchCount(20) }, (_, index) => index)

const proposed = ({ evaluation }: Planned) => {
  expect(noProposalText(evaluation, nothingAsked, undefined)).toBeUndefined()
  return finished(proposeInSlices(evaluation, nothingAsked, undefined, new Set()))
}

/** The text of a bench with a plan in it. */
function written({ evaluation, service, text }: Planned, plan: Plan): string {
  const document = service.workspace.document(plannedUri)
  if (document === undefined) throw new Error('the bench is not loaded')
  return applyEdits(text, planEdits(document, evaluation.profile, plan))
}

/** What the checks find at error or warning level, by code and load. */
async function serious(text: string): Promise<readonly string[]> {
  const { service } = await plannedBench(text)
  return service
    .findings(plannedUri)
    .filter(({ finding }) => finding.severity === 'error' || finding.severity === 'warning')
    .map(({ finding }) => finding.code)
}

const planned = async (seed: number) => {
  const bench = await plannedBench(plannedText(seed))
  const { plan, unmet } = proposed(bench)
  return { seed, bench, plan: plan.kind === 'plan' ? plan : undefined, unmet }
}

// Looked at before the tests, so that each of them has something to look at.
const all: Awaited<ReturnType<typeof planned>>[] = []
for (const seed of seeds) all.push(await planned(seed))
const withPlan = all.flatMap(one => (one.plan === undefined ? [] : [{ ...one, plan: one.plan }]))
const met = withPlan.filter(({ unmet }) => unmet.length === 0)
const banded = met.filter(({ plan }) => plan.rows.some(({ bands }) => bands.length > 0))
const refused = all.filter(({ plan }) => plan === undefined)

describe('the benches', () => {
  it('have plans, bands and none by turns', () => {
    for (const some of [met, banded, refused]) expect(some.length).toBeGreaterThan(seeds.length / 10)
  })
})

describe('a proposal', () => {
  it.each(withPlan)('passes the checks without findings of its own making: bench $seed', async one => {
    const { seed, bench, plan, unmet } = one
    const lowest = judgeOf(bench).ratios[0]
    const { cores } = judgeOf(bench)
    const usual = await serious(plannedText(seed, `  steps { 1 to ${cores} cores ${lowest}x }\n`))
    // An expectation that no plan meets keeps its finding.
    const own = (await serious(written(bench, plan))).filter(
      code => !usual.includes(code) && !(unmet.length > 0 && code.startsWith('expect-')),
    )
    expect(own).toEqual([])
  })

  it.each(met)('has no row that can rise by itself: bench $seed', ({ bench, plan }) => {
    const judge = judgeOf(bench, {}, 'expectations')
    for (const [index, { from, to, ratio }] of plan.rows.entries()) {
      const next = judge.ratios.find(one => one > ratio)
      if (next === undefined) {
        expect(ratio).toBe(judge.ratios.at(-1))
        continue
      }
      const counts = Array.from({ length: to - from + 1 }, (_, at) => from + at)
      const before = plan.rows[index - 1]?.ratio ?? Number.POSITIVE_INFINITY
      const mayRise = next <= before && counts.every(count => isCarried(judge, count, next, false))
      // One row of bands is tried everywhere; two at once would take minutes.
      expect(mayRise && bandsOf(judge, { from, to, ratio: next }, 1) !== undefined).toBe(false)
    }
  })

  it.each(banded)('has no row of bands that can be left out: bench $seed', ({ bench, plan }) => {
    const judge = judgeOf(bench, {}, 'expectations')
    for (const { from, to, ratio, bands } of plan.rows) {
      for (const left of bands) {
        const rest = bands.filter(link => link !== left)
        const cases = Array.from({ length: to - from + 1 }, (_, at) => judge.cases(from + at)).flat()
        expect(cases.some(one => judge.judge(one, ratio, rest).failure !== undefined)).toBe(true)
      }
    }
  })

  it.each(refused)('is not made only where the lowest ratio is no plan: bench $seed', ({ bench }) => {
    const judge = judgeOf(bench, {}, 'expectations')
    const ratio = judge.ratios[0] as number
    const counts = Array.from({ length: judge.cores }, (_, index) => index + 1)
    const serves = (count: number): boolean =>
      isCarried(judge, count, ratio, false) && bandsOf(judge, { from: count, to: count, ratio }, 0) !== undefined
    expect(counts.every(serves)).toBe(false)
  })

  it.each(all.slice(0, 5))('is the same for the same input: bench $seed', async ({ seed, plan }) => {
    expect((await planned(seed)).plan).toEqual(plan)
  })

  it.each(withPlan)('is written so that proposing again changes nothing: bench $seed', async ({ bench, plan }) => {
    const again = await plannedBench(written(bench, plan))
    expect(proposed(again).plan).toEqual(plan)
    expect(written(again, plan)).toBe(again.text)
  })
})
