/** The smallest change of each value, beside one that checks every change in full, on small benches drawn at random. */
import { describe, expect, it } from 'vitest'
import { reachInSlices } from '../../../server/features/reach/index.ts'
import { leversOf } from '../../../server/features/reach/levers/index.ts'
import { loadsFor } from '../../../server/features/reach/of-course.ts'
import { lostMhz } from '../../../server/features/reach/singles.ts'
import { createTrials } from '../../../server/features/reach/trials.ts'
import { finished } from '../../../server/model/index.ts'
import { seededUniform } from '../../../server/model/random.ts'
import { readExpectation } from '../../../server/service.ts'
import { uriOf } from '../../harness/fixture.ts'
import { benchCount } from '../../harness/planned-benches.ts'
import { benchWith, loadedText } from './bench.ts'

const seeds = Array.from({ length: benchCount(4, 20) }, (_, index) => index)
const uri = uriOf('a.detent')

/** A bench with limits, bands and expectations that hold each other, and what is asked of it. */
function drawn(seed: number): { readonly text: string; readonly asked: string } {
  const uniform = seededUniform(seed + 71)
  for (let index = 0; index < 5; index++) uniform()
  const whole = (low: number, high: number): number => Math.round(low + (high - low) * uniform())
  const maybe = (share: number, text: string): string => (uniform() < share ? text : '')
  const bands = `bands return ${whole(0, 4)} K {\n    1 to 4 cores   above ${whole(38, 58)} °C   -${whole(1, 3)}x\n  }`
  const text = benchWith(
    {
      step: `${whole(40, 46)}x`,
      bands: maybe(0.7, bands),
      voltage: `core needs + ${whole(1, 8) * 5} mV`,
      limits: `die ${whole(60, 90)} °C${maybe(0.5, `; burst-power ${whole(45, 90)} W`)}${maybe(0.4, `; current ${whole(30, 70)} A`)}${maybe(0.3, `; sustained-power ${whole(30, 60)} W over 20 s`)}`,
    },
    ...(uniform() < 0.5 ? [`mail holds >= ${(4.3 + 0.3 * uniform()).toFixed(1)} GHz`] : []),
    ...(uniform() < 0.4 ? [`sort holds >= ${(3.6 + 0.8 * uniform()).toFixed(1)} GHz for 1 min`] : []),
    ...(uniform() < 0.4 ? [`sort power <= ${whole(50, 90)} W`] : []),
  )
  const figures = [
    `sort holds >= ${(4.1 + 0.6 * uniform()).toFixed(1)} GHz`,
    `sort die <= ${whole(35, 60)} °C`,
    `sort power <= ${whole(30, 60)} W`,
    `sort margin >= ${whole(20, 120)} W`,
    `sort holds >= ${(4.0 + 0.6 * uniform()).toFixed(1)} GHz for 1 min`,
  ]
  return { text, asked: figures[seed % figures.length] as string }
}

async function both(seed: number) {
  const { text, asked } = drawn(seed)
  const service = await loadedText(text)
  const { sourced } = readExpectation(asked)
  const facts = { evidence: () => undefined, severities: {}, pairsWithinMs: 0 }
  const quick = finished(reachInSlices(service.workspace, uri, 'tuned', sourced, facts))
  const trials = finished(createTrials(service.workspace, uri, 'tuned', sourced, facts))
  const now = trials && finished(trials.now())
  if (trials === undefined || now === undefined) throw new Error('the bench has the profile')
  const slow: { name: string; to: string | number; lost: number }[] = []
  const levers = now.holds === true ? [] : leversOf(trials.base, trials.scope, loadsFor(trials.base, now))
  for (const { name, moves } of levers) {
    let best: { to: string | number; asks: number; lost: number } | undefined
    for (const { to, asks, edits } of moves) {
      if (best !== undefined && asks > best.asks) break
      const placed = trials.placed(edits)
      const found = placed && finished(trials.verified(placed))
      if (found === undefined || 'refused' in found) continue
      const lost = lostMhz(found.costs)
      if (best === undefined || lost < best.lost) best = { to, asks, lost }
    }
    if (best !== undefined) slow.push({ name, to: best.to, lost: best.lost })
  }
  return { quick, slow, levers: levers.length }
}

describe('the smallest change of each value', () => {
  let answers = 0
  let unanswered = 0
  it.each(seeds)('is what checking every change in full finds: bench %i', async seed => {
    const { quick, slow, levers } = await both(seed)
    const found = quick.answers.map(({ changes, costs }) => ({
      name: changes[0]?.name,
      to: changes[0]?.to,
      lost: lostMhz(costs),
    }))
    const sorted = <T extends { name?: string | undefined }>(list: readonly T[]): readonly T[] =>
      list.toSorted((a, b) => ((a.name ?? '') < (b.name ?? '') ? -1 : 1))
    expect(sorted(found)).toEqual(sorted(slow))
    answers += slow.length
    unanswered += levers - slow.length
  })

  it('is found on some, and for some values on none', () => {
    expect(answers).toBeGreaterThan(0)
    expect(unanswered).toBeGreaterThan(0)
  })
})
