/** The search against one that tries everything, on small benches drawn at random. */
import { describe, expect, it } from 'vitest'
import { finished } from '../../server/model/slices.ts'
import { type Link, planSteps } from '../../server/planning/index.ts'
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

describe('why a row of bands gives back no less and begins no later', () => {
  it('is what fails with such a row, or what is no better', async () => {
    const kinds = new Map<string, number>()
    for (const seed of seeds) {
      const judge = judgeOf(await plannedBench(plannedText(seed)), { rows: undefined, bands: 2 }, 'nothing more')
      const plan = finished(planSteps(judge, { rows: undefined, bands: 2 }))
      for (const { from, to, ratio, bands, bandReasons } of plan.kind === 'plan' ? plan.rows : []) {
        const cases = Array.from({ length: to - from + 1 }, (_, index) => judge.cases(from + index)).flat()
        const alternating = (links: readonly Link[]): number =>
          cases.filter(one => judge.judge(one, ratio, links).alternates).length
        expect(bandReasons.length).toBe(bands.length)
        for (const [index, { less, later }] of bandReasons.entries()) {
          const { aboveC, drop } = bands[index] as Link
          const others = [
            {
              instead: less.instead,
              row: less.drop === undefined ? undefined : { aboveC, drop: drop - judge.ratioStep },
            },
            { instead: later.instead, row: later.aboveC === undefined ? undefined : { aboveC: aboveC + 1, drop } },
          ]
          for (const { instead, row } of others) {
            kinds.set(instead.kind, (kinds.get(instead.kind) ?? 0) + 1)
            const links = bands.flatMap((link, at) => (at === index ? (row ?? []) : link))
            const failures = cases.flatMap(one => judge.judge(one, ratio, links).failure?.() ?? [])
            const confirmed = finished(judge.confirm(cases, ratio, links, 'row'))
            if (instead.kind === 'ceiling') expect(aboveC + 1).toBeGreaterThanOrEqual(instead.ceilingC)
            else if (instead.kind === 'fails') expect([...failures, confirmed]).toContainEqual(instead.failure)
            else expect([failures, confirmed]).toEqual([[], undefined])
            if (instead.kind === 'alternates') expect(alternating(links)).toBe(alternating(bands) + instead.more)
          }
        }
      }
    }
    expect(kinds.get('fails') ?? 0).toBeGreaterThan(0)
    // Of sets that are as sound, as fast and as quiet the one with smaller drops and higher thresholds is taken.
    expect(kinds.get('alike') ?? 0).toBe(0)
  })
})

describe('the benches', () => {
  it('have bands, rows and none by turns', async () => {
    const plans: Awaited<ReturnType<typeof both>>['found'][] = []
    for (const seed of seeds) plans.push((await both(seed, undefined, 1)).found)
    expect(plans.filter(plan => plan?.some(({ links }) => links.length > 0)).length).toBeGreaterThan(0)
    expect(plans.filter(plan => (plan?.length ?? 0) > 1).length).toBeGreaterThan(0)
  })
})
