import { describe, expect, it } from 'vitest'
import type { Evidence, Unknown } from '../../../server/bench/statistics/independent.ts'
import { posteriorInSlices, posteriorOf } from '../../../server/bench/statistics/posterior.ts'

/** A posterior that is found in slices: work is counted between the places where it may pause, not timed. */

const unknowns: readonly Unknown[] = [
  { mean: 0.2, sd: 0.4 },
  { mean: -0.1, sd: 0.3 },
  { mean: 0, sd: 0.5, held: true },
]

/** Evidence whose residuals take long; nearly straight, or so bent that no series stands for it. */
function slowEvidence(bend: number, looked: () => void): Evidence {
  const targets = [1.1, 0.8, 1.6]
  return {
    size: 3,
    unknowns: [0, 1, 2],
    isSlow: true,
    residuals: (at, out) => {
      looked()
      const [a, b, c] = [at[0] as number, at[1] as number, at[2] as number]
      out[0] = (targets[0] as number) - Math.exp(a) + 0.2 * c
      out[1] = (targets[1] as number) - Math.exp(b) + bend * Math.sin(8 * a)
      out[2] = (targets[2] as number) - Math.exp(a + b)
      return true
    },
    covariance: (_, out) => {
      out.fill(0)
      for (let index = 0; index < 3; index++) out[index * 4] = 0.04
    },
  }
}

/** The most looks at slow evidence between one pause and the next, and how many there are in all. */
function most(all: (looked: () => void) => readonly Evidence[]): { readonly most: number; readonly sum: number } {
  let [own, sum, highest] = [0, 0, 0]
  const slices = posteriorInSlices(
    unknowns,
    all(() => {
      own++
      sum++
    }),
    { steps: 400 },
  )
  for (const _ of slices) {
    highest = Math.max(highest, own)
    own = 0
  }
  return { most: Math.max(highest, own), sum }
}

describe('a posterior in slices', () => {
  it.each([
    ['a series stands for it', 0],
    ['no series stands for it', 0.3],
  ])('pauses after a few looks at what is slow, where %s', (_, bend) => {
    const one = most(looked => [slowEvidence(bend, looked)])
    expect(one.sum).toBeGreaterThan(100)
    expect(one.most).toBeLessThanOrEqual(6)
    // With more of it there are more pauses, not longer ways from one to the next.
    const many = most(looked => Array.from({ length: 8 }, () => slowEvidence(bend, looked)))
    expect(many.sum).toBeGreaterThan(one.sum)
    expect(many.most).toBeLessThanOrEqual(6)
  })

  it('is the one that is found at once', () => {
    const evidence = [slowEvidence(0.1, () => undefined)]
    const slices = posteriorInSlices(unknowns, evidence, { steps: 200 })
    let step = slices.next()
    while (step.done !== true) step = slices.next()
    expect(step.value).toEqual(posteriorOf(unknowns, evidence, { steps: 200 }))
  })
})
