/**
 * Benches whose constants are drawn from what is known before any run, and points seen on them with noise: the truth that
 * a fit from those same priors has to cover.
 */

import { usualAmount, usualRadiator, usualValueOf } from '../../grammar/vocabulary/usual-values.ts'
import {
  type BenchConstant,
  benchOf,
  type ConstantPlace,
  coolerPlaces,
  partPlaces,
} from '../../server/bench/likelihood/constants.ts'
import { usualLoop } from '../../server/bench/likelihood/priors.ts'
import type { SeenKind, SeenPoint } from '../../server/bench/likelihood/seen-point.ts'
import { usualScatter } from '../../server/bench/likelihood/sitting.ts'
import { seededUniform, standardNormals } from '../../server/model/random.ts'
import type { LoopCooler, Part } from '../../server/model/types.ts'
import { usualUncertainty } from '../../server/semantic/known.ts'
import { makePart } from './make.ts'

export const CORES = 12

/** Median and spread of the logarithm of a constant before any run. */
export function priorOf({ target, word, row = 0 }: ConstantPlace): Pick<BenchConstant, 'value' | 'spread'> {
  const usual = word === 'radiator' ? usualRadiator.loop[row]?.resistance : usualValueOf(target, word, 'loop')
  if (usual === undefined) throw new Error(`${word} has no usual value`)
  return { value: usualAmount(usual, CORES), spread: Math.log(usual.spread) }
}

/** A part of usual constants. */
export const usualPart: Part = makePart({
  cores: CORES,
  ratioLow: 8,
  ...Object.fromEntries(partPlaces('sample').map(place => [place.field, priorOf(place).value])),
})

/** All constants of the drawn benches, with their priors. */
export const drawnConstants: readonly BenchConstant[] = [
  ...partPlaces('sample'),
  ...coolerPlaces('big-loop', usualLoop, 'plain'),
].map(place => ({ ...place, ...priorOf(place) }))

/** The bench at logarithms of all constants. */
export const benchAt: (at: ArrayLike<number>) => { readonly part: Part; readonly cooler: LoopCooler } = benchOf(
  usualPart,
  usualLoop,
  drawnConstants.map((place, at) => ({ place, at })),
)

/** What a machine is asked to do. */
export interface Setting {
  readonly cores: number
  readonly clockGhz: number
  readonly voltageV: number
  readonly dutyPct: number
  readonly airC: number
}

/** What it comes to. */
export interface State {
  readonly powerW: number
  readonly dieC: number
  readonly plateC: number
  readonly coolantC: number
}

/** How one sitting differs from the usual: a share of the power, and kelvins at each stage. */
export interface Sitting {
  readonly powerShare: number
  readonly stagesK: readonly [die: number, plate: number, coolant: number]
}

const level: Sitting = { powerShare: 0, stagesK: [0, 0, 0] }

/** The balance of a setting by plain repetition, written independently of the model; undefined where there is none. */
export function stateOf(
  { part, cooler }: { readonly part: Part; readonly cooler: LoopCooler },
  { cores, clockGhz, voltageV, dutyPct, airC }: Setting,
  { powerShare, stagesK }: Sitting = level,
): State | undefined {
  const [low, high] = cooler.radiator as [LoopCooler['radiator'][0], LoopCooler['radiator'][0]]
  const slope = Math.log(low.resistanceKPerW / high.resistanceKPerW) / Math.log(high.dutyPct / low.dutyPct)
  const radiator = high.resistanceKPerW * (high.dutyPct / dutyPct) ** slope
  const dynamicW = cores * part.switchingNf * voltageV * voltageV * clockGhz
  let dieC = airC
  for (let round = 0; round < 4000; round++) {
    const leakageW =
      part.leakageW *
      (voltageV / part.leakageAtV) ** part.leakageExponent *
      2 ** ((dieC - part.leakageAtC) / part.leakageDoublingK)
    const powerW = (dynamicW + leakageW + part.sharedPowerW) * (1 + powerShare)
    const coolantC = airC + radiator * powerW + stagesK[2]
    const plateC = coolantC + cooler.blockResistanceKPerW * powerW + stagesK[1]
    const ownW = powerW - part.sharedPowerW - leakageW
    const next = plateC + part.packageResistanceKPerW * powerW + (part.coreResistanceKPerW * ownW) / cores + stagesK[0]
    if (!(next < 115)) return undefined
    if (Math.abs(next - dieC) < 1e-10) return { powerW, dieC: next, plateC, coolantC }
    dieC = next
  }
  return undefined
}

export interface Draws {
  readonly uniform: () => number
  readonly normal: () => number
}

export function drawsFrom(seed: number): Draws {
  const uniform = seededUniform(Math.imul(seed, 2654435761))
  for (let skip = 0; skip < 5; skip++) uniform()
  return { uniform, normal: standardNormals(uniform) }
}

/** Logarithms of all constants, drawn from their priors. */
export function drawnTruth({ normal }: Draws): Float64Array {
  return Float64Array.from(drawnConstants, ({ value, spread }) => Math.log(value) + spread * normal())
}

/** Some setting that a person may have tried. */
export function drawnSetting({ uniform, normal }: Draws): Setting {
  const clockGhz = 3 + 2.4 * uniform()
  return {
    cores: 2 + Math.floor(11 * uniform()),
    clockGhz,
    voltageV: 0.86 + 0.2 * (clockGhz - 3) + 0.03 * normal(),
    dutyPct: [25, 50, 75, 100][Math.floor(4 * uniform())] as number,
    airC: 16 + 12 * uniform(),
  }
}

/** Limits that hold a clock: of power, and of the die. */
export interface Limits {
  readonly powerW: number
  readonly dieC: number
}

/** Limits that hold some benches and not others, drawn without a look at any. */
export const drawnLimits = ({ uniform }: Draws, { cores }: Setting): Limits => ({
  powerW: 10 + cores * (5 + 8 * uniform()),
  dieC: 90,
})

const [LOW_RATIO, TOP_RATIO] = [20, 54]
/** The clock that a bench holds within limits, in steps of 0.1 GHz along a straight line of voltages. */
export function heldGhz(bench: Parameters<typeof stateOf>[0], setting: Setting, { powerW, dieC }: Limits): number {
  const holds = (ratio: number): boolean => {
    const state = stateOf(bench, { ...setting, clockGhz: ratio / 10, voltageV: 0.86 + 0.2 * (ratio / 10 - 3) })
    return state !== undefined && state.powerW <= powerW && state.dieC <= dieC
  }
  let [low, high] = [LOW_RATIO, TOP_RATIO + 1]
  while (high - low > 1) {
    const middle = (low + high) >> 1
    if (holds(middle)) low = middle
    else high = middle
  }
  return low / 10
}

/** The share of points that have each reading. */
const present = { clock: 1, voltage: 1, power: 0.95, die: 0.95, plate: 0.25, coolant: 0.5, air: 0.9 } as const
type Present = keyof typeof present

export const drawnSitting = ({ normal }: Draws): Sitting => {
  const { powerShare, temperatureK } = usualScatter
  return {
    powerShare: powerShare * normal(),
    stagesK: [temperatureK * normal(), temperatureK * normal(), temperatureK * normal()],
  }
}

/** A setting as it was seen; undefined where the bench has no balance at it. */
export function seenPoint(truth: ReturnType<typeof benchAt>, setting: Setting, draws: Draws): SeenPoint | undefined {
  const state = stateOf(truth, setting, drawnSitting(draws))
  if (state === undefined) return undefined
  const values: Readonly<Record<Present, number>> = {
    clock: setting.clockGhz,
    voltage: setting.voltageV,
    power: state.powerW,
    die: state.dieC,
    plate: state.plateC,
    coolant: state.coolantC,
    air: setting.airC,
  }
  const readings: Partial<Record<SeenKind, { value: number; standardUncertainty: number }>> = {}
  for (const kind of Object.keys(present) as Present[]) {
    const value = values[kind]
    const own = usualUncertainty(kind, value)
    const read = value + own * draws.normal()
    if (draws.uniform() < present[kind]) readings[kind] = { value: read, standardUncertainty: own }
  }
  const work = { cores: setting.cores, activity: 1, uneven: 1 }
  const fan = { value: setting.dutyPct, standardUncertainty: 0 }
  return { work, readings: { ...readings, fan }, fan: [] }
}
