import { describe, expect, it } from 'vitest'
import { settle } from '../../server/model/settle.ts'
import type { Bench, Limits, Part, Profile, Settled } from '../../server/model/types.ts'
import { benchWith, corner, part, work } from './benches.ts'

function settled(bench: Bench): Settled {
  const found = settle(bench, work, corner)
  if (found === null) throw new Error('A step row covers every load of this file.')
  return found
}

function limited(limits: Limits, change: Partial<Profile> = {}): Settled {
  return settled(benchWith({ profile: { limits, ...change } }))
}

/** What the load draws at a ratio with nothing in the way. */
function free(ratio: number): Settled {
  return settled(benchWith({ profile: { steps: [{ fromCores: 1, toCores: 8, ratio }] } }))
}

const figure = (value: number | null): number => value ?? Number.NaN

describe('limits that hold at every instant', () => {
  it('cap the clock at the highest ratio-step within both and name the one that forbids the next', () => {
    const currentA = figure(free(47).currentA) + 0.01
    expect(limited({ currentA })).toMatchObject({ state: 'steady', limiter: 'current', ratio: 47 })
    const burstPowerW = figure(free(46).powerW) + 0.01
    expect(limited({ burstPowerW })).toMatchObject({ state: 'steady', limiter: 'burst-power', ratio: 46 })
    expect(limited({ burstPowerW, currentA })).toMatchObject({ limiter: 'burst-power', ratio: 46 })
    expect(limited({ currentA: figure(free(46).currentA), burstPowerW })).toMatchObject({
      limiter: 'current',
      ratio: 46,
    })
  })

  it('change nothing where the first level keeps them', () => {
    const top = free(50)
    expect(limited({ currentA: figure(top.currentA), burstPowerW: figure(top.powerW) })).toMatchObject({
      limiter: 'step',
      ratio: 50,
    })
  })

  it('judge a ratio at the die ceiling where its balance lies above it', () => {
    const ceilingC = figure(free(48).dieC) - 1
    const atCeiling = settled(benchWith({ profile: { limits: { dieC: ceilingC } } }))
    expect(atCeiling.state).toBe('throttled')
    // The power of the first level at D, below that of its balance.
    const hotW = figure(free(50).powerW)
    const coolW = hotW - 0.01
    expect(limited({ dieC: ceilingC, burstPowerW: coolW }).limiter).toBe('die-limit')
    expect(limited({ burstPowerW: coolW }).limiter).toBe('burst-power')
  })

  it('keep the cap’s name where a band would have lowered the clock less', () => {
    const currentA = figure(free(46).currentA) + 0.01
    const bands = [{ fromCores: 1, toCores: 8, aboveC: 40, drop: 2 }]
    expect(limited({ currentA }, { bands })).toMatchObject({ limiter: 'current', ratio: 46 })
  })

  it('stay at the lowest ratio, with a note, where even that breaks them', () => {
    const bench = benchWith({ part: { ratioLow: 45 }, profile: { limits: { currentA: 20 } } })
    const over = settled(bench)
    expect(over).toMatchObject({ state: 'steady', limiter: 'current', ratio: 45 })
    expect(over.notes.currentOver).toBe(true)
    expect(limited({ currentA: 200 }).notes.currentOver).toBe(false)
  })

  it('count the load line’s share of the voltage', () => {
    const board = { loadLineOhm: 0.0005 }
    const at = (ratio: number) =>
      settled(benchWith({ board, profile: { steps: [{ fromCores: 1, toCores: 8, ratio }] } }))
    const currentA = figure(at(48).currentA) + 0.001
    expect(settled(benchWith({ board, profile: { limits: { currentA } } }))).toMatchObject({
      limiter: 'current',
      ratio: 48,
    })
  })
})

describe('sustained power', () => {
  it('makes the mean power exactly that, between neighbouring ratio-steps, at the temperature it gives', () => {
    const sustainedPowerW = (figure(free(46).powerW) + figure(free(47).powerW)) / 2
    const held = limited({ sustainedPowerW })
    expect(held).toMatchObject({ state: 'alternating', limiter: 'sustained-power', ratioLow: 46, ratioHigh: 47 })
    expect(held.powerW).toBeCloseTo(sustainedPowerW, 9)
    const dieC = 25 + (0.05 + 0.045 + 0.1) * sustainedPowerW + (0.5 / 8) * figure(held.dynamicW)
    expect(held.dieC).toBeCloseTo(dieC, 9)
    expect(figure(held.dynamicW) + figure(held.leakageW) + part.sharedPowerW).toBeCloseTo(sustainedPowerW, 9)
  })

  it('changes nothing at or above what the ladder draws', () => {
    expect(limited({ sustainedPowerW: figure(free(50).powerW) + 1e-9 })).toMatchObject({ limiter: 'step', ratio: 50 })
  })

  it('keeps a load that would run away', () => {
    const wild = benchWith({ part: { leakageW: 110, leakageDoublingK: 14 }, profile: { bands: [] } })
    expect(settled({ ...wild, part: { ...wild.part, ratioLow: 50 } }).state).toBe('runaway')
    const sustainedPowerW = 120
    const kept = settled({ ...wild, profile: { ...wild.profile, limits: { sustainedPowerW } } })
    expect(kept).toMatchObject({ state: 'alternating', limiter: 'sustained-power' })
    expect(kept.powerW).toBeCloseTo(120, 9)
    expect(kept.notes.sustainedOver).toBe(false)
  })

  const slow = benchWith({ part: { ratioLow: 45 } })
  const crawling = settled({ ...slow, profile: { ...slow.profile, steps: [{ fromCores: 1, toCores: 8, ratio: 45 }] } })

  it('holds the lowest ratio at its balance, with a note, where no ratio serves', () => {
    const over = settled({ ...slow, profile: { ...slow.profile, limits: { sustainedPowerW: 60 } } })
    expect(over).toMatchObject({ state: 'steady', limiter: 'sustained-power', ratio: 45, shareHigh: 1 })
    expect(over.dieC).toBe(crawling.dieC)
    expect(over.powerW).toBe(crawling.powerW)
    expect(over.notes.sustainedOver).toBe(true)
  })

  it('does not jump where the limit passes what the lowest ratio takes', () => {
    const least = figure(crawling.powerW)
    const at = (sustainedPowerW: number) =>
      settled({ ...slow, profile: { ...slow.profile, limits: { sustainedPowerW } } })
    const above = at(least + 1e-6)
    const below = at(least - 1e-6)
    expect(above).toMatchObject({ state: 'alternating', ratioLow: 45, ratioHigh: 46 })
    expect(figure(above.clockMhz) - figure(below.clockMhz)).toBeLessThan(0.01)
    expect(figure(above.dieC) - figure(below.dieC)).toBeLessThan(1e-4)
  })

  it('judges the lowest ratio like the last level: over the limit, or without a balance', () => {
    const lowAt = (dieC: number, part: Partial<Part> = {}) =>
      settled(
        benchWith({ part: { ratioLow: 45, ...part }, profile: { bands: [], limits: { dieC, sustainedPowerW: 60 } } }),
      )
    expect(lowAt(figure(crawling.dieC))).toMatchObject({ state: 'over-limit', limiter: 'sustained-power', ratio: 45 })
    const gone = lowAt(90, { leakageW: 200, leakageDoublingK: 12 })
    expect(gone).toMatchObject({ state: 'runaway', limiter: 'sustained-power', dieC: null, marginW: null })
    expect(gone.notes.sustainedOver).toBe(true)
  })
})
