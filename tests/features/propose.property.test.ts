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
  return { bench, plan: plan.kind === 'plan' ? plan : undefined, unmet }
}

describe('a proposal', () => {
  it.each(seeds)('passes the checks without findings of its own making: bench %i', async seed => {
    const { bench, plan, unmet } = await planned(seed)
    if (plan === undefined) return
    const lowest = judgeOf(bench).ratios[0]
    const { cores } = judgeOf(bench)
    const usual = await serious(plannedText(seed, `  steps { 1 to ${cores} cores ${lowest}x }\n`))
    // An expectation that no plan meets keeps its finding.
    const own = (await serious(written(bench, plan))).filter(
      code => !usual.includes(code) && !(unmet.length > 0 && code.startsWith('expect-')),
    )
    expect(own).toEqual([])
  })

  it.each(seeds)('has no row that can rise by itself: bench %i', async seed => {
    const { bench, plan, unmet } = await planned(seed)
    if (plan === undefined || unmet.length > 0) return
    const judge = judgeOf(bench, {}, 'expectations')
    for (const [index, { from, to, ratio }] of plan.rows.entries()) {
      const next = judge.ratios.find(one => one > ratio)
      if (next === undefined) continue
      const counts = Array.from({ length: to - from + 1 }, (_, at) => from + at)
      const before = plan.rows[index - 1]?.ratio ?? Number.POSITIVE_INFINITY
      const mayRise = next <= before && counts.every(count => isCarried(judge, count, next, false))
      // One row of bands is tried everywhere; two at once would take minutes.
      expect(mayRise && bandsOf(judge, { from, to, ratio: next }, 1) !== undefined).toBe(false)
    }
  })

  it.each(seeds)('has no row of bands that can be left out: bench %i', async seed => {
    const { bench, plan, unmet } = await planned(seed)
    if (plan === undefined || unmet.length > 0) return
    const judge = judgeOf(bench, {}, 'expectations')
    for (const { from, to, ratio, bands } of plan.rows) {
      for (const left of bands) {
        const rest = bands.filter(link => link !== left)
        const cases = Array.from({ length: to - from + 1 }, (_, at) => judge.cases(from + at)).flat()
        expect(cases.some(one => judge.judge(one, ratio, rest).failure !== undefined)).toBe(true)
      }
    }
  })

  it.each(seeds.slice(0, 5))('is the same for the same input: bench %i', async seed => {
    const [a, b] = [await planned(seed), await planned(seed)]
    expect(a.plan).toEqual(b.plan)
  })

  it('is written so that proposing again changes nothing', async () => {
    let changed = 0
    for (const seed of seeds) {
      const { bench, plan } = await planned(seed)
      if (plan === undefined) continue
      changed++
      const again = await plannedBench(written(bench, plan))
      const { plan: same } = proposed(again)
      expect(same).toEqual(plan)
      expect(written(again, plan)).toBe(again.text)
    }
    expect(changed).toBeGreaterThan(seeds.length / 4)
  })
})
