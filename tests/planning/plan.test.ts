/** The search against one that tries everything, on small benches drawn at random. */
import { describe, expect, it } from 'vitest'
import { finished } from '../../server/model/slices.ts'
import { planSteps } from '../../server/planning/index.ts'
import { benchCount, judgeOf, plannedBench, plannedText } from '../harness/planned-benches.ts'
import { isWhole } from '../harness/sampled.ts'
import { planOf } from './exhaustive.ts'

const seeds = Array.from({ length: benchCount(8, 10) }, (_, index) => index)

/** Both answers in one form. */
async function both(seed: number, rows: number | undefined, bands: number) {
  const judge = judgeOf(
    await plannedBench(plannedText(seed)),
    { rows, bands },
    seed % 2 === 0 ? 'expectations' : 'nothing more',
  )
  const plan = finished(planSteps(judge, { rows, bands }))
  const found =
    plan.kind === 'none'
      ? undefined
      : plan.rows.map(({ from, to, ratio, bands: links }) => ({ from, to, ratio, links }))
  return { found, expected: planOf(judge, rows, bands) }
}

describe('the search finds what trying everything finds', () => {
  it.each(seeds)('on bench %i, with one row of bands', async seed => {
    const { found, expected } = await both(seed, undefined, 1)
    expect(found).toEqual(expected)
  })

  it.each(seeds)('on bench %i, without bands', async seed => {
    const { found, expected } = await both(seed, undefined, 0)
    expect(found).toEqual(expected)
  })

  it.each(seeds)('on bench %i, with at most two rows of steps', async seed => {
    const { found, expected } = await both(seed, 2, 1)
    expect(found).toEqual(expected)
  })

  // Trying everything takes longest here.
  it.each(seeds.slice(0, Math.ceil(seeds.length / 10) + (isWhole ? 2 : 0)))(
    'on bench %i, with two rows of bands',
    async seed => {
      const { found, expected } = await both(seed, undefined, 2)
      expect(found).toEqual(expected)
    },
  )
})

describe('the benches', () => {
  it('have bands, rows and none by turns', async () => {
    const plans: Awaited<ReturnType<typeof both>>['found'][] = []
    for (const seed of seeds) plans.push((await both(seed, undefined, 1)).found)
    expect(plans.filter(plan => plan?.some(({ links }) => links.length > 0)).length).toBeGreaterThan(0)
    expect(plans.filter(plan => (plan?.length ?? 0) > 1).length).toBeGreaterThan(0)
  })
})
