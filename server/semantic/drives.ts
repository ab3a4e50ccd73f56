/** The ways a profile can drive a thermoelectric plate: each answers for itself, apart from its physics. */

import type { Match } from '../../grammar/values.ts'
import { firstServing } from '../model/first-serving.ts'
import { wetPointC } from '../model/index.ts'
import type { Bench, Corner, Drive } from '../model/types.ts'
import { plain } from '../wording/figures.ts'
import { drivenPlate } from './coolers/index.ts'
import { quantity } from './definitions.ts'

type DriveOf<K extends Drive['kind']> = Extract<Drive, { readonly kind: K }>

interface DriveFacts<D extends Drive = Drive> {
  /** What the line states; undefined where it states another way. */
  read(line: Match): D | undefined
  /** As the language writes it behind `drive`. */
  text(drive: D): string
  /** How the current comes about. @param most the most current through a module, with its unit */
  rule(drive: D, most: string): string
  /** The plate temperature asked for in a corner; undefined where none is. */
  targetC(drive: D, corner: Corner): number | undefined
  /** Whether humidity changes more than the wet point that a plate is compared with. */
  readonly mindsHumidity: boolean
  /** How far above the wet point the plate is asked to stay, in K. */
  marginK(drive: D): number
  /** The voltage that a supply keeps at the plate, whose wiring, leads and limit then count; undefined for other drives. */
  supplyV(drive: D): number | undefined
  /** Share of the time that current flows, where it does not all the time. */
  share?(drive: D): number
  /** What a person turns to drive the plate less hard; absent where a target or nothing decides. */
  readonly knob?: Knob<D>
}

/** A setting that drives the plate harder the higher it is. */
interface Knob<D extends Drive = Drive> {
  value(drive: D): number
  at(value: number): D
  /** What a knob can be set to, to within. */
  readonly step: number
}

const smallest = (most: string): string =>
  `the smallest current up to ${most} that brings the plate to it, else the one that makes it coldest`

const untargeted = {
  targetC: () => undefined,
  mindsHumidity: false,
  marginK: () => 0,
  supplyV: () => undefined,
} as const

/** A line that is its word alone: `full`, `off`. */
function alone<K extends 'full' | 'off'>(kind: K, rule: (most: string) => string): DriveFacts<DriveOf<K>> {
  return {
    ...untargeted,
    read: ({ statement }) => {
      const word = statement.items[1]
      return word?.kind === 'word' && word.text === kind ? ({ kind } as DriveOf<K>) : undefined
    },
    text: () => kind,
    rule: (_, most) => rule(most),
  }
}

/** A line with one quantity. @param name of the quantity in the vocabulary's form */
function stated(line: Match, name: string): number | undefined {
  return quantity(line, name)?.value
}

const drives: { readonly [K in Drive['kind']]: DriveFacts<DriveOf<K>> } = {
  dew: {
    read: line => {
      const marginK = stated(line, 'margin')
      return marginK === undefined ? undefined : { kind: 'dew', marginK }
    },
    text: ({ marginK }) => `dew + ${plain(marginK)} K`,
    rule: ({ marginK }, most) =>
      `Target: the dew or frost point of the corner + ${plain(marginK)} K; ${smallest(most)}.`,
    targetC: ({ marginK }, { airC, humidityPct }) => wetPointC(airC, humidityPct) + marginK,
    mindsHumidity: true,
    marginK: ({ marginK }) => marginK,
    supplyV: () => undefined,
  },
  hold: {
    ...untargeted,
    read: line => {
      const temperatureC = stated(line, 'hold')
      return temperatureC === undefined ? undefined : { kind: 'hold', temperatureC }
    },
    text: ({ temperatureC }) => `hold ${plain(temperatureC)} °C`,
    rule: ({ temperatureC }, most) => `Target: ${plain(temperatureC)} °C; ${smallest(most)}.`,
    targetC: ({ temperatureC }) => temperatureC,
  },
  fixed: {
    ...untargeted,
    read: line => {
      const currentA = stated(line, 'fixed')
      return currentA === undefined ? undefined : { kind: 'fixed', currentA }
    },
    text: ({ currentA }) => `fixed ${plain(currentA)} A`,
    knob: { value: ({ currentA }) => currentA, at: currentA => ({ kind: 'fixed', currentA }), step: 0.1 },
    rule: ({ currentA }, most) => `Always ${plain(currentA)} A through each module, but never more than ${most}.`,
  },
  supply: {
    ...untargeted,
    read: line => {
      const voltageV = stated(line, 'supply')
      return voltageV === undefined ? undefined : { kind: 'supply', voltageV }
    },
    text: ({ voltageV }) => `supply ${plain(voltageV)} V`,
    rule: ({ voltageV }, most) =>
      `A supply that keeps ${plain(voltageV)} V: the current that the modules take at their temperatures, up to ${most} each.`,
    supplyV: ({ voltageV }) => voltageV,
    knob: { value: ({ voltageV }) => voltageV, at: voltageV => ({ kind: 'supply', voltageV }), step: 0.1 },
  },
  pulsed: {
    ...untargeted,
    read: line => {
      const dutyPct = stated(line, 'pulsed')
      return dutyPct === undefined ? undefined : { kind: 'pulsed', dutyShare: dutyPct / 100 }
    },
    text: ({ dutyShare }) => `pulsed ${plain(dutyShare * 100)} %`,
    share: ({ dutyShare }) => dutyShare,
    knob: { value: ({ dutyShare }) => dutyShare, at: dutyShare => ({ kind: 'pulsed', dutyShare }), step: 0.01 },
    rule: ({ dutyShare }, most) => `${most} for ${plain(dutyShare * 100)} % of the time, none for the rest.`,
  },
  full: alone('full', most => `Always ${most}.`),
  off: alone('off', () => 'No current: heat only leaks through the modules.'),
}

const forms: readonly DriveFacts[] = Object.values(drives)

/** The facts about the way this drive is of. */
function of(drive: Drive): DriveFacts {
  return drives[drive.kind]
}

/** What a `drive` line states. */
export function driveIn(line: Match): Drive | undefined {
  for (const form of forms) {
    const found = form.read(line)
    if (found !== undefined) return found
  }
  return undefined
}

/** As the language writes it behind `drive`: `dew + 2 K`. */
export const driveText = (drive: Drive): string => of(drive).text(drive)
export const driveRule = (drive: Drive, mostA: number): string => of(drive).rule(drive, `${plain(mostA)} A`)
export const driveTargetC = (drive: Drive, corner: Corner): number | undefined => of(drive).targetC(drive, corner)
/** Whether it follows a temperature of the plate. */
export const hasTarget = (drive: Drive): boolean =>
  of(drive).targetC(drive, { airC: 20, humidityPct: 50 }) !== undefined
export const driveMarginK = (drive: Drive): number => of(drive).marginK(drive)
/** Keys of a cooler that count under a supply which keeps its voltage, and under no other drive. */
export const supplyWords: readonly string[] = ['wiring', 'leads']

/** Share of the time that current flows; 1 where it is smooth. */
export const shareOf = (drive: Drive): number => of(drive).share?.(drive) ?? 1
export const supplyV = (drive: Drive): number | undefined => of(drive).supplyV(drive)
export const hasSupply = (drive: Drive): boolean => supplyV(drive) !== undefined
/** Whether a person turns something to drive the plate less hard. */
export const hasKnob = (drive: Drive): boolean => of(drive).knob !== undefined

/** Whether humidity changes more of a prediction than its wet point: only a plate that is driven by it minds. */
export function mindsHumidity({ cooler, profile }: Bench): boolean {
  return drivenPlate(cooler) !== undefined && of(profile.drive).mindsHumidity
}

/**
 * The hardest setting of a drive's knob below its own at which all is well, in steps of the knob.
 *
 * @param isFine asked a few times, of the same way of driving the plate less hard
 * @returns undefined where the drive has no knob, or not even its lowest setting serves
 */
export function gentlerDrive(drive: Drive, isFine: (gentler: Drive) => boolean): Drive | undefined {
  const { knob } = of(drive)
  if (knob === undefined) return undefined
  const own = Math.ceil(knob.value(drive) / knob.step - 1e-9)
  const at = (steps: number): Drive => knob.at(Number((steps * knob.step).toFixed(6)))
  if (own < 2 || !isFine(at(1))) return undefined
  return at(firstServing(1, own, steps => !isFine(at(steps))) - 1)
}
