import { describe, expect, it } from 'vitest'
import type { FigureKind } from '../../../server/bench/log/figures.ts'
import { createSeries, type LogSeries } from '../../../server/bench/log/series.ts'
import { periodOf } from '../../../server/bench/statistics/period.ts'
import { trendOf } from '../../../server/bench/statistics/trend.ts'
import { findSteady, longest, type SteadyResult } from '../../../server/bench/steady/stretches.ts'
import { slowestTimeConstantS } from '../../../server/bench/steady/time-constant.ts'
import { settle } from '../../../server/model/settle.ts'
import { simulate } from '../../../server/model/transient/simulate.ts'
import { seededNormal } from '../../harness/random.ts'
import { bareBench } from '../../published/bench.ts'

interface Shape {
  readonly seconds: number
  readonly power?: (timeS: number) => number
  readonly die?: (timeS: number) => number
  readonly stepS?: number
  readonly from?: number
}

const noise = (sd: number, seed: number): (() => number) => {
  const normal = seededNormal(seed)
  return () => sd * normal()
}

function seriesOf({ seconds, power, die, stepS = 1 }: Shape): LogSeries {
  const kinds: FigureKind[] = [...(power ? (['power'] as const) : []), ...(die ? (['die'] as const) : [])]
  const builder = createSeries(kinds)
  for (let time = 0; time < seconds; time += stepS)
    builder.add(time, [...(power ? [power(time)] : []), ...(die ? [die(time)] : [])])
  return builder.finish()
}

const steady = (series: LogSeries, timeConstantS = 100, load: 'work' | 'idle' = 'work'): SteadyResult =>
  findSteady(series, { timeConstantS, load })

/** From rest at 20 W and 30 °C, the load from 60 s to `until`: settles with one time constant of 100 s. */
function warmUp(until: number, sd = 0.2): Pick<Shape, 'power' | 'die'> {
  const [powerNoise, dieNoise] = [noise(0.5, 1), noise(sd, 2)]
  const under = (time: number): boolean => time >= 60 && time < until
  return {
    power: time => (under(time) ? 180 : 20) + powerNoise(),
    die: time => (under(time) ? 64 - 34 * Math.exp(-(time - 60) / 100) : 30) + dieNoise(),
  }
}

describe('steady stretches', () => {
  it('begin when the warm-up is over, and end with the load', () => {
    const { windows } = steady(seriesOf({ seconds: 1500, ...warmUp(1260) }))
    const window = longest(windows)!
    expect(window.fromS).toBeGreaterThan(60 + 3 * 100)
    expect(window.fromS).toBeLessThan(60 + 8 * 100)
    expect(window.toS).toBeGreaterThan(1250)
    expect(window.toS).toBeLessThan(1260)
    const { power, die } = window.figures
    expect(Math.abs(power!.value - 180)).toBeLessThan(3 * power!.standardUncertainty)
    expect(Math.abs(die!.value - 64)).toBeLessThan(Math.max(0.2, 3 * die!.standardUncertainty))
  })

  it('of the machine at rest are those without the load', () => {
    const shape = warmUp(400)
    const { windows } = steady(seriesOf({ seconds: 1500, ...shape }), 100, 'idle')
    expect(longest(windows)!.figures.power!.value).toBeCloseTo(20, 0)
  })

  it('are not found in a run that is still warming up: what remained is said', () => {
    const { windows, unsteady } = steady(seriesOf({ seconds: 220, ...warmUp(220, 0.05) }))
    expect(windows).toEqual([])
    expect(unsteady).toMatchObject({ reason: 'drifting', figure: 'die' })
    expect(unsteady?.reason === 'drifting' && unsteady.drift).toBeGreaterThan(5)
  })

  it('are not found in a run that is shorter than the bench is slow', () => {
    const { unsteady, windowS } = steady(seriesOf({ seconds: 100, power: () => 100, die: () => 50 }), 300)
    expect(unsteady).toEqual({ reason: 'too-short', longestS: 99 })
    expect(windowS).toBe(300)
  })

  it('are not found where readings scatter too much to tell', () => {
    const scatter = noise(40, 4)
    const { unsteady } = steady(seriesOf({ seconds: 150, power: () => 100 + noise(0, 1)(), die: () => 50 + scatter() }))
    expect(unsteady).toMatchObject({ reason: 'too-noisy', figure: 'die' })
  })

  it('are not found without power and die temperature', () => {
    expect(steady(seriesOf({ seconds: 500 })).unsteady).toEqual({ reason: 'nothing-to-judge' })
  })

  it('are not found in a thermal runaway', () => {
    const { windows } = steady(
      seriesOf({ seconds: 600, power: t => 150 + 10 * Math.exp(t / 200), die: t => 60 + 5 * Math.exp(t / 200) }),
    )
    expect(windows).toEqual([])
  })

  it('are two where the clock steps down on the way', () => {
    const dieNoise = noise(0.1, 8)
    const power = (time: number): number => (time < 800 ? 180 : 170)
    const die = (time: number): number => (time < 800 ? 64 : 61 + 3 * Math.exp(-(time - 800) / 30)) + dieNoise()
    const { windows } = steady(seriesOf({ seconds: 1600, power, die }), 60)
    expect(windows).toHaveLength(2)
    expect(windows[0]!.figures.power!.value).toBeCloseTo(180, 1)
    expect(windows[1]!.figures.power!.value).toBeCloseTo(170, 1)
    expect(windows[1]!.figures.die!.value).toBeCloseTo(61, 1)
  })

  it('do not go across a gap', () => {
    const builder = createSeries(['power', 'die'])
    for (let time = 0; time < 800; time++) if (time < 300 || time > 500) builder.add(time, [100, 50])
    const { windows } = steady(builder.finish(), 60)
    // Two time constants from where each piece begins.
    expect(windows.map(({ fromS, toS }) => [fromS, toS])).toEqual([
      [120, 299],
      [621, 799],
    ])
  })

  it('are found in a long log of many rows a point', () => {
    const shape = warmUp(1e9)
    const series = seriesOf({ seconds: 20_000, stepS: 0.1, ...shape })
    expect(series.rowsPerPoint).toBeGreaterThan(16)
    const window = longest(steady(series).windows)!
    expect(window.figures.power!.value).toBeCloseTo(180, 1)
    expect(window.toS - window.fromS).toBeGreaterThan(15_000)
  })

  it('have in their uncertainty a drift that shows', () => {
    const slow = (time: number): number => 50 + (0.3 * time) / 400
    const [window] = steady(seriesOf({ seconds: 600, power: () => 100, die: slow }), 100).windows
    expect(window!.fromS).toBe(200)
    expect(window!.details.die!.drift).toBeCloseTo(0.3, 2)
    expect(window!.figures.die!.standardUncertainty).toBeGreaterThan(0.3 / Math.sqrt(3) - 0.01)
  })

  it('begin where a warm-up is over: what is left of it is less than the mean is uncertain by', () => {
    // A die that comes to 64 °C by one time constant of 90 s, which is somewhat less than the bound on it.
    const off: number[] = []
    for (let seed = 1; seed <= 60; seed++) {
      const readings = noise(0.5, seed)
      const die = (time: number): number => 64 - 30 * Math.exp(-time / 90) + readings()
      const window = longest(steady(seriesOf({ seconds: 1500, power: () => 180, die }), 100).windows)!
      const { value, standardUncertainty } = window.figures.die!
      off.push((value - 64) / standardUncertainty)
    }
    // In a log this long the mean is known to 0.02 K, far better than any bench repeats itself.
    expect(Math.abs(off.reduce((sum, one) => sum + one, 0) / off.length)).toBeLessThan(1)
    expect(off.filter(one => Math.abs(one) < 1.96).length).toBeGreaterThan(50)
  })
})

describe('a bench that is slower than it is said to be', () => {
  /** Correlated readings, as a die's are. */
  const hanging = (sd: number, seed: number): (() => number) => {
    const normal = seededNormal(seed)
    let before = normal()
    return () => {
      before = 0.6 * before + 0.8 * normal()
      return sd * before
    }
  }
  const towards = (slower: number, size: number, seed: number): LogSeries => {
    const [power, die] = [hanging(0.8, seed), hanging(0.4, seed + 500)]
    const left = (time: number): number => Math.exp(-time / (120 * slower))
    return seriesOf({ seconds: 1200, power: t => 120 - 3 * left(t) + power(), die: t => 60 - size * left(t) + die() })
  }

  it.each([1, 2, 5])('by a factor of %d is not taken to stand still where it does not', slower => {
    let [found, covered] = [0, 0]
    for (let seed = 1; seed <= 60; seed++) {
      const window = longest(steady(towards(slower, slower === 5 ? 12 : 25, seed), 120).windows)
      if (window === undefined) continue
      found++
      const { value, standardUncertainty } = window.figures.die!
      expect(Math.abs(value - 60)).toBeLessThan(1)
      if (Math.abs(value - 60) < 2 * standardUncertainty) covered++
    }
    // Ten minutes are ten time constants of the quick one, five of the next, and two of the slow one.
    if (slower === 1) expect(found).toBe(60)
    if (slower === 2) expect(found).toBeGreaterThan(30)
    if (slower === 5) expect(found).toBe(0)
    else expect(covered / found).toBeGreaterThan(0.85)
  })

  it('and drifts evenly to the end has no steady stretch', () => {
    // As the air warms: 4 K in twenty minutes, a fifth of a kelvin in each window.
    const [power, die] = [hanging(0.5, 7), hanging(0.2, 8)]
    const series = seriesOf({ seconds: 1200, power: () => 105 + power(), die: t => 50 + (4 * t) / 1200 + die() })
    for (const timeConstantS of [20, 40, 65, 100]) {
      expect(steady(series, timeConstantS)).toMatchObject({
        windows: [],
        unsteady: { reason: 'drifting', figure: 'die' },
      })
    }
  })

  it('counts by the last of its stretches where they are about as long', () => {
    const [power, die] = [noise(0.5, 3), noise(0.1, 4)]
    const level = (t: number): number => (t < 700 ? 0 : 1)
    const series = seriesOf({
      seconds: 1400,
      power: t => 150 + 10 * level(t) + power(),
      die: t => 60 + 3 * level(t) + die(),
    })
    const { windows } = steady(series, 60)
    expect(windows).toHaveLength(2)
    expect(longest(windows)!.figures.die!.value).toBeCloseTo(63, 1)
  })
})

describe('the step of a sensor', () => {
  it.each([1, 0.5, 0.1])('of %d is in the uncertainty once, however long the log', step => {
    const small = noise(step / 12, 9)
    const [truth, off] = [64 + 0.4 * step, noise(step / 12, 10)]
    const rounded = (value: number): number => Math.round(value / step) * step
    const series = seriesOf({
      seconds: 3000,
      power: () => rounded(120.4 * step + small()),
      die: () => rounded(truth + off()),
    })
    const { power, die } = longest(steady(series).windows)!.figures
    for (const reading of [power!, die!]) {
      expect(reading.standardUncertainty).toBeGreaterThan(step / Math.sqrt(12) - 1e-9)
      expect(reading.standardUncertainty).toBeLessThan(step)
    }
    expect(Math.abs(die!.value - truth)).toBeLessThan(2 * die!.standardUncertainty)
  })

  it('is not where readings move across it, nor where it is fine', () => {
    const [wide, fine] = [noise(3, 11), noise(0.3, 12)]
    const series = seriesOf({
      seconds: 3000,
      power: () => Math.round(120.4 + wide()),
      die: () => Math.round(100 * (64 + fine())) / 100,
    })
    const { power, die } = longest(steady(series).windows)!.figures
    expect(power!.standardUncertainty).toBeLessThan(0.12)
    expect(Math.abs(power!.value - 120.4)).toBeLessThan(0.25)
    expect(die!.standardUncertainty).toBeLessThan(0.02)
  })
})

describe('a load that swings evenly', () => {
  it.each([
    [60, 0.4],
    [47.3, 0.5],
    [20, 0.3],
  ])('with a period of %d s counts by its mean over whole periods', (period, share) => {
    let covered = 0
    const rounds = 40
    for (let seed = 1; seed <= rounds; seed++) {
      const [power, die] = [noise(0.8, seed), noise(0.3, seed + 100)]
      const isHigh = (t: number): boolean => ((t + 7 * seed) % period) / period < share
      const series = seriesOf({ seconds: 1200, power: t => (isHigh(t) ? 125 : 115) + power(), die: () => 60 + die() })
      const window = longest(steady(series, 120).windows)!
      const { value, standardUncertainty } = window.figures.power!
      expect(standardUncertainty).toBeLessThan(0.5)
      expect(window.toS - window.fromS).toBeGreaterThan(110)
      if (Math.abs(value - (115 + 10 * share)) < 2 * standardUncertainty) covered++
    }
    expect(covered / rounds).toBeGreaterThan(0.85)
  })

  it('is missing where it only scatters, or swings too seldom to tell', () => {
    const scatter = noise(1, 5)
    expect(periodOf(Float64Array.from({ length: 1000 }, scatter))).toBeUndefined()
    expect(periodOf(Float64Array.from({ length: 1000 }, (_, at) => Math.sin(at / 60)))).toBeUndefined()
    expect(periodOf(Float64Array.from({ length: 1000 }, (_, at) => Math.sin((2 * Math.PI * at) / 33.4)))).toBeCloseTo(
      33.4,
      1,
    )
  })
})

describe('the mean over a steady stretch', () => {
  it('covers the truth 95 times in a hundred, for correlated readings', () => {
    let covered = 0
    const rounds = 300
    for (let round = 0; round < rounds; round++) {
      const normal = seededNormal(1000 + round)
      let before = normal()
      const die = (): number => {
        before = 0.7 * before + Math.sqrt(1 - 0.49) * normal()
        return 64 + 0.3 * before
      }
      const window = longest(steady(seriesOf({ seconds: 600, power: () => 150, die }), 120).windows)!
      const { value, standardUncertainty } = window.figures.die!
      if (Math.abs(value - 64) < 1.96 * standardUncertainty) covered++
    }
    // A drift that merely seems to show makes the uncertainty larger, never smaller.
    expect(covered / rounds).toBeGreaterThan(0.92)
  })
})

describe('a trend', () => {
  it('is exact on a line and leaves out what has no value', () => {
    const times = Float64Array.from([0, 1, 2, 3, 4])
    const values = Float64Array.from([1, 3, Number.NaN, 7, 9])
    expect(trendOf(times, values, 0, 5)).toMatchObject({ mean: 5, slope: 2 })
    expect(trendOf(times, values, 0, 3)).toBeUndefined()
    expect(trendOf(Float64Array.from([1, 1, 1]), values.slice(0, 3), 0, 3)).toBeUndefined()
  })
})

describe('the slowest time constant', () => {
  it('is not below that of the simulated bench', () => {
    const bench = bareBench({ cores: 8, switchingNf: 12, leakageW: 25, leakageAtC: 60 })
    const corner = { airC: 22, humidityPct: 50 }
    const load = { kind: 'work', cores: bench.part.cores, activity: 1, vector: false } as const
    const settled = settle(bench, load, corner)!
    const run = simulate(bench, load, corner, { overS: 2000, sampleS: 1 })!
    const { timeS, dieC } = run.series
    const end = settled.dieC!
    // Late in the run only the slowest mode is left: the slope of the logarithm of what remains.
    const at = (seconds: number): number => end - dieC[timeS.findIndex(time => time >= seconds)]!
    const measured = 100 / Math.log(at(100) / at(200))
    const bound = slowestTimeConstantS(bench, settled)
    expect(bound).toBeGreaterThan(0.98 * measured)
    expect(bound).toBeLessThan(1.6 * measured)
  })
})
