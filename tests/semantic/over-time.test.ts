import { beforeEach, describe, expect, it } from 'vitest'
import { simulate } from '../../server/model/index.ts'
import { finished } from '../../server/model/slices.ts'
import { createRunsOverTime, type RunsOverTime } from '../../server/semantic/over-time.ts'
import { allCores, benchWith, room } from '../model/transient-bench.ts'

/** Runs over time that are asked for and made little by little. */

let runs: RunsOverTime

beforeEach(() => {
  runs = createRunsOverTime()
})

/** No time at all: one slice is worked on and no more. */
const oneSlice = (): void => runs.makeSome(0)

describe('a run over time', () => {
  it('made in slices is the run made at once', () => {
    const bench = benchWith()
    expect(runs.run(bench, allCores, room, 120)).toBe('pending')
    let slices = 0
    while (runs.pending() > 0) {
      oneSlice()
      slices++
    }
    expect(slices).toBeGreaterThan(3)
    expect(runs.run(bench, allCores, room, 120)).toEqual(simulate(bench, allCores, room, { overS: 120 }))
  })

  it('goes on where it was when what asked for it asks again', () => {
    const slicesOf = (disturb: () => void): number => {
      const bench = benchWith()
      runs.run(bench, allCores, room, 120)
      let slices = 0
      for (; runs.pending() > 0; slices++) {
        oneSlice()
        if (slices === 2) {
          disturb()
          runs.run(bench, allCores, room, 120)
        }
      }
      return slices
    }
    const undisturbed = slicesOf(() => {})
    expect(slicesOf(() => runs.forget())).toBe(undisturbed)
  })

  it('is not made when nobody asks for it any more', () => {
    const [before, after] = [benchWith(), benchWith()]
    runs.run(before, allCores, room, 60)
    oneSlice()
    runs.forget()
    expect(runs.pending()).toBe(0)
    runs.run(after, allCores, room, 60)
    runs.makeSome(Number.POSITIVE_INFINITY)
    expect(runs.run(after, allCores, room, 60)).not.toBe('pending')
    expect(runs.run(before, allCores, room, 60)).toBe('pending')
  })

  it('that was kept is as slow as one that is made now', () => {
    const bench = benchWith()
    const lowest = simulate(bench, allCores, room, { overS: 120 })?.lowestSecondMhz ?? Number.NaN
    const found = (clockMhz: number) =>
      finished(runs.runUnlessSlower(bench, allCores, room, 120, { clockMhz, group: undefined }))
    expect(found(lowest + 1)).toBe('slower')
    runs.run(bench, allCores, room, 120)
    runs.makeAll()
    expect(found(lowest + 1)).toBe('slower')
    const kept = runs.run(bench, allCores, room, 120)
    expect(kept).not.toBe('pending')
    expect(found(lowest - 1)).toBe(kept)
  })
})
