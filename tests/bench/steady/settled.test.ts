import { describe, expect, it } from 'vitest'
import { logBlocks } from '../../../server/bench/likelihood/blocks.ts'
import type { LogSeries } from '../../../server/bench/log/series.ts'
import { type LogFit, settledFigures } from '../../../server/bench/steady/settled.ts'
import { secondsToHalve, secondsToSettle } from '../../../server/bench/steady/wait.ts'
import { fitLog, settledLog } from '../../harness/at-once.ts'
import { drawsFrom } from '../../harness/drawn-benches.ts'
import {
  type HeatOptions,
  logBenchAt,
  logConstants,
  logPointOf,
  placeOf,
  prefixOf,
  type SteppedLog,
  slowLoop,
  slowTruth,
  steppedLog,
} from '../../harness/drawn-logs.ts'

/** A loop with a time constant of 12 min under a step of 200 W; a sample in every run, `LOGS=300` for all of it. */
const logs = (usual: number): number => Number(process.env.LOGS ?? usual)
const SLOW_S = 720

const unknowns = logConstants.map(({ value, spread }) => ({ mean: Math.log(value), sd: spread }))
const bench = { cooler: slowLoop, benchAt: logBenchAt, unknowns: unknowns.map((_, index) => index) }

interface Case {
  readonly log: SteppedLog
  readonly fitted: (seconds?: number) => LogFit
  readonly truth: Float64Array
}

const cases = new Map<string, Case>()

/** The case of a seed; what several tests ask of it is made once. */
function caseOf(seed: number, options: Omit<HeatOptions, 'draws'>): Case {
  const key = JSON.stringify([seed, options])
  const found = cases.get(key) ?? makeCase(seed, options)
  cases.set(key, found)
  return found
}

function makeCase(seed: number, options: Omit<HeatOptions, 'draws'>): Case {
  const draws = drawsFrom(seed)
  const truth = slowTruth(draws, SLOW_S)
  const log = steppedLog(truth, { draws, ...options })
  // The room's reading is the same for the whole log and for its beginning.
  const point = logPointOf(log, draws)
  const known = new Map<number | undefined, LogFit>()
  const fitted = (seconds?: number): LogFit => {
    const found = known.get(seconds) ?? fittedTo(seconds)
    known.set(seconds, found)
    return found
  }
  const fittedTo = (seconds: number | undefined): LogFit => {
    const own = seconds === undefined ? log : prefixOf(log, seconds)
    const found = fitLog({ ...point, blocks: logBlocks(own.series, 'work') }, bench, unknowns)
    if (found === undefined) throw new Error('a log says nothing')
    return found
  }
  return { log, fitted, truth }
}

const median = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!
const radiator = placeOf('radiator 100 %')
const radiatorSd = ({ covariance }: LogFit): number => Math.sqrt(covariance[radiator * unknowns.length + radiator]!)

describe('what a log settles at', () => {
  it.each([
    [5, ['die', 'coolant'], 6, 0.3],
    [10, ['die', 'coolant'], 2, 0.12],
    [10, ['die'], 3, 0.16],
    [20, ['die', 'coolant'], 0.5, 0.09],
  ] as const)('is known from %d min with %j', { timeout: 600_000 }, (minutes, sensors, mostK, mostShare) => {
    const rounds = logs(9)
    const [ofDie, ofRadiator]: [number[], number[]] = [[], []]
    let covered = 0
    for (let seed = 1; seed <= rounds; seed++) {
      const { log, fitted } = caseOf(seed, { seconds: 60 * minutes, sensors })
      const found = fitted()
      const { die } = settledFigures(found)!
      ofDie.push(die.standardUncertainty)
      ofRadiator.push(radiatorSd(found))
      // With the scatter between sittings.
      if (Math.abs(die.value - log.settledDieC) < 1.96 * Math.hypot(0.7, die.standardUncertainty)) covered++
    }
    // Medians of so few are off by some tenths of themselves; the limits are for three hundred.
    const slack = 1 + 1.8 / Math.sqrt(rounds)
    expect(median(ofDie)).toBeLessThan(mostK * slack)
    expect(median(ofRadiator)).toBeLessThan(mostShare * slack)
    if (minutes >= 10) {
      const asked = sensors.length === 1 ? 0.88 : 0.92
      expect(covered / rounds).toBeGreaterThan(asked - 3 * Math.sqrt((asked * (1 - asked)) / rounds))
    }
  })

  it('is never known worse for more of the same log', { timeout: 600_000 }, () => {
    const rounds = logs(8)
    let agree = 0
    for (let seed = 1; seed <= rounds; seed++) {
      const { fitted } = caseOf(seed, { seconds: 1200, sensors: ['die', 'coolant'] })
      const [part, whole] = [fitted(400 + 80 * (seed % 6)), fitted()].map(one => settledFigures(one)!.die)
      expect(whole!.standardUncertainty / part!.standardUncertainty, `log ${seed}`).toBeLessThan(1.02)
      const joint = Math.hypot(part!.standardUncertainty, whole!.standardUncertainty)
      if (Math.abs(part!.value - whole!.value) < 2 * joint) agree++
    }
    expect(agree / rounds).toBeGreaterThan(0.88 - 3 * Math.sqrt((0.88 * 0.12) / rounds))
  })

  it('is known twice as well after as many more minutes as are said', { timeout: 600_000 }, () => {
    const rounds = logs(9)
    const [early, late]: [number[], number[]] = [[], []]
    for (let seed = 1; seed <= rounds; seed++) {
      const whole = caseOf(seed, { seconds: 1800, sensors: ['die', 'coolant'] })
      const sdAfter = (seconds: number): number =>
        settledFigures(whole.fitted(630 + Math.round(seconds)))!.die.standardUncertainty
      const more = secondsToHalve(whole.fitted(630))!
      const now = sdAfter(0)
      early.push(sdAfter((2 / 3) * more) / now)
      late.push(sdAfter((4 / 3) * more) / now)
    }
    // Within a third of what is said.
    expect(median(early)).toBeGreaterThan(0.5)
    expect(median(late)).toBeLessThan(0.5)
  })
})

/** A die that is so near to its end has settled. */
const SETTLED_K = 0.5

describe('the wait until a log settles', () => {
  it('is as long as the same bench takes without noise', { timeout: 600_000 }, () => {
    const rounds = logs(5)
    const shares: number[] = []
    for (let seed = 1; seed <= rounds; seed++) {
      const { fitted, truth } = caseOf(seed, { seconds: 1200, sensors: ['die', 'coolant'] })
      const quiet = steppedLog(truth, {
        draws: drawsFrom(seed + 1000),
        ...{ seconds: 7200, sensors: ['die'], noiseK: 0, noiseW: 0 },
      })
      const reached = quiet.series.figures.die!.findIndex(die => Math.abs(die - quiet.settledDieC) < SETTLED_K)
      expect(reached).toBeGreaterThan(1230)
      shares.push(secondsToSettle(fitted(), SETTLED_K)! / (reached - 1230))
    }
    expect(median(shares)).toBeGreaterThan(0.75)
    expect(median(shares)).toBeLessThan(1.33)
  })

  it('is over at once for a log that has settled, and longer the earlier it is asked for', () => {
    const { fitted } = caseOf(2, { seconds: 7200, sensors: ['die', 'coolant'] })
    expect(secondsToSettle(fitted(), SETTLED_K)).toBe(0)
    const [early, late] = [900, 1500].map(seconds => secondsToSettle(fitted(seconds), SETTLED_K)!)
    expect(early! - late!).toBeGreaterThan(300)
    expect(early! - late!).toBeLessThan(900)
  })
})

describe('an awkward log', () => {
  const { log, fitted } = caseOf(3, { seconds: 900, sensors: ['die', 'coolant'] })
  const settledOf = (series: LogSeries): { readonly value: number; readonly standardUncertainty: number } => {
    const draws = drawsFrom(3)
    const point = { ...logPointOf(log, draws), blocks: logBlocks(series, 'work') }
    return settledFigures(fitLog(point, bench, unknowns)!)!.die
  }
  const changed = (change: (values: Float64Array, kind: string) => Float64Array, keep?: (at: number) => boolean) => {
    const figures = Object.fromEntries(
      Object.entries(log.series.figures).map(([kind, values]) => [
        kind,
        keep === undefined ? change(values, kind) : change(values, kind).filter((_, at) => keep(at)),
      ]),
    )
    const times = keep === undefined ? log.series.timeS : log.series.timeS.filter((_, at) => keep(at))
    return { ...log.series, timeS: times, fromS: times, toS: times, figures }
  }
  const whole = settledFigures(fitted())!.die
  const same = (found: ReturnType<typeof settledOf>): void => {
    const joint = Math.hypot(found.standardUncertainty, whole.standardUncertainty, 0.3)
    expect(Math.abs(found.value - whole.value)).toBeLessThan(3 * joint)
  }

  it('with a gap and blank cells is settled as well', () => {
    const blank = changed(
      (values, kind) => values.map((value, at) => (kind !== 'power' && at % 7 === 3 ? Number.NaN : value)),
      at => at < 300 || at > 380,
    )
    const { blocks } = logBlocks(blank, 'work')
    expect(new Set(blocks.map(({ episode }) => episode))).toEqual(new Set([0, 1]))
    same(settledOf(blank))
  })

  it('whose load comes and goes at every reading ends in as few blocks as any', () => {
    const flickering = changed((values, kind) =>
      kind === 'power' ? values.map((value, at) => value * (at % 2 === 0 ? 1 : 0.4)) : values,
    )
    const { blocks } = logBlocks(flickering, 'work')
    expect(blocks.length).toBeLessThan(100)
    expect(settledLog(flickering, 'work', undefined)).toBeDefined()
  })

  it('with spikes of power is settled as well', () => {
    same(
      settledOf(
        changed((values, kind) => (kind === 'power' ? values.map((v, at) => v + (at % 97 === 5 ? 60 : 0)) : values)),
      ),
    )
  })

  it('without a bench has the means of its end', () => {
    const { figures, toGoK } = settledLog(log.series, 'work', undefined)!
    expect(toGoK).toBeUndefined()
    const last = log.series.figures.die!.slice(-60)
    expect(Math.abs(figures.die!.value - last.reduce((sum, one) => sum + one, 0) / 60)).toBeLessThan(2)
    expect(Object.keys(figures)).toEqual(expect.arrayContaining(['die', 'coolant', 'power', 'clock', 'voltage']))
  })

  it('of the machine at rest has what it reads without the load', () => {
    const { figures, toS } = settledLog(log.series, 'idle', undefined)!
    expect(toS).toBeLessThan(32)
    expect(figures.power!.value).toBeLessThan(60)
  })

  it('of three readings says nothing', () => {
    expect(settledLog(prefixOf(log, 3).series, 'work', undefined)).toBeUndefined()
  })
})
