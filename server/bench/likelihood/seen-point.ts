/**
 * One point that was seen, as evidence: the difference between its readings and the model's equations, each reading used
 * where it was measured. The power law is asked at the measured voltage, clock and die temperature; each stage of the way
 * to the air from its own two ends, at the measured power. Where an end is missing the next one that was measured stands
 * for it, and the stages between add up. Only what was not measured is predicted.
 */

import { isCoolantHeld, settledCoolantC } from '../../model/cooler/index.ts'
import type { Duty } from '../../model/cooler/kind.ts'
import { dutyAt } from '../../model/fan.ts'
import type { Cooler, FanPoint, Part } from '../../model/types.ts'
import { drivenPlate, kindOf } from '../../semantic/coolers/index.ts'
import { type ByFigure, type Figure, figureKinds, type Reading } from '../log/figures.ts'
import { groupLawPower } from './group-law.ts'
import { clockBehind, railVoltageBehind, voltageBehind } from './set-voltage.ts'
import { type Scatter, type SittingEvidence, UNKNOWN_DIE_C, usualScatter } from './sitting.ts'
import {
  type Driven,
  drivenCoolantC,
  lawPower,
  outBetween,
  overPlateK,
  riseKPerWOf,
  settleDrivenPlate,
} from './stages.ts'
import { emptyLaw, type LawPower, type SetVoltage, type Work } from './work.ts'

/** `off-set`: by how many volts the die is above what set voltage and load line leave it. */
export type SeenKind = Figure | 'air' | 'off-set'
const seenKinds: readonly SeenKind[] = [...figureKinds, 'air', 'off-set']

/** Readings of a point. */
export type SeenReadings = ByFigure<Reading> & { air?: Reading; 'off-set'?: Reading }

export interface SeenPoint {
  /** Undefined for a machine at rest. */
  readonly work: Work | undefined
  /** In base units (fan in %), each with its standard uncertainty. */
  readonly readings: Readonly<SeenReadings>
  /** The fan's table, for where its duty was not measured; full duty where it is empty. */
  readonly fan: readonly FanPoint[]
  /** What the profile sets, where the voltage at the die or the clock was not read: then `off-set` is among the readings. */
  readonly set?: SetVoltage
}

/** The figures of a point that have a residual. */
export type ResidualKind = 'power' | 'current' | 'die' | 'plate' | 'coolant' | 'drive-voltage'

/** The bench at some values of the unknowns. */
export interface BenchAt {
  readonly part: Part
  readonly cooler: Cooler | undefined
}

/** A die whose temperature nobody knows; engineering judgement. */
const UNKNOWN_DIE: Reading = { value: UNKNOWN_DIE_C, standardUncertainty: 15 }

type Values = ByFigure<number> & { air?: number; 'off-set'?: number }

const hasStage = (kinds: ReadonlySet<SeenKind>, upper: SeenKind, lower: readonly SeenKind[]): boolean =>
  kinds.has(upper) && lower.some(kind => kinds.has(kind))

/** Which residuals a point has. */
function residualKinds({ readings, work, set }: SeenPoint, cooler: Cooler | undefined): readonly ResidualKind[] {
  const kinds = new Set(seenKinds.filter(kind => readings[kind] !== undefined))
  const hasLaw =
    work === undefined ||
    (kinds.has('clock')
      ? kinds.has('voltage') || set !== undefined
      : kinds.has('voltage') && set?.clockOf !== undefined)
  const isHot = kinds.has('power') || hasLaw
  // Heat through modules cannot be followed while their current is unknown.
  const isDriven = cooler !== undefined && kindOf(cooler).isDriven
  const isBlind = isDriven && !kinds.has('drive')
  const isBelowKnown = cooler !== undefined && !isBlind
  const below: readonly SeenKind[] = isBelowKnown ? ['plate', 'coolant', 'air'] : ['plate']
  return [
    ...(kinds.has('power') && hasLaw ? (['power'] as const) : []),
    ...(kinds.has('current') && work !== undefined && hasLaw ? (['current'] as const) : []),
    ...(isHot && hasStage(kinds, 'die', below) ? (['die'] as const) : []),
    ...(isHot && isBelowKnown && hasStage(kinds, 'plate', ['coolant', 'air']) ? (['plate'] as const) : []),
    ...(isHot && isBelowKnown && !isCoolantHeld(cooler) && hasStage(kinds, 'coolant', ['air'])
      ? (['coolant'] as const)
      : []),
    ...(isHot &&
    isDriven &&
    kinds.has('drive-voltage') &&
    kinds.has('drive') &&
    (kinds.has('coolant') || kinds.has('air'))
      ? (['drive-voltage'] as const)
      : []),
  ]
}

const law: LawPower = emptyLaw()
/** Of each group, for one look at the law. */
const ghz: number[] = []
const v2Ghz: number[] = []
const volts: number[] = []
const driven: Driven = { plateC: 0, outW: 0, supplyV: 0 }

/** Coolant and plate as the stages give them from whatever was measured below; the plate's voltage where it is driven. */
interface Below {
  plateC: number
  coolantC: number
  supplyV: number
}
const below: Below = { plateC: 0, coolantC: 0, supplyV: Number.NaN }

/**
 * Puts the coolant as the air gives it, and the plate as the coolant gives it, into `below`.
 * @returns false where the modules have no sound state
 */
function stagesBelow(cooler: Cooler, read: Values, fan: readonly FanPoint[], heatW: number): boolean {
  const airC = read.air ?? Number.NaN
  const duty: Duty = read.fan ?? (coolant => dutyAt(fan, coolant))
  const fixedDuty: Duty = typeof duty === 'number' || read.coolant === undefined ? duty : dutyAt(fan, read.coolant)
  below.supplyV = Number.NaN
  const modules = drivenPlate(cooler)
  if (modules === undefined) {
    below.coolantC = settledCoolantC(cooler, airC, fixedDuty, heatW)
    below.plateC = (read.coolant ?? below.coolantC) + cooler.blockResistanceKPerW * heatW
    return Number.isFinite(below.plateC) || read.coolant === undefined
  }
  const currentA = read.drive ?? 0
  // The leak needs an air; without one the plate is taken to be as warm as it.
  const leaky = Number.isNaN(airC) ? { ...modules, plateLeakWPerK: 0 } : modules
  const room = Number.isNaN(airC) ? (read.coolant ?? 25) : airC
  if (read.coolant !== undefined) {
    if (!settleDrivenPlate(leaky, room, read.coolant, heatW, currentA, driven)) return false
    below.plateC = driven.plateC
    below.supplyV = driven.supplyV
    const outW = read.plate === undefined ? driven.outW : outBetween(leaky, room, read.plate, read.coolant, currentA)
    below.coolantC = settledCoolantC(cooler, airC, fixedDuty, outW)
    return true
  }
  const found = drivenCoolantC(modules, airC, fixedDuty, heatW, currentA, 0, driven)
  if (found === undefined) return false
  below.coolantC = found
  below.plateC = driven.plateC
  below.supplyV = driven.supplyV
  return true
}

/**
 * Measured less expected, in the order of `residualKinds`: logarithms of power and current, kelvins, and the logarithm of
 * a drive's voltage.
 */
function residualsAt(
  point: SeenPoint,
  kinds: readonly ResidualKind[],
  { part, cooler }: BenchAt,
  read: Values,
  out: Float64Array,
): boolean {
  const dieC = read.die ?? dieBy(point, part, cooler, read)
  const knowsLaw = powersAt(point, part, read, dieC)
  const { powerW, dynamicW } = actual
  const needsBelow = kinds.some(
    kind => kind !== 'power' && kind !== 'current' && !(kind === 'die' && read.plate !== undefined),
  )
  if (needsBelow && cooler !== undefined && !stagesBelow(cooler, read, point.fan, powerW)) return false
  for (let at = 0; at < kinds.length; at++) {
    switch (kinds[at]) {
      case 'power':
        out[at] = Math.log((read.power as number) / law.powerW)
        break
      case 'current': {
        out[at] = Math.log((read.current as number) / law.currentA)
        break
      }
      case 'die':
        out[at] = dieC - (read.plate ?? below.plateC) - overPlateK(part, law.riseKPerW, powerW, dynamicW)
        break
      case 'plate':
        out[at] = (read.plate as number) - below.plateC
        break
      case 'coolant':
        out[at] = (read.coolant as number) - below.coolantC
        break
      case 'drive-voltage':
        out[at] = Math.log((read['drive-voltage'] as number) / below.supplyV)
        break
    }
    if (!Number.isFinite(out[at])) return false
  }
  return knowsLaw || read.power !== undefined
}

/** The power that flows, and the dynamic part of it: measured where it was, else by the law. */
const actual = { powerW: 0, dynamicW: 0 }

/** Puts the law into `law` and the power that counts into `actual`. @returns whether the law could be asked */
function powersAt({ work, set }: SeenPoint, part: Part, read: Values, dieC: number): boolean {
  law.dynamicW = 0
  law.leakageW = 0
  law.powerW = part.idlePowerW
  law.riseKPerW = riseKPerWOf(part, work)
  const hasVoltage = read.voltage !== undefined || set !== undefined
  const offV = read['off-set'] ?? 0
  const clockGhz =
    read.clock ??
    (work !== undefined && read.voltage !== undefined && set !== undefined
      ? clockBehind(set, part, work, read.voltage - offV, dieC)
      : undefined)
  const knowsLaw = work === undefined || (clockGhz !== undefined && hasVoltage)
  if (work !== undefined && clockGhz !== undefined && hasVoltage) {
    if (work.groups === undefined) {
      const own = read.voltage ?? voltageBehind(set as SetVoltage, part, work, clockGhz, dieC) + offV
      lawPower(part, work, own ** 2 * clockGhz, own, dieC, law)
    } else {
      const { groups } = work
      groups.forEach(({ clock }, index) => {
        ghz[index] = read[clock] as number
      })
      groups.forEach((group, index) => {
        const own = read[group.voltage] ?? railVoltageBehind(part, groups, group, ghz, dieC) + offV
        volts[index] = own
        v2Ghz[index] = group.cores === 0 ? 0 : own ** 2 * (ghz[index] as number)
      })
      groupLawPower(part, work, v2Ghz, volts, dieC, law)
    }
  }
  actual.powerW = read.power ?? law.powerW
  // The measured power is dynamic but for the shared part and, where the law can be asked, the leakage.
  if (work === undefined) actual.dynamicW = 0
  else if (read.power === undefined) actual.dynamicW = law.dynamicW
  else actual.dynamicW = Math.max(0, read.power - part.sharedPowerW - law.leakageW)
  return knowsLaw
}

const DIE_ROUNDS = 30
const DIE_STILL_K = 1e-8

/** The die as the stages give it where it was not read; leakage and die follow from each other. */
function dieBy(point: SeenPoint, part: Part, cooler: Cooler | undefined, read: Values): number {
  const isBlind = cooler !== undefined && kindOf(cooler).isDriven && read.drive === undefined
  const isBelowKnown = cooler !== undefined && !isBlind
  const hasBelow = read.plate !== undefined || (isBelowKnown && (read.coolant ?? read.air) !== undefined)
  let dieC = UNKNOWN_DIE.value
  if (!hasBelow || !powersAt(point, part, read, dieC)) return dieC
  for (let round = 0; round < DIE_ROUNDS; round++) {
    powersAt(point, part, read, dieC)
    const { powerW, dynamicW } = actual
    if (read.plate === undefined && !(isBelowKnown && stagesBelow(cooler, read, point.fan, powerW))) return dieC
    const next = Math.min(400, (read.plate ?? below.plateC) + overPlateK(part, law.riseKPerW, powerW, dynamicW))
    const isStill = Math.abs(next - dieC) < DIE_STILL_K
    dieC = next
    if (isStill) break
  }
  return dieC
}

/** Whether the die was not read, and nothing was that it could be worked out from. */
const hidesDie = ({ readings }: SeenPoint, cooler: Cooler | undefined): boolean =>
  readings.die === undefined &&
  readings.plate === undefined &&
  (cooler === undefined || (readings.coolant === undefined && readings.air === undefined))

export interface PointEvidence extends SittingEvidence {
  /** What each residual is of. */
  readonly kinds: readonly ResidualKind[]
  readonly benchAt: (at: ArrayLike<number>) => BenchAt
}

/**
 * A point as evidence.
 * @param benchAt the bench at some values of the unknowns
 * @param unknowns indices of those that it depends on
 */
export function pointEvidence(
  point: SeenPoint,
  cooler: Cooler | undefined,
  benchAt: (at: ArrayLike<number>) => BenchAt,
  unknowns: readonly number[],
): PointEvidence {
  const kinds = residualKinds(point, cooler)
  const size = kinds.length
  // A die that nobody knows counts as a reading with a wide error, carried like any other's.
  const readings = hidesDie(point, cooler) ? { ...point.readings, die: UNKNOWN_DIE } : point.readings
  // Of what was read of single groups only what the law asks for counts.
  const ofGroups = new Set(point.work?.groups?.flatMap(({ clock, voltage }) => [clock, voltage]))
  for (const kind of seenKinds) ofGroups.delete(kind as 'clock')
  const present = [...seenKinds, ...ofGroups].filter(kind => readings[kind] !== undefined)
  const read: Values = Object.fromEntries(present.map(kind => [kind, (readings[kind] as Reading).value]))
  const residuals = (at: ArrayLike<number>, out: Float64Array): boolean =>
    residualsAt(point, kinds, benchAt(at), read, out)
  const isLaw = (kind: ResidualKind): boolean => kind === 'power' || kind === 'current'
  let scatter: Scatter = usualScatter
  return {
    kinds,
    benchAt,
    size,
    unknowns,
    residuals,
    hasLaw: kinds.some(isLaw),
    hasStage: kinds.some(kind => !isLaw(kind) && kind !== 'drive-voltage'),
    scatterBy: own => {
      scatter = own
    },
    covariance: (at, out) => {
      const bench = benchAt(at)
      out.fill(0)
      kinds.forEach((kind, i) => {
        kinds.forEach((other, j) => {
          // Whatever else the machine does shows in its power and in its current alike.
          if (isLaw(kind) && isLaw(other)) out[i * size + j] = scatter.powerShare ** 2
          else if (i === j && kind !== 'drive-voltage') out[i * size + j] = scatter.temperatureK ** 2
        })
      })
      const [above, beneath] = [new Float64Array(size), new Float64Array(size)]
      for (const kind of present) {
        const { value, standardUncertainty } = readings[kind] as Reading
        if (!(standardUncertainty > 0)) continue
        const moved = (by: number): Values => ({ ...read, [kind]: value + by * standardUncertainty })
        const isBoth =
          residualsAt(point, kinds, bench, moved(0.5), above) && residualsAt(point, kinds, bench, moved(-0.5), beneath)
        if (!isBoth) continue
        for (let i = 0; i < size; i++)
          for (let j = 0; j < size; j++)
            out[i * size + j] =
              (out[i * size + j] as number) +
              ((above[i] as number) - (beneath[i] as number)) * ((above[j] as number) - (beneath[j] as number))
      }
    },
  }
}
