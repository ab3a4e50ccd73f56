/** What the model makes of a point that was seen: each reading from the others of the same moment, and how far off it is. */
import { activeGroups, coreRiseKPerW, partOfGroup, powerAt, seededUniform, stratifiedNormal } from '../model/index.ts'
import type { Bench, Cooler, Part } from '../model/types.ts'
import { coolerConstants, noBoard, partConstants } from './constants.ts'
import { kindOf } from './coolers/index.ts'
import type { Definition } from './definitions.ts'
import type { UncertainConstant } from './gather.ts'
import { totalsOf } from './group-constants.ts'
import { askedOf, type KnownFigure, type KnownPoint, type KnownReading } from './known.ts'
import { shiftConstants, unitShift } from './shifts.ts'

export interface KnownComparison {
  readonly figure: 'power' | 'die'
  readonly seen: KnownReading
  /** From the other readings, at the constants as they are. */
  readonly predicted: number
  /** Of the prediction: from the constants and from the readings that it starts from. */
  readonly standardUncertainty: number
  /** Seen less predicted, in joint standard uncertainties; of powers by their logarithms. */
  readonly offBy: number
  /** What the prediction starts from. */
  readonly from: readonly KnownFigure[]
}

/** Without a die temperature leakage is taken at the middle of what dies run at, as roughly as that is known. */
const UNKNOWN_DIE = { value: 60, standardUncertainty: 15 }
const DRAWS = 400
const SEED = 20_260_112

/** What one draw starts from. */
interface Inputs {
  readonly part: Part
  readonly cooler: Cooler | undefined
  readonly readings: Readonly<Partial<Record<KnownFigure, number>>>
  readonly activity: number
}

/** A part with one group at work: a plain one with that group's constants and the leakage of all. */
function alone(part: Part, index: number): Part {
  const totals = part.groups && totalsOf(part.groups, part)
  if (totals === undefined) return part
  const { leakageW, leakageAtV, leakageAtC } = totals
  return { ...partOfGroup(part, index), leakageW, leakageAtV, leakageAtC }
}

type Load = Pick<KnownPoint, 'vector'> & { readonly cores: number }

function powerOf({ part, readings, activity }: Inputs, { cores }: Load): number | undefined {
  const { clock, voltage, die } = readings
  if (clock === undefined || voltage === undefined) return undefined
  const ratio = clock / part.referenceGhz
  return powerAt(part, { cores, activity }, voltage, 0, ratio, die ?? UNKNOWN_DIE.value).powerW
}

/** The way from the die to the nearest end that was seen, in K/W; undefined where more than resistances lie between. */
function wayOf(
  { part, cooler, readings }: Inputs,
  dutyPct: number | undefined,
): readonly [KnownFigure, number] | undefined {
  const { packageResistanceKPerW } = part
  if (readings.plate !== undefined) return ['plate', packageResistanceKPerW]
  if (cooler === undefined) return undefined
  const kind = kindOf(cooler)
  const block = kind.plateToCoolantKPerW(cooler)
  if (block === undefined) return undefined
  if (readings.coolant !== undefined) return ['coolant', packageResistanceKPerW + block]
  const toAir = readings.air && kind.plateToAirKPerW(cooler, dutyPct ?? 100)
  return toAir === undefined ? undefined : ['air', packageResistanceKPerW + toAir]
}

function dieOf(inputs: Inputs, load: Load, dutyPct: number | undefined): number | undefined {
  const way = wayOf(inputs, dutyPct)
  const { part, readings } = inputs
  const powerW = readings.power ?? powerOf(inputs, load)
  if (way === undefined || powerW === undefined) return undefined
  const [end, resistance] = way
  // The cores' own share: what is left of the power once leakage and what is shared are gone.
  const still = { cores: load.cores, activity: 0 }
  const voltage = readings.voltage ?? part.leakageAtV
  const restW = powerAt(part, still, voltage, 0, 1, readings.die ?? UNKNOWN_DIE.value).powerW
  return (readings[end] as number) + resistance * powerW + coreRiseKPerW(part, load) * Math.max(0, powerW - restW)
}

const figures = { power: powerOf, die: dieOf } as const

function startsFrom(figure: 'power' | 'die', { readings }: KnownPoint, way: KnownFigure | undefined): KnownFigure[] {
  const all: readonly (KnownFigure | undefined)[] =
    figure === 'power' ? ['clock', 'voltage', 'die'] : readings.power ? ['power', way] : ['clock', 'voltage', way]
  return all.flatMap(one => (one !== undefined && readings[one] !== undefined ? [one] : []))
}

/** Draws of every constant and of every reading, in units of its standard uncertainty. */
function draws(count: number): readonly Float64Array[] {
  const uniform = seededUniform(SEED)
  return Array.from({ length: count }, () => stratifiedNormal(DRAWS, uniform))
}

function spreadOf(values: readonly number[]): number {
  const mean = values.reduce((sum, one) => sum + one, 0) / values.length
  return Math.sqrt(values.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (values.length - 1))
}

/**
 * The readings of a point that its others predict.
 * @param coolerDefinition what the part stood under; undefined where nothing is known of it: then only a plate serves
 */
export function compareKnown(
  definition: Definition,
  point: KnownPoint,
  coolerDefinition: Definition | undefined,
): readonly KnownComparison[] {
  const { value: part, uncertain } = partConstants(definition)
  const { cores } = point
  if (part === undefined || cores === undefined) return []
  const asked = askedOf(point, part)
  const [busy, another] = asked === undefined ? [] : activeGroups(part, asked)
  // Of several groups at work the row has the clock of one.
  if (busy === undefined || another !== undefined) return []
  const cooling = coolerDefinition && coolerConstants(coolerDefinition)
  const cooler = cooling?.value
  const load = { cores, vector: point.vector }
  const constants: readonly UncertainConstant[] = [
    ...uncertain,
    ...(cooler === undefined ? [] : (cooling?.uncertain ?? [])),
  ]
  const names = Object.keys(point.readings) as KnownFigure[]
  const rows = draws(constants.length + names.length + 3)
  const bench = { part, cooler: cooler ?? ({} as Cooler), board: noBoard } as Bench
  const work = { kind: 'work', cores, activity: 1, vector: point.vector } as const
  const at = (row: number, draw: number): number => rows[row]?.[draw] ?? 0
  const inputsOf = (draw: number | undefined): { inputs: Inputs; dutyPct: number | undefined } => {
    const z = (row: number): number => (draw === undefined ? 0 : at(row, draw))
    const shifts = constants.map((one, row) => z(row) * unitShift(one))
    const moved = shiftConstants(bench, work, constants, shifts).bench
    const values = Object.fromEntries(
      names.map((name, index) => {
        const { value, standardUncertainty } = point.readings[name] as KnownReading
        return [name, value + z(constants.length + index) * standardUncertainty]
      }),
    ) as Inputs['readings']
    const spare = constants.length + names.length
    const readings =
      values.die === undefined && draw !== undefined
        ? { ...values, die: UNKNOWN_DIE.value + z(spare) * UNKNOWN_DIE.standardUncertainty }
        : values
    const activity = Math.max(0, point.activity.value + z(spare + 1) * point.activity.standardUncertainty)
    const { fan } = point
    const dutyPct = fan && Math.min(100, Math.max(1, fan.value + z(spare + 2) * fan.standardUncertainty))
    const own = cooler === undefined ? undefined : moved.cooler
    return { inputs: { part: alone(moved.part, busy.index), cooler: own, readings, activity }, dutyPct }
  }
  return (['power', 'die'] as const).flatMap((figure): KnownComparison[] => {
    const seen = point.readings[figure]
    const nominal = inputsOf(undefined)
    const predicted = figures[figure](nominal.inputs, load, nominal.dutyPct)
    if (seen === undefined || predicted === undefined || !(predicted > 0 || figure === 'die')) return []
    const drawn = Array.from({ length: DRAWS }, (_, draw) => {
      const { inputs, dutyPct } = inputsOf(draw)
      return figures[figure](inputs, load, dutyPct) ?? predicted
    })
    const spread = spreadOf(drawn)
    const offBy =
      figure === 'power'
        ? Math.log(seen.value / predicted) /
          Math.hypot(seen.standardUncertainty / seen.value, spreadOf(drawn.map(one => Math.log(Math.max(one, 1e-9)))))
        : (seen.value - predicted) / Math.hypot(seen.standardUncertainty, spread)
    const from = startsFrom(figure, point, wayOf(nominal.inputs, nominal.dutyPct)?.[0])
    return [{ figure, seen, predicted, standardUncertainty: spread, offBy, from }]
  })
}
