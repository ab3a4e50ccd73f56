import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { cappedLadder, ladderLevels, ladderOf, ratioStepsDown, stepRatio } from '../../server/model/ratio.ts'
import { settle } from '../../server/model/settle.ts'
import type { BandRow, Bench, Corner, Load, Settled } from '../../server/model/types.ts'
import { benches, benchWith, corner, corners, part, profile, work } from './benches.ts'

function settled(bench: Bench, load: Load = work, where: Corner = corner): Settled {
  const found = settle(bench, load, where)
  if (found === null) throw new Error('A step row covers every load of this file.')
  return found
}

function band(aboveC: number, drop: number): BandRow {
  return { fromCores: 1, toCores: 8, aboveC, drop }
}

const all = { cores: 8, vector: false }

describe('ratio by cores and temperature', () => {
  const steps = [
    { fromCores: 1, toCores: 2, ratio: 57 },
    { fromCores: 3, toCores: 8, ratio: 50 },
  ]
  it('reads the step row that covers the cores', () => {
    expect(stepRatio({ ...profile, steps }, 2)).toBe(57)
    expect(stepRatio({ ...profile, steps }, 3)).toBe(50)
    expect(stepRatio({ ...profile, steps }, 9)).toBeUndefined()
    expect(settle(benchWith({ profile: { steps: steps.slice(0, 1) } }), work, corner)).toBeNull()
  })

  it('takes the deepest band that is entered, counted from the step', () => {
    const bands = [band(60, 2), band(50, 1), { fromCores: 1, toCores: 2, aboveC: 40, drop: 5 }, band(70, 1)]
    const entered = (cores: number) =>
      ladderLevels(part, { ...profile, steps, bands }, { cores, vector: false })
        .filter(level => level.limiter === 'band')
        .map(({ enteredC, ratio }) => [enteredC, ratio])
    expect(entered(8)).toEqual([
      [50, 49],
      [60, 48],
    ])
    expect(entered(2)).toEqual([[40, 52]])
  })
})

describe('levels', () => {
  it('are the step, one for each deepening band, then ratio-steps down to the lowest ratio', () => {
    const bands = [band(80, 3), band(60, 2), band(60, 1), band(70, 2), band(100, 9)]
    const levels = ladderLevels(
      { ...part, ratioLow: 44, ratioStep: 1.5 },
      { ...profile, bands, limits: { dieC: 95 } },
      all,
    )
    expect(levels).toMatchObject([
      { ratio: 50, enteredC: Number.NEGATIVE_INFINITY, limiter: 'step' },
      { ratio: 48, enteredC: 60, limiter: 'band' },
      { ratio: 47, enteredC: 80, limiter: 'band' },
      { ratio: 45.5, enteredC: 95, limiter: 'die-limit' },
      { ratio: 44, enteredC: 95, limiter: 'die-limit' },
    ])
  })

  it('end at the lowest ratio also where the steps would pass it, and never go below it', () => {
    const levels = ladderLevels({ ...part, ratioLow: 46.5 }, { ...profile, vectorDrop: 2 }, { cores: 8, vector: true })
    expect(levels.map(level => level.ratio)).toEqual([48, 47, 46.5])
    expect(levels[0]?.limiter).toBe('vector')
    const deep = ladderLevels({ ...part, ratioLow: 46.5 }, { ...profile, bands: [band(50, 20), band(60, 30)] }, all)
    expect(deep.map(level => level.ratio)).toEqual([50, 46.5])
  })

  it('under a cap are lowered to it and merged, with the earlier limiter kept', () => {
    const levels = ladderOf({ ...part, ratioLow: 44 }, { ...profile, bands: [band(60, 1), band(70, 4)] }, all)
    expect(cappedLadder(levels, [48], 'current', [0]).all()).toMatchObject([
      { ratio: 48, enteredC: Number.NEGATIVE_INFINITY, limiter: 'current' },
      { ratio: 46, enteredC: 70, limiter: 'band' },
      { ratio: 45, enteredC: 100, limiter: 'die-limit' },
      { ratio: 44, enteredC: 100, limiter: 'die-limit' },
    ])
    expect(cappedLadder(levels, [50], 'current', [0])).toBe(levels)
  })

  it('step down on the grid of the ratio they start from', () => {
    expect([0, 1, 2, 3].map(count => ratioStepsDown({ ...part, ratioLow: 48.4 }, 50, count))).toEqual([
      50, 49, 48.4, 48.4,
    ])
  })
})

/** The die's balance at a ratio with nothing in the way. */
function freeC(ratio: number): number {
  return settled(benchWith({ profile: { steps: [{ fromCores: 1, toCores: 8, ratio }] } })).dieC ?? Number.NaN
}

describe('where the clock settles', () => {
  const top = freeC(50)
  const lower = freeC(48)

  it('holds the step where its balance lies below every threshold', () => {
    const free = settled(benchWith({ profile: { bands: [band(top + 0.01, 2)] } }))
    expect(free).toMatchObject({
      state: 'steady',
      limiter: 'step',
      ratio: 50,
      ratioLow: 50,
      ratioHigh: 50,
      shareHigh: 1,
    })
  })

  it('rests on a band whose balance still lies above the threshold', () => {
    const banded = settled(benchWith({ profile: { bands: [band(lower - 0.01, 2)] } }))
    expect(banded).toMatchObject({ state: 'steady', limiter: 'band', ratio: 48 })
    expect(banded.dieC).toBeCloseTo(lower, 9)
  })

  it('alternates at a threshold between the two balances, at exactly that temperature', () => {
    const thresholdC = (top + lower) / 2
    const between = settled(benchWith({ profile: { bands: [band(thresholdC, 2)] } }))
    expect(between).toMatchObject({ state: 'alternating', limiter: 'band', ratioLow: 48, ratioHigh: 50 })
    expect(between.dieC).toBe(thresholdC)
    expect(between.notes.alternatesAtC).toBe(thresholdC)
    expect(between.ratio).toBeGreaterThan(48)
    expect(between.ratio).toBeLessThan(50)
    expect(between.clockMhz).toBeCloseTo((between.ratio ?? 0) * 100, 9)
    // The mean power through cooler and package, and the mean dynamic power of one core, make that temperature.
    const resistance = 0.05 + 0.045 + 0.1
    expect(25 + resistance * (between.powerW ?? 0) + (0.5 / 8) * (between.dynamicW ?? 0)).toBeCloseTo(thresholdC, 9)
  })

  it('alternates half the return below the threshold, and rests where the return is wider than the step', () => {
    const thresholdC = (top + lower) / 2
    const halfGap = (top - lower) / 2
    const returned = settled(benchWith({ profile: { bands: [band(thresholdC, 2)], returnK: halfGap * 0.9 } }))
    expect(returned.state).toBe('alternating')
    expect(returned.dieC).toBeCloseTo(thresholdC - halfGap * 0.45, 9)
    const latched = settled(benchWith({ profile: { bands: [band(thresholdC, 2)], returnK: halfGap * 1.1 } }))
    expect(latched).toMatchObject({ state: 'steady', limiter: 'band', ratio: 48 })
    expect(latched.dieC).toBeCloseTo(lower, 9)
  })

  it('is throttled at the die ceiling, between neighbouring ratio-steps, with no margin', () => {
    const ceilingC = freeC(44) - 0.3
    const throttled = settled(benchWith({ profile: { limits: { dieC: ceilingC }, returnK: 5 } }))
    expect(throttled).toMatchObject({ state: 'throttled', limiter: 'die-limit', dieC: ceilingC, marginW: 0 })
    expect(throttled).toMatchObject({ ratioLow: 43, ratioHigh: 44 })
  })

  it('is over the limit where even the lowest ratio is, and the margin says how much heat is too much', () => {
    const over = settled(benchWith({ part: { ratioLow: 44 }, profile: { limits: { dieC: freeC(44) - 2 } } }))
    expect(over).toMatchObject({ state: 'over-limit', limiter: 'die-limit', ratio: 44 })
    expect(over.dieC).toBeCloseTo(freeC(44), 9)
    expect(over.marginW).toBeLessThan(-5)
  })

  it('runs away where no ratio has a balance, and then has no figure but the wet point', () => {
    const hot = settled(benchWith({ part: { ratioLow: 44, leakageW: 400, leakageDoublingK: 12 } }))
    const { state, limiter, wetC, notes, ...figures } = hot
    expect(state).toBe('runaway')
    expect(limiter).toBe('die-limit')
    expect(wetC).toBeCloseTo(13.8516, 4)
    expect(notes.slope).toBeNull()
    expect(Object.values(figures).every(figure => figure === null)).toBe(true)
  })
})

describe('on any bench', () => {
  it('an alternating mean lies between its two ratios, at a temperature that its mean power makes', () => {
    let alternating = 0
    fc.assert(
      fc.property(benches, corners, fc.double({ min: 45, max: 95, noNaN: true }), (bench, where, dieC) => {
        const held = settled({ ...bench, profile: { ...bench.profile, limits: { dieC } } }, work, where)
        if (held.ratio === null || held.ratioLow === held.ratioHigh) return
        alternating++
        expect(held.ratio).toBeGreaterThanOrEqual((held.ratioLow ?? 0) - 1e-9)
        expect(held.ratio).toBeLessThanOrEqual((held.ratioHigh ?? 0) + 1e-9)
        if (held.shareHigh === 1) return
        const heated =
          (held.plateC ?? 0) +
          bench.part.packageResistanceKPerW * (held.powerW ?? 0) +
          (bench.part.coreResistanceKPerW / 8) * (held.dynamicW ?? 0)
        expect(heated).toBeCloseTo(held.dieC ?? 0, 7)
      }),
      { numRuns: 300 },
    )
    expect(alternating).toBeGreaterThan(30)
  })

  it('a lower step never makes the die hotter', () => {
    fc.assert(
      fc.property(benches, corners, fc.integer({ min: 12, max: 60 }), (bench, where, ratio) => {
        // Behind a steep load line less clock may mean more power: the voltage that less current spares costs more leakage
        // than it, where leakage · exponent · line / V² is above 1. Here it is below that for every bench up to 130 °C.
        const stiff = { ...bench.board, loadLineOhm: Math.min(bench.board.loadLineOhm, 0.00002) }
        const at = (step: number) => {
          const steps = [{ fromCores: 1, toCores: 8, ratio: step }]
          const bare = { ...bench.profile, steps, bands: [], limits: {} }
          const far = { ...bench.part, dieLimitC: 399, ratioLow: step }
          return (
            settled({ ...bench, board: stiff, part: far, profile: bare }, work, where).dieC ?? Number.POSITIVE_INFINITY
          )
        }
        const high = at(ratio)
        if (high < 130) expect(at(ratio - 2)).toBeLessThanOrEqual(high + 1e-9)
      }),
      { numRuns: 300 },
    )
  })
})
