import { describe, expect, it } from 'vitest'
import { undetermined } from '../../../server/bench/fit/identify.ts'

const residualSd = 0.01

describe('parameters that data cannot tell apart', () => {
  it('are not found where every column goes its own way', () => {
    const rows = [
      [1, 0, 2],
      [1, 1, 0],
      [1, 2, 1],
      [1, 3, 3],
    ]
    expect(undetermined({ rows, values: [1, 1, 1], residualSd })).toBeUndefined()
  })

  it('are known by their sum alone where their columns are alike: the last is given up', () => {
    const rows = [1, 2, 3, 4].map(x => [1, x, 2 * x])
    expect(undetermined({ rows, values: [1, 1, 1], residualSd })).toMatchObject({
      reason: 'together',
      index: 2,
      others: [1],
      correlation: 1,
    })
  })

  it('are not merely correlated ones, where the data are precise', () => {
    // A line far from its origin: intercept and slope correlate to 0.99999.
    const rows = [1000, 1001, 1002, 1003].map(x => [1, x])
    expect(undetermined({ rows, values: [100, 1], residualSd: 1e-3 })).toBeUndefined()
    expect(undetermined({ rows, values: [100, 1], residualSd: 1 })).toMatchObject({ reason: 'together', index: 1 })
  })

  it('are those without any effect', () => {
    const rows = [1, 2, 3].map(x => [x, 0])
    expect(undetermined({ rows, values: [1, 1], residualSd })).toEqual({ reason: 'no-effect', index: 1 })
  })

  it('are those that are known to less than their own size', () => {
    const rows = [
      [1, 0],
      [-1, 0.001],
      [1, 0],
      [-1, -0.001],
    ]
    expect(undetermined({ rows, values: [1, 1], residualSd })).toMatchObject({ reason: 'too-little', index: 1 })
  })

  it('may be more than there are data', () => {
    const rows = [[1, 2, 3]]
    expect(undetermined({ rows, values: [1, 1, 1], residualSd })).toMatchObject({ reason: 'together', index: 2 })
  })

  it('do not depend on units', () => {
    const rows = [1, 2, 3, 4].map(x => [1e-6, 1e9 * x])
    expect(undetermined({ rows, values: [1e6, 1e-9], residualSd })).toBeUndefined()
  })
})
