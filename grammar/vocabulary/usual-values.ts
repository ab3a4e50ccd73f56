/** The usual value of every constant of part and cooler that few people know, with its spread: what counts where it is left out. */
import type { CoolerKind, Default } from './types.ts'

/**
 * One constant that may be left out. It counts as the usual value then, log-normal with the spread as its uncertainty.
 * All of them are engineering judgement, no source.
 */
export interface UsualValue {
  /** In the base unit of the constant: this much, … */
  readonly base: number
  /** … and so much more for each core of the part. */
  readonly perCore: number
  /** One geometric standard deviation, a factor. */
  readonly spread: number
  /** As it is written; what depends on the number of cores says so. */
  readonly text: string
  /** The unit of the text. */
  readonly unit: string
}

function usual(
  base: number,
  unit: string,
  spread: number,
  text = `${base}${unit === '' ? '' : ' '}${unit}`,
): UsualValue {
  return { base, perCore: 0, spread, text, unit }
}

function byCores(base: number, perCore: number, unit: string, spread: number): UsualValue {
  const each = `${perCore} ${unit} a core`
  return { base, perCore, spread, unit, text: base === 0 ? each : `${base} ${unit} + ${each}` }
}

/** Where the usual leakage holds. */
export const usualLeakageAt = { voltageV: 1.2, temperatureC: 60, text: '1.20 V 60 °C' } as const

const ofPart = {
  switching: usual(2, 'nF', 1.4, '2.0 nF'),
  leakage: byCores(0, 1.5, 'W', 1.8),
  'leakage-doubling': usual(28, 'K', 1.25),
  'leakage-exponent': usual(3, '', 1.25),
  'shared-power': byCores(6, 0.5, 'W', 1.6),
  'idle-power': byCores(6, 0.6, 'W', 1.6),
  'package-resistance': usual(0.09, 'K/W', 1.4),
  'core-resistance': usual(0.5, 'K/W', 1.5),
  'die-heat': usual(12, 'J/K', 1.6),
} as const satisfies Readonly<Record<string, UsualValue>>

const ofCooler = {
  'block-resistance': usual(0.04, 'K/W', 1.5),
  'plate-heat': usual(150, 'J/K', 1.6),
} as const satisfies Readonly<Record<string, UsualValue>>

const coolantHeat = usual(3000, 'J/K', 2)
/** Of air coolers: the fins. */
const finHeat = usual(400, 'J/K', 2)
/** By kind; undefined where the coolant is no state of its own. */
const heatOfCoolant: Readonly<Record<CoolerKind, UsualValue | undefined>> = {
  air: finHeat,
  loop: coolantHeat,
  thermoelectric: coolantHeat,
  chilled: undefined,
}

/** One row of a radiator. */
export interface UsualRadiatorRow {
  readonly dutyPct: number
  readonly resistance: UsualValue
}

const RADIATOR_SPREAD = 1.5
const radiatorRows = (...rows: readonly (readonly [number, number])[]): readonly UsualRadiatorRow[] =>
  rows.map(([dutyPct, resistance]) => ({ dutyPct, resistance: usual(resistance, 'K/W', RADIATOR_SPREAD) }))
const loopRadiator = radiatorRows([25, 0.08], [100, 0.04])

/** The rows of a radiator that is left out, by rising duty; none for coolers without one. */
export const usualRadiator: Readonly<Record<CoolerKind, readonly UsualRadiatorRow[]>> = {
  air: radiatorRows([30, 0.2], [100, 0.12]),
  loop: loopRadiator,
  thermoelectric: loopRadiator,
  chilled: [],
}

/**
 * The usual value of a constant; undefined where it has none, and so must be given or has a default that is certain.
 * The rows of a radiator are in `usualRadiator`.
 * @param kind of the cooler, for the constants that differ by it
 */
export function usualValueOf(place: 'part' | 'cooler', word: string, kind?: CoolerKind): UsualValue | undefined {
  if (place === 'cooler' && word === 'coolant-heat') return heatOfCoolant[kind ?? 'loop']
  const table: Readonly<Record<string, UsualValue>> = place === 'part' ? ofPart : ofCooler
  return Object.hasOwn(table, word) ? table[word] : undefined
}

/** What a constant counts as on a part with so many cores, in its base unit; the number does not matter to a cooler's. */
export function usualAmount({ base, perCore }: UsualValue, cores: number): number {
  return perCore === 0 ? base : base + perCore * cores
}

/** The same as it is written in the language, without a word of cores: `11.5 W`. */
export function usualText(value: UsualValue, cores: number): string {
  if (value.perCore === 0) return value.text
  return `${Number(usualAmount(value, cores).toPrecision(12))} ${value.unit}`
}

/** The default of a word of the part as the vocabulary shows it. */
export function usualOfPart(word: keyof typeof ofPart): Default {
  const { text, spread } = ofPart[word]
  return { text: word === 'leakage' ? `${text} at ${usualLeakageAt.text}` : text, spread }
}

/** The same for a word of the cooler. */
export function usualOfCooler(word: keyof typeof ofCooler): Default {
  const { text, spread } = ofCooler[word]
  return { text, spread }
}

type ByKind = Default & { readonly kinds: Readonly<Partial<Record<CoolerKind, Default>>> }

/** The default of a loop, which most kinds share, and those of kinds with another. */
function byKind(table: Readonly<Record<CoolerKind, Default | undefined>>): ByKind {
  const { text = '', spread } = table.loop ?? {}
  const others = Object.entries(table).filter(([, own]) => own !== undefined && own.text !== text)
  return { text, ...(spread === undefined ? {} : { spread }), kinds: Object.fromEntries(others) }
}

const ofKinds = <T, U>(table: Readonly<Record<CoolerKind, T>>, of: (one: T) => U): Readonly<Record<CoolerKind, U>> =>
  Object.fromEntries(Object.entries(table).map(([kind, one]) => [kind, of(one as T)])) as Record<CoolerKind, U>

/** The default of `coolant-heat`. */
export const usualCoolantHeat: ByKind = byKind(
  ofKinds(heatOfCoolant, one => one && { text: one.text, spread: one.spread }),
)

/** The rows of a usual radiator as they are written. */
export const usualRowsText = (rows: readonly UsualRadiatorRow[]): string =>
  rows.map(({ dutyPct, resistance }) => `${dutyPct} % ${resistance.text}`).join('; ')

/** The default of `radiator`. */
export const usualOfRadiator: ByKind = byKind(
  ofKinds(usualRadiator, rows =>
    rows.length === 0 ? undefined : { text: usualRowsText(rows), spread: RADIATOR_SPREAD },
  ),
)
