/** How often fits cover the constants of drawn benches, and what those do at settings that were not measured. */

import { type LogEvidence, logEvidence } from '../../server/bench/likelihood/log.ts'
import { usualLoop } from '../../server/bench/likelihood/priors.ts'
import { type PointEvidence, pointEvidence } from '../../server/bench/likelihood/seen-point.ts'
import { usualWarming } from '../../server/bench/likelihood/sitting.ts'
import { factor } from '../../server/bench/statistics/cholesky.ts'
import type { Posterior } from '../../server/bench/statistics/posterior.ts'
import { fitEvidence } from './at-once.ts'
import {
  benchAt,
  type Draws,
  drawnConstants,
  drawnLimits,
  drawnSetting,
  drawnSitting,
  drawnTruth,
  drawsFrom,
  heldGhz,
  seenPoint,
  stateOf,
} from './drawn-benches.ts'
import { type HeatOptions, heatedLog, logPointOf } from './drawn-logs.ts'

/** What is seen of each bench: points alone, or half of them short logs, of one kind. */
export const scenarios = {
  points: undefined,
  logs: {},
  spikes: { spikes: 0.01 },
  'strong autocorrelation': { kept: 0.98 },
  drift: { driftK: 2 },
  alternation: { swing: 0.02 },
} as const satisfies Readonly<Record<string, Partial<HeatOptions> | undefined>>
export type Scenario = keyof typeof scenarios

/** What the fit of one bench came to beside the truth. */
export interface BenchFit {
  /** By constant: (found − true)/±, whether the 95 % interval has the true value, and what was learned. */
  readonly z: readonly number[]
  readonly covered: readonly boolean[]
  readonly learned: readonly number[]
  /** At settings that were not measured: whether the intervals of power and die have the true values. */
  readonly power: readonly boolean[]
  readonly die: readonly boolean[]
  /** The same from what a fit writes: value, ± and correlations of each constant. */
  readonly writtenPower: readonly boolean[]
  readonly writtenDie: readonly boolean[]
  /** The clock that a limit of power or of the die leaves there, in steps; from the draws, and from what is written. */
  readonly clock: readonly boolean[]
  readonly writtenClock: readonly boolean[]
  /** Whether the 95 % interval has by how much the room warmed; undefined without logs. */
  readonly warming: boolean | undefined
}

export interface FitCoverage {
  readonly benches: number
  readonly constants: readonly {
    readonly name: string
    /** Benches whose 95 % interval has the true value. */
    readonly covered: number
    /** Mean of (found − true)/±. */
    readonly bias: number
    readonly learned: number
  }[]
  readonly predictions: number
  /** Of those, intervals that have the true value. */
  readonly power: number
  readonly die: number
  readonly writtenPower: number
  readonly writtenDie: number
  readonly clock: number
  readonly writtenClock: number
  /** Benches with logs, and intervals of the room's warming among them that have the true value. */
  readonly logged: number
  readonly warming: number
}

const unknowns = [...drawnConstants.map(({ value, spread }) => ({ mean: Math.log(value), sd: spread })), usualWarming]
const all = drawnConstants.map((_, index) => index)
const sensorSets = [['die'], ['die', 'coolant'], ['die', 'plate', 'coolant']] as const

function logOf(
  bench: ReturnType<typeof benchAt>,
  setting: ReturnType<typeof drawnSetting>,
  draws: Draws,
  more: Partial<HeatOptions>,
): LogEvidence | undefined {
  const sensors = sensorSets[Math.floor(3 * draws.uniform())] ?? sensorSets[0]
  const seconds = 300 + 300 * draws.uniform()
  const log = heatedLog(bench, setting, { draws, seconds, sensors, stepS: 2, sitting: drawnSitting(draws), ...more })
  if (log === undefined) return undefined
  // The sensors of power and voltage are off as well.
  const [powerShare, voltageV] = [1 + 0.02 * draws.normal(), 0.005 * draws.normal()]
  const figures = {
    ...log.series.figures,
    power: log.series.figures.power!.map(value => value * powerShare),
    voltage: log.series.figures.voltage!.map(value => value + voltageV),
  }
  const point = logPointOf({ ...log, series: { ...log.series, figures } }, draws, setting.cores)
  return logEvidence(point, { cooler: usualLoop, benchAt, unknowns: all, warming: all.length })
}

/** Whether the 95 % interval of the values has the truth. */
function covers(values: number[], truth: number): boolean {
  values.sort((a, b) => a - b)
  const at = (share: number): number => values[Math.round(share * (values.length - 1))]!
  return truth >= at(0.025) && truth <= at(0.975)
}

/** Draws from value, ± and correlations alone. */
function writtenDraws({ mean, covariance }: Posterior, { normal }: Draws): readonly Float64Array[] {
  const n = unknowns.length
  const l = Float64Array.from(covariance)
  for (let i = 0; i < n; i++) l[i * n + i]! += 1e-12
  if (!factor(l, n)) throw new Error('a covariance is not positive')
  return Array.from({ length: 400 }, () => {
    const own = Float64Array.from({ length: n }, normal)
    return mean.map((value, i) => {
      let sum = value
      for (let j = 0; j <= i; j++) sum += l[i * n + j]! * own[j]!
      return sum
    })
  })
}

/** Draws a bench and what is seen of it, and fits that; undefined where the bench boils over at nearly every setting. */
export function benchFit(scenario: Scenario, seed: number): BenchFit | undefined {
  const more: Partial<HeatOptions> | undefined = scenarios[scenario]
  const draws = drawsFrom(seed)
  const truth = drawnTruth(draws)
  const bench = benchAt(truth)
  const points: PointEvidence[] = []
  const logs: LogEvidence[] = []
  const wanted = 3 + Math.floor(6 * draws.uniform())
  for (let round = 0; round < 400 && points.length + logs.length < wanted; round++) {
    const setting = drawnSetting(draws)
    if (more === undefined || draws.uniform() < 0.5) {
      const point = seenPoint(bench, setting, draws)
      if (point !== undefined) points.push(pointEvidence(point, usualLoop, benchAt, all))
    } else {
      const log = logOf(bench, setting, draws, more)
      if (log !== undefined) logs.push(log)
    }
  }
  if (points.length + logs.length < 3) return undefined
  const posterior = fitEvidence(unknowns, points, logs, { seed })?.posterior
  if (posterior === undefined) throw new Error(`bench ${seed} has no fit`)
  const spreads = all.map(index => Math.sqrt(posterior.covariance[index * unknowns.length + index]!))
  const [power, die]: [boolean[], boolean[]] = [[], []]
  const [writtenPower, writtenDie]: [boolean[], boolean[]] = [[], []]
  const [clock, writtenClock]: [boolean[], boolean[]] = [[], []]
  const limitDraws = drawsFrom(seed + 2e6)
  const own = posterior.draws.filter((_, at) => at % 4 === 0)
  // Draws of their own, so that the settings stay those of the seed.
  const written = writtenDraws(posterior, drawsFrom(seed + 1e6))
  for (let round = 0; round < 3; round++) {
    const setting = drawnSetting(draws)
    const state = stateOf(bench, setting)
    if (state === undefined) continue
    const statesOf = (all: readonly Float64Array[]) => all.map(draw => stateOf(benchAt(draw), setting))
    // Without a balance it is hotter than any.
    const has = (states: ReturnType<typeof statesOf>, kind: 'powerW' | 'dieC'): boolean =>
      covers(
        states.map(one => one?.[kind] ?? 1e9),
        state[kind],
      )
    const [fromDraws, fromFile] = [statesOf(own), statesOf(written)]
    power.push(has(fromDraws, 'powerW'))
    die.push(has(fromDraws, 'dieC'))
    writtenPower.push(has(fromFile, 'powerW'))
    writtenDie.push(has(fromFile, 'dieC'))
    const limits = drawnLimits(limitDraws, setting)
    const held = heldGhz(bench, setting, limits)
    const hasClock = (all: readonly Float64Array[]): boolean =>
      covers(
        all.map(draw => heldGhz(benchAt(draw), setting, limits)),
        held,
      )
    clock.push(hasClock(own))
    writtenClock.push(hasClock(written))
  }
  return {
    z: all.map(index => (posterior.mean[index]! - truth[index]!) / spreads[index]!),
    covered: all.map(index =>
      covers(
        posterior.draws.map(draw => draw[index]!),
        truth[index]!,
      ),
    ),
    learned: all.map(index => 1 - (spreads[index]! / unknowns[index]!.sd) ** 2),
    power,
    die,
    writtenPower,
    writtenDie,
    clock,
    writtenClock,
    warming:
      logs.length === 0
        ? undefined
        : covers(
            posterior.draws.map(draw => draw[all.length]!),
            more?.driftK ?? 0,
          ),
  }
}

/** What the fits of many benches come to together. */
export function coverageOf(fits: readonly BenchFit[]): FitCoverage {
  const mean = (of: (fit: BenchFit) => number): number => fits.reduce((sum, fit) => sum + of(fit), 0) / fits.length
  const hits = (of: (fit: BenchFit) => readonly boolean[]): number => fits.flatMap(of).filter(Boolean).length
  return {
    benches: fits.length,
    constants: drawnConstants.map(({ name }, index) => ({
      name,
      covered: fits.filter(fit => fit.covered[index]).length,
      bias: mean(fit => fit.z[index]!),
      learned: mean(fit => fit.learned[index]!),
    })),
    predictions: fits.flatMap(fit => fit.power).length,
    power: hits(fit => fit.power),
    die: hits(fit => fit.die),
    writtenPower: hits(fit => fit.writtenPower),
    writtenDie: hits(fit => fit.writtenDie),
    clock: hits(fit => fit.clock),
    writtenClock: hits(fit => fit.writtenClock),
    logged: fits.filter(fit => fit.warming !== undefined).length,
    warming: hits(fit => [fit.warming === true]),
  }
}

/** @param from first seed */
export function fitCoverage(scenario: Scenario, count: number, from = 1): FitCoverage {
  return coverageOf(Array.from({ length: count }, (_, at) => benchFit(scenario, from + at) ?? []).flat())
}
