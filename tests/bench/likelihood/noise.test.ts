import { describe, expect, it } from 'vitest'
import { firstOrderAbout } from '../../../server/bench/likelihood/first-order.ts'
import { noiseOf } from '../../../server/bench/likelihood/noise.ts'
import { seededUniform, standardNormals } from '../../../server/model/random.ts'

const COUNT = 150

/** Readings of first order, of variance 1. */
function readings(kept: number, normal: () => number): number[] {
  let value = normal()
  return Array.from({ length: COUNT }, () => {
    value = kept * value + Math.sqrt(1 - kept * kept) * normal()
    return value
  })
}

/** What is left of readings once a cubic was fitted to them. */
function withoutCubic(values: readonly number[]): number[] {
  const rows: number[][] = []
  const less = (from: readonly number[]): number[] =>
    rows.reduce<number[]>(
      (left, row) => {
        const share = row.reduce((sum, own, at) => sum + own * left[at]!, 0)
        return left.map((own, at) => own - share * row[at]!)
      },
      [...from],
    )
  for (let power = 0; power < 4; power++) {
    const own = less(values.map((_, at) => (at / COUNT - 0.5) ** power))
    const length = Math.hypot(...own)
    rows.push(own.map(value => value / length))
  }
  return less(values)
}

describe('the noise of residuals', () => {
  it.each([0, 0.5, 0.81, 0.9])('is not taken for less because a fit took the slow part of it: %f kept', kept => {
    const normal = standardNormals(seededUniform(7))
    const time = (1 + kept) / (1 - kept)
    const count = 200
    let [inside, logs] = [0, 0]
    for (let round = 0; round < count; round++) {
      const { longVariance } = firstOrderAbout(withoutCubic(readings(kept, normal)))
      logs += Math.log(longVariance / time) / count
      // The mean of as many readings, of its own.
      if (Math.abs(Math.sqrt(time) * normal()) < 1.96 * Math.sqrt(longVariance)) inside++
    }
    expect(inside / count).toBeGreaterThan(0.95 - 4 * Math.sqrt((0.95 * 0.05) / count))
    expect(logs).toBeGreaterThan(-0.1)
    // Nor for more than the few independent readings leave open.
    expect(logs).toBeLessThan(1.2)
  })

  it('is the same whatever cubic was taken', () => {
    const values = readings(0.8, standardNormals(seededUniform(3)))
    const [whole, left] = [firstOrderAbout(values), firstOrderAbout(withoutCubic(values))]
    expect(left.time).toBeCloseTo(whole.time, 6)
    expect(left.longVariance).toBeCloseTo(whole.longVariance, 6)
  })

  it('is that of its own autocorrelation time where it is not of first order', () => {
    const normal = standardNormals(seededUniform(9))
    const slow = readings(0.95, normal)
    const values = slow.map(value => 0.5 * value + normal())
    const { sd, kept } = noiseOf(values, 0)
    expect((sd * sd * (1 + kept)) / (1 - kept)).toBeGreaterThan(3)
  })

  it('of readings that do not move is the least that a sensor has', () => {
    expect(noiseOf(new Array<number>(40).fill(0), 0.02).sd).toBe(0.02)
  })
})
