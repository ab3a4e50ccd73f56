/** Logs of a slow loop that is heated by a step of power: followed by short steps, then read with noise. */

import { logBlocks } from '../../server/bench/likelihood/blocks.ts'
import {
  type BenchConstant,
  benchOf,
  constantIn,
  coolerPlaces,
  partPlaces,
} from '../../server/bench/likelihood/constants.ts'
import type { LogPoint } from '../../server/bench/likelihood/log-point.ts'
import { usualLoop } from '../../server/bench/likelihood/priors.ts'
import type { FigureKind } from '../../server/bench/log/figures.ts'
import type { LogSeries } from '../../server/bench/log/series.ts'
import type { LoopCooler, Part } from '../../server/model/types.ts'
import { CORES, type Draws, priorOf, type Setting, type Sitting, usualPart } from './drawn-benches.ts'

/** A part that leaks little, so that the step stays a step. */
const quietPart: Part = { ...usualPart, leakageW: 5 }

/** A loop with a large tank. */
export const slowLoop: LoopCooler = {
  ...usualLoop,
  radiator: [{ dutyPct: 100, resistanceKPerW: 0.09 }],
  coolantHeatJPerK: 8000,
}

export const logConstants: readonly BenchConstant[] = [
  ...partPlaces('sample'),
  ...coolerPlaces('slow-loop', slowLoop, 'plain'),
].map(place => ({
  ...place,
  value: constantIn(place, place.target === 'part' ? quietPart : slowLoop),
  spread: priorOf(place).spread,
}))

/** The bench at logarithms of all constants. */
export const logBenchAt: (at: ArrayLike<number>) => { readonly part: Part; readonly cooler: LoopCooler } = benchOf(
  quietPart,
  slowLoop,
  logConstants.map((place, at) => ({ place, at })),
)

export const placeOf = (name: string): number => logConstants.findIndex(one => one.name === name)

/** Whether such a bench stands still under a step of 200 W in any room. */
function isSound(truth: Float64Array): boolean {
  const { part, cooler } = logBenchAt(truth)
  const dynamicW = 200 - part.sharedPowerW - part.leakageW
  const theta = cooler.radiator[0]!.resistanceKPerW + cooler.blockResistanceKPerW + part.packageResistanceKPerW
  let dieC = 30
  for (let round = 0; round < 300 && dieC < 200; round++) {
    const leakW = part.leakageW * 2 ** ((dieC - 60) / part.leakageDoublingK)
    dieC = 32 + theta * (dynamicW + leakW + part.sharedPowerW) + (part.coreResistanceKPerW * dynamicW) / CORES
  }
  return dynamicW > 60 && dieC < 110
}

/** Constants drawn from their priors, given that the loop's time constant is `slowS`. */
export function slowTruth(draws: Draws, slowS: number): Float64Array {
  for (;;) {
    const truth = anyTruth(draws, slowS)
    if (isSound(truth)) return truth
  }
}

function anyTruth({ normal }: Draws, slowS: number): Float64Array {
  const truth = Float64Array.from(logConstants, ({ value, spread }) => Math.log(value) + spread * normal())
  const [radiator, heat] = [placeOf('radiator 100 %'), placeOf('coolant-heat')]
  const [a, b] = [logConstants[radiator]!, logConstants[heat]!]
  const further = Math.log(slowS / (a.value * b.value))
  const total = a.spread ** 2 + b.spread ** 2
  const own =
    Math.log(a.value) + (further * a.spread ** 2) / total + ((a.spread * b.spread) / Math.sqrt(total)) * normal()
  truth[radiator] = own
  truth[heat] = Math.log(slowS) - own
  return truth
}

export interface HeatOptions {
  readonly draws: Draws
  readonly seconds: number
  readonly sensors: readonly ('die' | 'plate' | 'coolant')[]
  readonly restS?: number
  readonly stepS?: number
  readonly noiseK?: number
  readonly noiseW?: number
  /** Correlation of readings a second apart. */
  readonly kept?: number
  /** By how much the room warms over the log. */
  readonly driftK?: number
  /** Share of the power's readings that are off by 60 W. */
  readonly spikes?: number
  /** Ratios that alternate: by which share the faster is above the mean, and its voltage with it. */
  readonly swing?: number
  readonly sitting?: Sitting
  /** What each sensor is off by, in its usual spread. */
  readonly offsets?: Readonly<Record<'die' | 'plate' | 'coolant', number>>
}

export interface DrawnLog {
  readonly series: LogSeries
  readonly airC: number
}

const FINE_S = 0.05

/**
 * A load at rest, then under work, followed by short steps and read with noise; undefined where it runs away. Written
 * independently of the model.
 */
export function heatedLog(
  { part, cooler }: { readonly part: Part; readonly cooler: LoopCooler },
  { cores, clockGhz, voltageV, dutyPct, airC }: Setting,
  options: HeatOptions,
): DrawnLog | undefined {
  const { draws, seconds, sensors, restS = 30, stepS = 1, noiseK = 0.3, noiseW = 0.8, kept = 0.9 } = options
  const { driftK = 0, spikes = 0, swing = 0 } = options
  const { powerShare, stagesK } = options.sitting ?? { powerShare: 0, stagesK: [0, 0, 0] }
  const overK = stagesK[0] + stagesK[1] + stagesK[2]
  const { normal, uniform } = draws
  const offsets = options.offsets ?? { die: normal(), plate: normal(), coolant: normal() }
  const [low, high] = [cooler.radiator[0]!, cooler.radiator.at(-1)!]
  const bend =
    low === high ? 0 : Math.log(low.resistanceKPerW / high.resistanceKPerW) / Math.log(high.dutyPct / low.dutyPct)
  const radiator = high.resistanceKPerW * (high.dutyPct / dutyPct) ** bend
  const leakW = (dieC: number, volts: number): number =>
    part.leakageW *
    (volts / part.leakageAtV) ** part.leakageExponent *
    2 ** ((dieC - part.leakageAtC) / part.leakageDoublingK)
  const idleW = part.idlePowerW
  let w = airC + radiator * idleW
  let p = w + cooler.blockResistanceKPerW * idleW
  let b = p + part.packageResistanceKPerW * idleW
  const total = Math.round((restS + seconds) / stepS)
  const names = [...sensors, 'power', 'clock', 'voltage', 'fan'] as const
  const out = Object.fromEntries(names.map(name => [name, new Float64Array(total)])) as Record<
    (typeof names)[number],
    Float64Array
  >
  const noise = Object.fromEntries(['die', 'plate', 'coolant', 'power'].map(name => [name, normal()])) as Record<
    string,
    number
  >
  const keptOver = kept ** stepS
  const read = (name: string, sd: number): number => {
    noise[name] = keptOver * noise[name]! + Math.sqrt(1 - keptOver * keptOver) * normal()
    return sd * noise[name]!
  }
  const up = FINE_S / (part.packageResistanceKPerW * part.dieHeatJPerK)
  const down = FINE_S / (cooler.blockResistanceKPerW * cooler.plateHeatJPerK)
  const side = FINE_S / (part.packageResistanceKPerW * cooler.plateHeatJPerK)
  const det = (1 + up / 2) * (1 + (side + down) / 2) - (up * side) / 4
  const steps = Math.round(stepS / FINE_S)
  for (let row = 0; row < total; row++) {
    const isLoaded = row * stepS >= restS
    const share = isLoaded && swing > 0 ? (row % 2 === 0 ? 1 + swing : 1 - swing) : 1
    const volts = voltageV * share
    const dynamicW = isLoaded ? cores * part.switchingNf * volts ** 2 * clockGhz * share : 0
    const air = airC + driftK * (row / total - 0.5)
    let [power, die, plate, coolant] = [0, 0, 0, 0]
    for (let fine = 0; fine < steps; fine++) {
      const hot = b + (part.coreResistanceKPerW * dynamicW) / cores
      const flow = isLoaded ? (dynamicW + leakW(hot + overK, volts) + part.sharedPowerW) * (1 + powerShare) : idleW
      const rise = isLoaded
        ? (part.coreResistanceKPerW * (flow - part.sharedPowerW - leakW(hot + overK, volts))) / cores
        : 0
      const [before, colder] = [b, p]
      // The quick ones by the trapezoidal rule: a first order would make the die slower than it is.
      w += ((p - w) / cooler.blockResistanceKPerW - (w - air) / radiator) * (FINE_S / cooler.coolantHeatJPerK)
      const rb = b + (FINE_S * flow) / part.dieHeatJPerK - (up / 2) * (b - p)
      const rp = p + (side / 2) * (b - p) - (down / 2) * p + down * w
      b = ((1 + (side + down) / 2) * rb + (up / 2) * rp) / det
      p = ((1 + up / 2) * rp + (side / 2) * rb) / det
      // A reading is the mean of its step.
      die += ((b + before) / 2 + rise) / steps
      plate += (p + colder) / 2 / steps
      coolant += w / steps
      power += flow / steps
    }
    if (!(die < 115)) return undefined
    const truths = {
      coolant: coolant + stagesK[2],
      plate: plate + stagesK[2] + stagesK[1],
      die: die + stagesK[2] + stagesK[1] + stagesK[0],
    }
    for (const sensor of sensors) out[sensor][row] = truths[sensor] + offsets[sensor] + read(sensor, noiseK)
    out.power[row] = power + read('power', noiseW) + (uniform() < spikes ? 60 : 0)
    out.clock[row] = isLoaded ? clockGhz * share : 0.8
    out.voltage[row] = isLoaded ? volts : 0.7
    out.fan[row] = dutyPct
  }
  const timeS = Float64Array.from({ length: total }, (_, at) => at * stepS)
  return {
    series: {
      timeS,
      fromS: timeS,
      toS: timeS,
      figures: out as Partial<Record<FigureKind, Float64Array>>,
      rowsPerPoint: 1,
    },
    airC,
  }
}

export interface SteppedLog extends DrawnLog {
  /** What the die's sensor reads once all stands still. */
  readonly settledDieC: number
}

/** A slow loop under a step that makes 200 W at 60 °C. */
export function steppedLog(truth: Float64Array, options: HeatOptions): SteppedLog {
  const bench = logBenchAt(truth)
  const { part, cooler } = bench
  const { normal } = options.draws
  const airC = 22 + 3 * normal()
  const voltageV = 1.2
  const dynamicW = 200 - part.sharedPowerW - part.leakageW
  const clockGhz = dynamicW / (CORES * part.switchingNf * voltageV ** 2)
  const offsets = { die: normal(), plate: normal(), coolant: normal() }
  const log = heatedLog(bench, { cores: CORES, clockGhz, voltageV, dutyPct: 100, airC }, { ...options, offsets })
  if (log === undefined) throw new Error('this bench runs away')
  const over = cooler.radiator[0]!.resistanceKPerW + cooler.blockResistanceKPerW + part.packageResistanceKPerW
  let settled = 60
  for (let round = 0; round < 500; round++) {
    const leakW = part.leakageW * 2 ** ((settled - 60) / part.leakageDoublingK)
    const powerW = dynamicW + leakW + part.sharedPowerW
    settled = airC + over * powerW + (part.coreResistanceKPerW * dynamicW) / CORES
  }
  return { ...log, settledDieC: settled + offsets.die }
}

/** The first seconds of a log. */
export function prefixOf<L extends DrawnLog>({ series, ...rest }: L, seconds: number): L {
  const cut = (values: Float64Array): Float64Array => values.subarray(0, seconds)
  const figures = Object.fromEntries(Object.entries(series.figures).map(([kind, values]) => [kind, cut(values)]))
  const whole = { ...series, timeS: cut(series.timeS), fromS: cut(series.fromS), toS: cut(series.toS), figures }
  return { ...rest, series: whole } as unknown as L
}

/** The log as it goes into a fit. @param cores that were busy */
export function logPointOf({ series, airC }: DrawnLog, { normal }: Draws, cores = CORES): LogPoint {
  return {
    blocks: logBlocks(series, 'work'),
    work: { cores, activity: 1, uneven: 1 },
    air: { value: airC + normal(), standardUncertainty: 1 },
    fan: [],
    offsets: { die: 1, plate: 1, coolant: 1, voltage: 0.005, powerShare: 0.02, driveShare: 0.01 },
    instead: {},
  }
}
