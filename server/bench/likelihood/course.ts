/**
 * The course of a log: the bench followed over its blocks, driven by what was measured. Each temperature is asked from the
 * nearest end below it that was measured as well, so that a wrong cooler does not bend what lies above a sensor.
 */

import { coolantHeatJPerK, coolerEnd, isCoolantHeld } from '../../model/cooler/index.ts'
import { dutyAt } from '../../model/fan.ts'
import type { Cooler, Part, ThermoelectricCooler } from '../../model/types.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import type { Block, Under } from './blocks.ts'
import { type Chain, createChain } from './chain.ts'
import { type DrivenBy, drivesOf, type Simulation, unevenPower } from './drive.ts'
import { createDrivenChain, type DrivenChain } from './driven.ts'
import { groupLawPower } from './group-law.ts'
import { AIR, type ErrorsAt, type LogPoint, levels } from './log-point.ts'
import { clockBehind, railVoltageBehind, voltageBehind } from './set-voltage.ts'
import { UNKNOWN_DIE_C } from './sitting.ts'
import { type Driven, drivenCoolantC, lawPower, overPlateK, riseKPerWOf } from './stages.ts'
import { emptyLaw, type GroupWork, type LawPower, type Work } from './work.ts'

export interface Course {
  /** By level: mean over each block, as it is expected. */
  readonly expected: readonly Float64Array[]
  /** By how much that changes within each block, per second. */
  readonly slopes: readonly Float64Array[]
  readonly powerW: Float64Array
  /** What the law says at the die that was read in each block; NaN where it was not asked. */
  readonly lawW: Float64Array
  /**
   * @param by what was measured, or what of that is no noise
   * @param warmingK by how much the room warms over each log of the bench, beside what this one has of its own
   * @returns false where there is no course
   */
  follow(part: Part, cooler: Cooler, errors: ErrorsAt, warmingK?: number, by?: DrivenBy): boolean
  /** Puts the power law at a block's voltage and clock and a die temperature into `law`. @returns false where there is none */
  askLaw(part: Part, block: Block, dieC: number, errors: ErrorsAt): boolean
  readonly law: LawPower
}

/** The mean of voltage² · clock where both were read, moved with the voltage; else from what stands for them. */
function dynamicOf({ dynamicV2Ghz, means }: Block, voltageV: number, clockGhz: number): number {
  const read = means.voltage
  if (Number.isNaN(dynamicV2Ghz) || read === undefined) return voltageV * voltageV * clockGhz
  return dynamicV2Ghz * (voltageV / read) ** 2
}

const still: Driven = { plateC: 0, outW: 0, supplyV: 0 }

/** How many of die, plate and coolant are states of their own above an end. */
const statesAbove = (cooler: Cooler, end: number): number =>
  end < AIR ? end : coolantHeatJPerK(cooler) === undefined ? 2 : 3

/** @param isFine each point is a block of its own */
export function createCourse(
  point: LogPoint,
  blocks: readonly Block[],
  simulations: readonly Simulation[],
  isFine: boolean,
): Course {
  const { instead } = point
  const whole: Under = { work: point.work, ...instead }
  /** What was at work in a block, and what stands for what was not logged there. */
  const underOf = ({ under }: Block): Under => under ?? whole
  const expected = levels.map(() => new Float64Array(blocks.length))
  const slopes = levels.map(() => new Float64Array(blocks.length))
  const powerW = new Float64Array(blocks.length)
  const lawW = new Float64Array(blocks.length)
  // Looked up once: the course is followed many times.
  const duties = Float64Array.from(blocks, ({ means }) => means.fan ?? Number.NaN)
  const drives = drivesOf(point, blocks, simulations, isFine)
  let driven = drives.measured
  const uneven = blocks.map(block => unevenPower(point, block))
  const lengths = Float64Array.from(blocks, ({ fromS, toS }) => toS - fromS)
  /** The hottest core over the die. */
  const coreK = new Float64Array(blocks.length)
  const state = new Float64Array(AIR)
  const means = new Float64Array(AIR)
  const before = new Float64Array(AIR)
  const law: LawPower = emptyLaw()
  const ghz: number[] = []
  const volts: number[] = []
  const v2Ghz: number[] = []

  const askLaw: Course['askLaw'] = (part, block, dieC, errors) => {
    const { work, voltage, clockGhz: clock } = underOf(block)
    if (work === undefined) return false
    if (work.groups === undefined) {
      const { clock: readGhz, voltage: readV } = block.means
      const standsGhz = (): number =>
        (readV !== undefined && voltage !== undefined
          ? clockBehind(voltage, part, work, readV + errors.of('voltage') - errors.of('off-set'), dieC)
          : undefined) ?? (clock ?? Number.NaN) * (1 + errors.of('clock'))
      const clockGhz = readGhz ?? standsGhz()
      const standsV = (): number =>
        voltage === undefined ? Number.NaN : voltageBehind(voltage, part, work, clockGhz, dieC)
      const voltageV = (readV ?? standsV()) + errors.of('voltage')
      lawPower(part, work, dynamicOf(block, voltageV, clockGhz), voltageV, dieC, law)
    } else {
      const { groups } = work
      groups.forEach((group, index) => {
        ghz[index] = block.means[group.clock] ?? group.insteadGhz ?? Number.NaN
      })
      groups.forEach((group, index) => {
        const own =
          (block.means[group.voltage] ?? railVoltageBehind(part, groups, group, ghz, dieC)) + errors.of('voltage')
        volts[index] = own
        v2Ghz[index] = group.cores === 0 ? 0 : groupDynamicOf(block, group, own)
      })
      groupLawPower(part, work, v2Ghz, volts, dieC, law)
    }
    return Number.isFinite(law.powerW)
  }

  /** The rise as the law has it, where it could be asked last. */
  const riseOf = (part: Part, work: Work | undefined): number =>
    work?.groups !== undefined && Number.isFinite(law.powerW) ? law.riseKPerW : riseKPerWOf(part, work)

  /** As `dynamicOf`, of one group: by its own columns, alternating ones too. Found once for each block. */
  const groupDynamicOf = (block: Block, { clock, voltage, insteadGhz }: GroupWork, voltageV: number): number => {
    const read = block.means[voltage]
    const [clocks, voltages] = [point.blocks.series.figures[clock], point.blocks.series.figures[voltage]]
    if (read === undefined || clocks === undefined || voltages === undefined)
      return voltageV * voltageV * (block.means[clock] ?? insteadGhz ?? Number.NaN)
    const known = dynamics.get(block) ?? new Map<string, number>()
    dynamics.set(block, known)
    let mean = known.get(clock)
    if (mean === undefined) {
      let [sum, count] = [0, 0]
      for (let at = block.from; at < block.to; at++) {
        const own = (voltages[at] as number) ** 2 * (clocks[at] as number)
        if (Number.isNaN(own)) continue
        sum += own
        count++
      }
      mean = count === 0 ? read * read * (block.means[clock] ?? insteadGhz ?? Number.NaN) : sum / count
      known.set(clock, mean)
    }
    return mean * (voltageV / read) ** 2
  }
  const dynamics = new Map<Block, Map<string, number>>()

  const drive = (part: Part, errors: ErrorsAt): void => {
    const share = 1 + errors.of('power')
    for (let index = 0; index < blocks.length; index++) {
      const block = blocks[index] as Block
      let dynamicW = 0
      const { work, powerW: usualW } = underOf(block)
      let power = (driven.power[index] as number) * share
      const die = (driven.means[0] as Float64Array)[index] as number
      lawW[index] = Number.NaN
      if (work !== undefined && block.isLoaded) {
        const isAsked = askLaw(part, block, (Number.isNaN(die) ? UNKNOWN_DIE_C : die) - errors.at('sensor', 0), errors)
        if (!Number.isNaN(die)) lawW[index] = law.powerW
        if (Number.isNaN(power)) power = isAsked ? law.powerW : (usualW ?? part.idlePowerW)
        dynamicW = Math.max(0, power - part.sharedPowerW - (isAsked ? law.leakageW : 0))
      } else if (Number.isNaN(power)) power = part.idlePowerW
      powerW[index] = power
      coreK[index] = overPlateK(part, dynamicW > 0 ? riseOf(part, work) : 0, 0, dynamicW)
    }
  }

  /** The coolant as a driven plate would keep it at rest, at the heat and current of a block; the air's where it has none. */
  const restingCoolantC = (cooler: ThermoelectricCooler, index: number, airC: number, errors: ErrorsAt): number => {
    const block = blocks[index] as Block
    const heatW = powerW[index] as number
    const currentA = (block.means.drive ?? instead.driveA ?? 0) * (1 + errors.of('drive'))
    const duty = block.means.fan ?? ((coolant: number) => dutyAt(point.fan, coolant))
    return drivenCoolantC(cooler, airC, duty, heatW, currentA, 0, still) ?? airC
  }

  /** The first state of an episode: as it was read, else from what was read above it, else at rest. */
  const begin = (part: Part, cooler: Cooler, end: number, index: number, endC: number, errors: ErrorsAt): void => {
    const block = blocks[index] as Block
    const count = statesAbove(cooler, end)
    const plate = drivenPlate(cooler)
    const isDriven = plate !== undefined
    const read = (level: number): number | undefined => {
      const value = (driven.means[level] as Float64Array)[index] as number
      if (Number.isNaN(value)) return undefined
      return value - errors.at('sensor', level) - (level === 0 ? (coreK[index] as number) : 0)
    }
    const over = [part.packageResistanceKPerW, cooler.blockResistanceKPerW].map(one => one * (powerW[index] as number))
    for (let level = count - 1; level >= 0; level--) {
      let value = read(level)
      let sum = 0
      // Through driven modules nothing follows from what was read above.
      for (let above = level - 1; value === undefined && above >= 0 && !(isDriven && level === 2); above--) {
        sum += over[above] as number
        const found = read(above)
        if (found !== undefined) value = found - sum
      }
      if (value === undefined && isDriven && level === 2) value = restingCoolantC(plate, index, endC, errors)
      if (value === undefined)
        value = level === count - 1 ? endC : (state[level + 1] as number) + (over[level] as number)
      state[level] = value
    }
    if (end === 2) state[2] = endC
    for (let level = 0; level < count; level++)
      state[level] = (state[level] as number) + errors.state(level, block.episode)
  }

  const dutyOf = (index: number, coolantC: number): number => {
    const read = duties[index] as number
    return Number.isNaN(read) ? dutyAt(point.fan, blocks[index]?.ends.coolant ?? coolantC) : read
  }

  const chains = [1, 2, 3].map(size => createChain(size))
  const plainChain = (part: Part, cooler: Cooler, end: number, endKPerW: number): Chain => {
    const count = statesAbove(cooler, end)
    const chain = chains[count - 1] as Chain
    // A plate whose coolant is no state reaches the end through the block and all behind it at once.
    const isPlateLast = end === AIR && count === 2
    chain.set(
      [part.dieHeatJPerK, cooler.plateHeatJPerK, coolantHeatJPerK(cooler) ?? 0],
      [part.packageResistanceKPerW, isPlateLast ? endKPerW : cooler.blockResistanceKPerW, endKPerW],
    )
    return chain
  }

  /** Where each block is in the log: -0.5 at its begin, 0.5 at its end and after it. */
  const [beginS, endS] = [point.blocks.blocks[0]?.fromS ?? 0, point.blocks.blocks.at(-1)?.toS ?? 1]
  const places = Float64Array.from(blocks, ({ fromS, toS }) =>
    Math.min(0.5, ((fromS + toS) / 2 - beginS) / (endS - beginS) - 0.5),
  )

  const airKPerS = (cooler: Cooler, warmingK: number): number =>
    isCoolantHeld(cooler) ? 0 : warmingK / (endS - beginS)

  const simulate = (
    part: Part,
    cooler: Cooler,
    { end, levels: read }: Simulation,
    errors: ErrorsAt,
    warmingK: number,
  ): boolean => {
    let chain: Chain | undefined
    let modules: DrivenChain | undefined
    let [endKPerW, episode, lastEndC] = [Number.NaN, -1, Number.NaN]
    const endErrorK = end < AIR ? errors.at('sensor', end) : 0
    const meanAirC = point.air.value + errors.of('air')
    const plate = end >= 2 ? drivenPlate(cooler) : undefined
    const coolerAt = end === AIR ? coolerEnd(cooler) : undefined
    const driveShare = 1 + errors.of('drive')
    for (let index = 0; index < blocks.length; index++) {
      const block = blocks[index] as Block
      const power = powerW[index] as number
      const airC = meanAirC + warmingK * (places[index] as number)
      const plateC = block.episode === episode ? (state[1] as number) : Number.NaN
      let endC =
        coolerAt === undefined
          ? ((driven.ends[end] as Float64Array)[index] as number) - endErrorK
          : coolerAt.endC(airC, plateC, power)
      // A sensor that was silent for a while stays where it was.
      if (Number.isNaN(endC)) endC = Number.isNaN(lastEndC) ? airC : lastEndC
      lastEndC = endC
      if (block.episode !== episode) {
        episode = block.episode
        begin(part, cooler, end, index, endC, errors)
      }
      const coolantC = state[2] as number
      const resistance = coolerAt === undefined ? 0 : coolerAt.endKPerW(endC, coolantC, dutyOf(index, coolantC))
      for (const level of read) before[level] = state[level] as number
      const overS = lengths[index] as number
      if (plate !== undefined) {
        modules ??= createDrivenChain(plate, meanAirC)
        if (end === 2) state[2] = endC
        const links = {
          dieHeatJPerK: part.dieHeatJPerK,
          packageKPerW: part.packageResistanceKPerW,
          radiatorKPerW: resistance,
        }
        const currentA = (block.means.drive ?? instead.driveA ?? 0) * driveShare
        if (!modules.advance(overS, power, currentA, links, end === 2, state, means)) return false
      } else {
        if (chain === undefined) chain = plainChain(part, cooler, end, resistance)
        else if (resistance !== endKPerW) chain.setEnd(resistance)
        endKPerW = resistance
        const endKPerS =
          end === AIR ? airKPerS(cooler, warmingK) : ((driven.rates[end] as Float64Array)[index] as number)
        chain.advance(overS, power, endC, endKPerS, state, means, uneven[index])
      }
      for (const level of read) {
        const core = level === 0 ? (coreK[index] as number) : 0
        const coreBefore = level > 0 ? 0 : blocks[index - 1]?.episode === episode ? (coreK[index - 1] as number) : core
        const value = (means[level] as number) + core
        ;(expected[level] as Float64Array)[index] = value
        ;(slopes[level] as Float64Array)[index] =
          ((state[level] as number) + core - (before[level] as number) - coreBefore) / overS
        if (!Number.isFinite(value)) return false
      }
    }
    return true
  }

  return {
    expected,
    slopes,
    powerW,
    lawW,
    law,
    askLaw,
    follow: (part, cooler, errors, warmingK = 0, by = 'measured') => {
      driven = drives[by]
      drive(part, errors)
      const ownK = warmingK + errors.of('warming')
      return simulations.every(one => simulate(part, cooler, one, errors, ownK))
    },
  }
}
