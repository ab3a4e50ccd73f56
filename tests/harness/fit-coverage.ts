/** How often fits cover the constants of drawn benches, and what those do at settings that were not measured. */

import { type LogEvidence, logEvidence } from '../../server/bench/likelihood/log.ts'
import { usualLoop } from '../../server/bench/likelihood/priors.ts'
import { type PointEvidence, pointEvidence } from '../../server/bench/likelihood/seen-point.ts'
import { usualWarming } from '../../server/bench/likelihood/sitting.ts'
import { fitEvidence } from './at-once.ts'
import {
  benchAt,
  type Draws,
  drawnConstants,
  drawnSetting,
  drawnSitting,
  drawnTruth,
  drawsFrom,
  seenPoint,
  stateOf,
} from './drawn-benches.ts'
import { type HeatOptions, heatedLog, logPointOf } from './drawn-logs.ts'

/** What is seen of each bench: points alone, or half of them short logs, of one kind. */
const scenarios = {
  points: undefined,
  logs: {},
  spikes: { spikes: 0.01 },
  'strong autocorrelation': { kept: 0.98 },
  drift: { driftK: 2 },
  alternation: { swing: 0.02 },
} as const satisfies Readonly<Record<string, Partial<HeatOptions> | undefined>>
export type Scenario = keyof typeof scenarios

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

/** @param from first seed */
export function fitCoverage(scenario: Scenario, count: number, from = 1): FitCoverage {
  const more = scenarios[scenario]
  const constants = drawnConstants.map(({ name }) => ({ name, covered: 0, bias: 0, learned: 0 }))
  let [benches, predictions, power, die] = [0, 0, 0, 0]
  for (let seed = from; seed < from + count; seed++) {
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
    // A bench that boils over at nearly every setting.
    if (points.length + logs.length < 3) continue
    const posterior = fitEvidence(unknowns, points, logs, { seed })?.posterior
    if (posterior === undefined) throw new Error(`bench ${seed} has no fit`)
    benches++
    constants.forEach((one, index) => {
      const own = truth[index]!
      if (
        covers(
          posterior.draws.map(draw => draw[index]!),
          own,
        )
      )
        one.covered++
      const sd = Math.sqrt(posterior.covariance[index * unknowns.length + index]!)
      one.bias += (posterior.mean[index]! - own) / sd
      one.learned += 1 - (sd / unknowns[index]!.sd) ** 2
    })
    for (let round = 0; round < 3; round++) {
      const setting = drawnSetting(draws)
      const state = stateOf(bench, setting)
      if (state === undefined) continue
      predictions++
      // Without a balance it is hotter than any.
      const states = posterior.draws.filter((_, at) => at % 4 === 0).map(draw => stateOf(benchAt(draw), setting))
      if (
        covers(
          states.map(one => one?.powerW ?? 1e9),
          state.powerW,
        )
      )
        power++
      if (
        covers(
          states.map(one => one?.dieC ?? 1e9),
          state.dieC,
        )
      )
        die++
    }
  }
  const means = constants.map(one => ({ ...one, bias: one.bias / benches, learned: one.learned / benches }))
  return { benches, constants: means, predictions, power, die }
}

if (import.meta.main) {
  const [scenario = 'points', count = '40', from = '1'] = process.argv.slice(2)
  const start = process.cpuUsage().user
  const found = fitCoverage(scenario as Scenario, Number(count), Number(from))
  for (const { name, covered, bias, learned } of found.constants) {
    const share = (covered / found.benches).toFixed(3)
    console.log(`${name.padEnd(20)} ${share}  bias ${bias.toFixed(2)}  learned ${learned.toFixed(2)}`)
  }
  const { benches, predictions, power, die } = found
  const share = (hits: number): string => (hits / predictions).toFixed(3)
  const pooled = found.constants.reduce((sum, { covered }) => sum + covered, 0) / benches / found.constants.length
  const seconds = (process.cpuUsage().user - start) / 1e6 / benches
  console.log(
    `${benches} benches: all ${pooled.toFixed(3)}, power ${share(power)}, die ${share(die)}, ${seconds.toFixed(2)} s`,
  )
}
