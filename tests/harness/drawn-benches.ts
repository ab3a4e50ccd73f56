/** Benches drawn from what is known before any run, and points seen on them. */

import type { BenchConstant } from '../../server/bench/likelihood/constants.ts'
import { benchOf, coolerPlaces, partPlaces } from '../../server/bench/likelihood/constants.ts'
import type { SeenKind, SeenPoint } from '../../server/bench/likelihood/seen-point.ts'
import { usualScatter } from '../../server/bench/likelihood/sitting.ts'
import { seededUniform, standardNormals } from '../../server/model/random.ts'
import type { LoopCooler, Part } from '../../server/model/types.ts'

/**
 * Benches whose constants are drawn from what is known before any run, and points seen on them with noise: the truth that
 * a fit from those same priors has to cover.
 */

const CORES = 12

/** Median and factor of each constant before any run. */
const priors: Readonly<Record<string, readonly [value: number, factor: number]>> = {
  switching: [2, 1.4],
  leakage: [1.5 * CORES, 1.8],
  'leakage-doubling': [28, 1.25],
  'leakage-exponent': [3, 1.25],
  'shared-power': [6 + 0.5 * CORES, 1.6],
  'idle-power': [6 + 0.6 * CORES, 1.6],
  'package-resistance': [0.09, 1.4],
  'core-resistance': [0.5, 1.5],
  'die-heat': [12, 1.6],
  'block-resistance': [0.04, 1.5],
  'radiator 25 %': [0.08, 1.5],
  'radiator 100 %': [0.04, 1.5],
  'plate-heat': [150, 1.6],
  'coolant-heat': [3000, 2],
}

export const plainPart: Part = {
  cores: CORES,
  referenceGhz: 0.1,
  ratioLow: 8,
  ratioHigh: 60,
  ratioStep: 1,
  dieLimitC: 100,
  needs: [
    { ratio: 30, voltageV: 0.85 },
    { ratio: 55, voltageV: 1.36 },
  ],
  needsAtC: 60,
  needsSlopeVPerK: 0,
  vectorNeedsV: 0,
  switchingNf: 2,
  leakageW: 18,
  leakageAtV: 1.2,
  leakageAtC: 60,
  leakageDoublingK: 28,
  leakageExponent: 3,
  sharedPowerW: 12,
  idlePowerW: 13,
  packageResistanceKPerW: 0.09,
  coreResistanceKPerW: 0.5,
  dieHeatJPerK: 12,
}

export const plainLoop: LoopCooler = {
  kind: 'loop',
  blockResistanceKPerW: 0.04,
  radiator: [
    { dutyPct: 25, resistanceKPerW: 0.08 },
    { dutyPct: 100, resistanceKPerW: 0.04 },
  ],
  plateHeatJPerK: 150,
  coolantHeatJPerK: 3000,
}

/** All constants of the drawn benches, with their priors. */
export const drawnConstants: readonly BenchConstant[] = [
  ...partPlaces('sample'),
  ...coolerPlaces('big-loop', plainLoop, 'plain'),
].map(place => {
  const [value, factor] = priors[place.name] as readonly [number, number]
  return { ...place, value, spread: Math.log(factor) }
})

/** The bench at logarithms of all constants. */
export const benchAt: (at: ArrayLike<number>) => { readonly part: Part; readonly cooler: LoopCooler } = benchOf(
  plainPart,
  plainLoop,
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

/** Default errors of readings, and what may be missing of each point. */
const errors: Readonly<Partial<Record<SeenKind, readonly [absolute: number, share: number, present: number]>>> = {
  clock: [0, 0.002, 1],
  voltage: [0.008, 0, 1],
  power: [0, 0.02, 0.95],
  die: [1.5, 0, 0.95],
  plate: [1, 0, 0.25],
  coolant: [1, 0, 0.5],
  air: [1, 0, 0.9],
}

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
  const values: Partial<Record<SeenKind, number>> = {
    clock: setting.clockGhz,
    voltage: setting.voltageV,
    power: state.powerW,
    die: state.dieC,
    plate: state.plateC,
    coolant: state.coolantC,
    air: setting.airC,
  }
  const readings: Partial<Record<SeenKind, { value: number; standardUncertainty: number }>> = {}
  for (const kind of Object.keys(errors) as SeenKind[]) {
    const [absolute, share, present] = errors[kind] as readonly [number, number, number]
    const value = values[kind] as number
    const own = Math.max(absolute, share * value)
    const read = value + own * draws.normal()
    if (draws.uniform() < present) readings[kind] = { value: read, standardUncertainty: own }
  }
  const work = { cores: setting.cores, activity: 1, uneven: 1 }
  const fan = { value: setting.dutyPct, standardUncertainty: 0 }
  return { work, readings: { ...readings, fan }, fan: [] }
}
