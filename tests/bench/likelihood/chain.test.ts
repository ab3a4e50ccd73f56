import { describe, expect, it } from 'vitest'
import { createChain } from '../../../server/bench/likelihood/chain.ts'

/** Three heat capacities in a row by very many short steps of Euler's, which is right in the limit. */
function byShortSteps(
  c: readonly number[],
  r: readonly number[],
  overS: number,
  powerW: number,
  endC: number,
  endKPerS: number,
  start: readonly number[],
): { readonly state: number[]; readonly means: number[] } {
  const steps = 400_000
  const h = overS / steps
  let state = [...start]
  const means = start.map(() => 0)
  for (let step = 0; step < steps; step++) {
    const end = endC + endKPerS * ((step + 0.5) * h - overS / 2)
    const next = state.map((own, i) => {
      const before = i === 0 ? powerW : ((state[i - 1] as number) - own) / (r[i - 1] as number)
      const after = (own - (state[i + 1] ?? end)) / (r[i] as number)
      return own + (h / (c[i] as number)) * (before - after)
    })
    means.forEach((mean, i) => {
      means[i] = mean + ((state[i] as number) + (next[i] as number)) / 2 / steps
    })
    state = next
  }
  return { state, means }
}

describe('heat in a chain', () => {
  it.each([
    [[14], [0.11]],
    [
      [14, 160],
      [0.11, 0.04],
    ],
    [
      [14, 160, 5200],
      [0.11, 0.04, 0.038],
    ],
  ])('of %j J/K goes as short steps have it', (capacities, resistances) => {
    const size = capacities.length
    const start = [30, 27, 25].slice(0, size)
    const chain = createChain(size)
    chain.set(capacities, resistances)
    for (const endKPerS of [0, 0.3]) {
      const exact = byShortSteps(capacities, resistances, 20, 230, 22, endKPerS, start)
      const [state, means] = [Float64Array.from(start), new Float64Array(size)]
      chain.advance(20, 230, 22, endKPerS, state, means)
      for (let i = 0; i < size; i++) {
        expect(state[i]).toBeCloseTo(exact.state[i]!, 3)
        expect(means[i]).toBeCloseTo(exact.means[i]!, 3)
      }
    }
  })

  it('follows power that comes and goes within a stretch as stretches of each power have it', () => {
    const shares = Float64Array.from([0.06, -0.06, 0.2, -0.3, 0.1])
    const chain = createChain(3)
    chain.set([14, 160, 5200], [0.11, 0.04, 0.038])
    const [state, means] = [Float64Array.from([30, 27, 25]), new Float64Array(3)]
    chain.advance(10, 200, 22, 0, state, means, shares)
    const [own, part, sum] = [Float64Array.from([30, 27, 25]), new Float64Array(3), new Float64Array(3)]
    for (const share of shares) {
      chain.advance(2, 200 * (1 + share), 22, 0, own, part)
      part.forEach((value, i) => {
        sum[i]! += value / shares.length
      })
    }
    for (let i = 0; i < 3; i++) {
      expect(state[i]).toBeCloseTo(own[i]!, 9)
      expect(means[i]).toBeCloseTo(sum[i]!, 9)
    }
    // Which the mean alone is not.
    const even = Float64Array.from([30, 27, 25])
    chain.advance(10, 200, 22, 0, even, means)
    expect(Math.abs(even[0]! - own[0]!)).toBeGreaterThan(0.2)
  })

  it('has the closed form of one capacity', () => {
    const chain = createChain(1)
    chain.set([10], [0.5])
    const [state, means] = [Float64Array.of(20), new Float64Array(1)]
    chain.advance(5, 100, 20, 0, state, means)
    expect(state[0]).toBeCloseTo(20 + 50 * (1 - Math.exp(-1)), 10)
    expect(means[0]).toBeCloseTo(20 + 50 * Math.exp(-1), 10)
  })

  it('with another way to its end is as if it had begun with it', () => {
    const [one, other] = [createChain(3), createChain(3)]
    one.set([14, 160, 5200], [0.11, 0.04, 0.08])
    for (const end of [0.07, 0.05, 0.041, 0.038]) one.setEnd(end)
    other.set([14, 160, 5200], [0.11, 0.04, 0.038])
    const after = [one, other].map(chain => {
      const [state, means] = [Float64Array.of(30, 27, 25), new Float64Array(3)]
      chain.advance(60, 230, 22, 0, state, means)
      return [...state, ...means]
    })
    after[0]!.forEach((value, index) => {
      expect(value).toBeCloseTo(after[1]![index]!, 8)
    })
  })

  it('over long stretches stands still at the sum of its resistances', () => {
    const chain = createChain(2)
    chain.set([14, 160], [0.1, 0.05])
    const [state, means] = [Float64Array.of(20, 20), new Float64Array(2)]
    chain.advance(1e6, 200, 20, 0, state, means)
    expect([...state]).toEqual([expect.closeTo(50, 9), expect.closeTo(30, 9)])
  })

  it('has one to three links', () => {
    expect(() => createChain(4)).toThrow(RangeError)
    expect(() => createChain(0)).toThrow(RangeError)
  })
})
