import { afterEach, describe, expect, it } from 'vitest'
import { simulate } from '../../server/model/index.ts'
import { forgetPendingRuns, makeSomeRuns, pendingRuns, runOverTime } from '../../server/semantic/over-time.ts'
import { allCores, benchWith, room } from '../model/transient-bench.ts'

/** Runs over time that are asked for and made little by little. */

afterEach(forgetPendingRuns)

/** No time at all: one slice is worked on and no more. */
const oneSlice = (): void => makeSomeRuns(0)

describe('a run over time', () => {
  it('made in slices is the run made at once', () => {
    const bench = benchWith()
    expect(runOverTime(bench, allCores, room, 120)).toBe('pending')
    let slices = 0
    while (pendingRuns() > 0) {
      oneSlice()
      slices++
    }
    expect(slices).toBeGreaterThan(3)
    expect(runOverTime(bench, allCores, room, 120)).toEqual(simulate(bench, allCores, room, { overS: 120 }))
  })

  it('goes on where it was when what asked for it asks again', () => {
    const slicesOf = (disturb: () => void): number => {
      const bench = benchWith()
      runOverTime(bench, allCores, room, 120)
      let slices = 0
      for (; pendingRuns() > 0; slices++) {
        oneSlice()
        if (slices === 2) {
          disturb()
          runOverTime(bench, allCores, room, 120)
        }
      }
      return slices
    }
    const undisturbed = slicesOf(() => {})
    expect(slicesOf(forgetPendingRuns)).toBe(undisturbed)
  })

  it('is not made when nobody asks for it any more', () => {
    const [before, after] = [benchWith(), benchWith()]
    runOverTime(before, allCores, room, 60)
    oneSlice()
    forgetPendingRuns()
    expect(pendingRuns()).toBe(0)
    runOverTime(after, allCores, room, 60)
    makeSomeRuns(Number.POSITIVE_INFINITY)
    expect(runOverTime(after, allCores, room, 60)).not.toBe('pending')
    expect(runOverTime(before, allCores, room, 60)).toBe('pending')
  })
})
