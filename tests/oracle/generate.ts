/**
 * Seeded random benches of every kind that the model knows, realistic in size
 * and with limits laid near where each load would settle, so that bands,
 * limits, throttling and runaway are really reached.
 */
import { lowestRoot } from '../../server/model/balance.ts'
import { prepareBench, prepareCorner, prepareLoad } from '../../server/model/prepare.ts'
import { ratioSource } from '../../server/model/ratio-source.ts'
import type {
  BandRow,
  Bench,
  Board,
  Cooler,
  Corner,
  Drive,
  FanPoint,
  Limits,
  Load,
  Part,
  Profile,
  RadiatorPoint,
  ThermoelectricCooler,
} from '../../server/model/types.ts'
import { chipOf, taskOf, type Work } from './chip.ts'
import { running } from './die.ts'
import { ceilingRatios } from './levels.ts'

/** A small generator of uniform numbers in [0, 1) (mulberry32, public domain). */
export const randomFrom = (seed: number): (() => number) => {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), state | 1)
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)) ^ mixed
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296
  }
}

/** In the order of the seeds: a new kind comes last, and does not compile without its line. */
const coolerKinds = Object.keys({
  loop: true,
  air: true,
  chilled: true,
  thermoelectric: true,
} satisfies Record<Cooler['kind'], true>) as Cooler['kind'][]
const driveKinds = ['full', 'off', 'dew', 'hold', 'fixed', 'supply', 'pulsed'] as const
const fanKinds = ['none', 'rising', 'falling'] as const

export interface Wanted {
  readonly cooler: Cooler['kind']
  readonly drive: (typeof driveKinds)[number]
  readonly fan: (typeof fanKinds)[number]
}

const combined = (drives: readonly Wanted['drive'][]): readonly Wanted[] =>
  coolerKinds.flatMap(cooler =>
    (cooler === 'thermoelectric' ? drives : (['full'] as const)).flatMap(drive =>
      fanKinds.map(fan => ({ cooler, drive, fan })),
    ),
  )

/** Every combination, the drive varying only where there is a plate to drive. */
export const allWanted: readonly Wanted[] = combined(driveKinds)

/** Those of benches without leak, wiring, constants by temperature or uneven loads. */
const plainWanted = combined(driveKinds.slice(0, 4))

/**
 * One of the combinations for each seed. Plates held at a target under a fan
 * that slows down take by far the longest and come up a quarter as often.
 */
const chosen = (seed: number, from: readonly Wanted[]): Wanted => {
  const wanted = from[seed % from.length]
  if (!wanted) throw new Error('a seed is a whole number')
  const isSlow = wanted.fan === 'falling' && (wanted.drive === 'dew' || wanted.drive === 'hold')
  return isSlow && Math.floor(seed / from.length) % 4 !== 0 ? { ...wanted, fan: 'rising' } : wanted
}

export const wantedOf = (seed: number): Wanted => chosen(seed, allWanted)
export const plainWantedOf = (seed: number): Wanted => chosen(seed, plainWanted)

export interface Sample {
  readonly bench: Bench
  readonly load: Load
  readonly corner: Corner
}

/** Random choices drawn from one seed. */
export interface Dice {
  /** A number between two bounds, written with so many decimals, as a person would type it. */
  between(low: number, high: number, decimals: number): number
  whole(low: number, high: number): number
  chance(share: number): boolean
  pick<T>(from: readonly T[]): T
}

export const diceFrom = (seed: number): Dice => {
  const random = randomFrom(seed)
  return {
    between: (low, high, decimals) => Number((low + (high - low) * random()).toFixed(decimals)),
    whole: (low, high) => low + Math.floor(random() * (high - low + 1)),
    chance: share => random() < share,
    pick: from => {
      const chosen = from[Math.floor(random() * from.length)]
      if (chosen === undefined) throw new Error('nothing to pick from')
      return chosen
    },
  }
}

const partOf = (dice: Dice): Part => {
  const cores = dice.whole(4, 16)
  const ratioStep = dice.pick([1, 1, 0.5, 0.25])
  const needs = [{ ratio: 36, voltageV: dice.between(0.85, 1.0, 3) }]
  for (const ratio of [44, 50, 54, 58].slice(0, dice.whole(1, 4))) {
    const before = needs[needs.length - 1]
    if (before) needs.push({ ratio, voltageV: Number((before.voltageV + dice.between(0.02, 0.13, 3)).toFixed(3)) })
  }
  const heavy = dice.chance(0.2)
  const none = dice.chance(0.08)
  return {
    cores,
    referenceGhz: dice.pick([0.1, 0.1, 0.0998, 0.103]),
    ratioLow: ratioStep === 1 ? dice.pick([8, 20, 30]) : dice.pick([32, 38]),
    ratioHigh: 62,
    ratioStep,
    dieLimitC: dice.pick([95, 105, 115, 125]),
    needs,
    needsAtC: dice.pick([60, 50]),
    needsSlopeVPerK: dice.pick([0, 0.0004, -0.0003]),
    vectorNeedsV: dice.pick([0, 0.03]),
    switchingNf: dice.between(1, 2.5, 3),
    leakageW: none ? 0 : heavy ? dice.between(25, 80, 1) : dice.between(3, 25, 1),
    leakageAtV: dice.pick([1.2, 1.1]),
    leakageAtC: dice.pick([60, 25, 80]),
    leakageDoublingK: heavy ? dice.between(9, 22, 1) : dice.between(20, 40, 1),
    leakageExponent: dice.pick([1, 1.5, 2, 3, 4, 5]),
    sharedPowerW: dice.between(0, 20, 1),
    idlePowerW: dice.between(4, 20, 1),
    packageResistanceKPerW: dice.between(0.05, 0.14, 4),
    coreResistanceKPerW: dice.between(0.2, 0.7, 3),
    dieHeatJPerK: 12,
  }
}

const radiatorOf = (dice: Dice): RadiatorPoint[] => {
  const best = { dutyPct: dice.pick([100, 90]), resistanceKPerW: dice.between(0.03, 0.1, 4) }
  if (dice.chance(0.35)) return [best]
  const slow = { dutyPct: dice.pick([20, 30, 40]), resistanceKPerW: dice.between(1.3, 2.6, 2) * best.resistanceKPerW }
  return [slow, best]
}

const coolerOf = (dice: Dice, kind: Wanted['cooler']): Cooler => {
  const blockResistanceKPerW = dice.between(0.02, 0.06, 4)
  const heats = { plateHeatJPerK: 150, coolantHeatJPerK: 3000 }
  if (kind === 'loop' || kind === 'air') return { kind, blockResistanceKPerW, radiator: radiatorOf(dice), ...heats }
  if (kind === 'chilled')
    return {
      kind,
      coolantC: dice.between(-5, 18, 1),
      capacityW: dice.between(60, 350, 0),
      beyondKPerW: dice.between(0, 0.25, 3),
      blockResistanceKPerW,
      plateHeatJPerK: 150,
    }
  return {
    kind,
    modules: dice.whole(1, 6),
    seebeckVPerK: dice.between(0.03, 0.06, 4),
    resistanceOhm: dice.between(0.5, 1.2, 2),
    conductanceWPerK: dice.between(0.8, 2, 2),
    // Some are driven far past their best, or past any solution.
    driveCurrentA: dice.chance(0.12) ? dice.between(14, 40, 1) : dice.between(1, 12, 1),
    driveWhenOff: true,
    blockResistanceKPerW,
    radiator: radiatorOf(dice),
    ...heats,
  }
}

const fanOf = (dice: Dice, kind: Wanted['fan'], airC: number): FanPoint[] => {
  if (kind === 'none') return []
  let coolantC = Math.round(airC) + dice.whole(-2, 6)
  let dutyPct = dice.whole(10, 45)
  const rows: FanPoint[] = [{ coolantC, dutyPct }]
  for (let count = dice.whole(1, 4); count > 0; count -= 1) {
    coolantC += dice.whole(2, 12)
    dutyPct = Math.min(100, dutyPct + dice.whole(5, 40))
    rows.push({ coolantC, dutyPct })
  }
  if (kind === 'rising') return rows
  const falls = dice.whole(1, rows.length - 1)
  return rows.map((row, index) =>
    index >= falls ? { ...row, dutyPct: Math.max(5, row.dutyPct - dice.whole(30, 70)) } : row,
  )
}

const driveOf = (dice: Dice, kind: Wanted['drive']): Drive => {
  if (kind === 'dew') return { kind, marginK: dice.between(0, 6, 1) }
  if (kind === 'hold') return { kind, temperatureC: dice.between(-5, 40, 1) }
  // The others are drawn when the modules are known.
  return { kind: kind === 'off' ? 'off' : 'full' }
}

/** Modules that do not stop at the usual: many or few, poor or strong, driven past any solution. */
const wildly = (more: Dice, cooler: ThermoelectricCooler): ThermoelectricCooler => ({
  ...cooler,
  modules: more.whole(1, 12),
  seebeckVPerK: more.between(0.01, 0.1, 4),
  resistanceOhm: more.between(0.1, 4, 2),
  conductanceWPerK: more.between(0.2, 5, 2),
  driveCurrentA: more.between(0.5, 60, 1),
  blockResistanceKPerW: more.between(0.005, 0.4, 4),
})

/** What a plate has beside its modules: leak, wiring, a supply, constants that follow the temperature. */
const extended = (more: Dice, bench: Bench, wanted: Wanted, isWild: boolean): Bench => {
  if (bench.cooler.kind !== 'thermoelectric') return bench
  const base = isWild ? wildly(more, bench.cooler) : bench.cooler
  const series = more.pick([1, 2, 3, 4, 6, 12].filter(one => base.modules % one === 0))
  const parallel = base.modules / series
  const cooler: ThermoelectricCooler = {
    ...base,
    ...(more.chance(0.65) ? { constantsAtC: more.between(isWild ? -80 : -15, isWild ? 180 : 60, 1) } : {}),
    ...(more.chance(0.5) ? { plateLeakWPerK: more.between(0.05, isWild ? 8 : 2.5, 2) } : {}),
    ...(more.chance(0.6) ? { wiringSeries: series, wiringParallel: parallel } : {}),
    ...(more.chance(0.5) ? { leadsOhm: more.between(0.002, isWild ? 1 : 0.12, 3) } : {}),
    ...(more.chance(0.4) ? { supplyLimitA: more.between(1, 1.3 * parallel * base.driveCurrentA, 1) } : {}),
  }
  const { driveCurrentA, resistanceOhm, seebeckVPerK, wiringSeries = cooler.modules } = cooler
  const fullV = wiringSeries * (driveCurrentA * resistanceOhm + seebeckVPerK * 40)
  const drives: Partial<Record<Wanted['drive'], Drive>> = {
    fixed: { kind: 'fixed', currentA: more.between(0.2, 1.15 * driveCurrentA, 2) },
    supply: { kind: 'supply', voltageV: more.between(0.02 * fullV, 1.3 * fullV, 2) },
    pulsed: { kind: 'pulsed', dutyShare: more.between(0.03, 1, 2) },
  }
  return { ...bench, cooler, profile: { ...bench.profile, drive: drives[wanted.drive] ?? bench.profile.drive } }
}

/** Band rows around the temperature where the first level would settle. */
export const bandsOf = (dice: Dice, cores: number, aroundC: number, ratioStep: number): BandRow[] => {
  const rows: BandRow[] = []
  let aboveC = aroundC - (dice.chance(0.6) ? dice.between(0.1, 4, 1) : dice.between(2, 14, 1))
  let drop = 0
  for (let count = dice.whole(1, 4); count > 0; count -= 1) {
    drop += ratioStep * dice.whole(dice.chance(0.15) ? -1 : 1, 8)
    if (drop > 0) rows.push({ fromCores: 1, toCores: cores, aboveC: Number(aboveC.toFixed(1)), drop })
    if (!dice.chance(0.1)) aboveC += dice.between(0.5, 8, 1)
  }
  return rows
}

/** A value at some share of the way from one figure to another. */
export const between = (dice: Dice, from: number, to: number, lowShare: number, highShare: number): number =>
  Number((from + (to - from) * dice.between(lowShare, highShare, 4)).toFixed(1))

/**
 * Where a load would settle if nothing held it: the place round which limits are laid. The model says, being some thousand
 * times as quick as the reference; a limit laid elsewhere would be as good a sample.
 */
const unheld = (bench: Bench, corner: Corner, load: Work) => {
  const chip = chipOf(bench)
  const task = taskOf(load)
  const prepared = prepareBench(bench)
  const loaded = prepareLoad(prepared, load)
  const { curve } = prepareCorner(prepared, corner)
  const figuresAt = (ratio: number, dieC: number) => {
    const { powerW, rails } = running(chip, task, [ratio], dieC)
    return { powerW, currentA: rails[0]?.currentA ?? 0 }
  }
  const at = (ratio: number) => {
    const rootC = lowestRoot(ratioSource(prepared, loaded, [ratio]).source, curve, 0)
    const dieC = Number.isFinite(rootC) ? rootC : undefined
    return { dieC, figures: figuresAt(ratio, Math.min(dieC ?? 85, bench.part.dieLimitC)) }
  }
  return { first: at(ceilingRatios(chip, task, 0)[0] ?? 0), lowest: at(bench.part.ratioLow) }
}

export const sampleOf = (seed: number, wanted: Wanted, isPlain = false): Sample => {
  const dice = diceFrom(seed)
  const more = diceFrom(seed ^ 0x5bd1e995)
  const isWild = !isPlain && more.chance(0.15)
  const ordinary: Corner = { airC: dice.between(5, 35, 1), humidityPct: dice.between(10, 95, 0) }
  const corner = isWild ? { ...ordinary, airC: more.between(-15, 50, 1) } : ordinary
  const part = partOf(dice)
  const board: Board = {
    loadLineOhm: dice.chance(0.5) ? 0 : dice.between(0.0001, 0.0012, 6),
    otherPowerW: 50,
    ...(dice.chance(0.5) ? { coreVoltageStepV: dice.pick([0.005, 0.00625, 0.001]) } : {}),
  }
  const split = dice.whole(1, part.cores - 1)
  const top = dice.whole(46, 60)
  const vectorDrop = dice.chance(0.5) ? 0 : part.ratioStep * dice.whole(1, 5)
  const bare: Profile = {
    steps: [
      { fromCores: 1, toCores: split, ratio: top },
      { fromCores: split + 1, toCores: part.cores, ratio: top - part.ratioStep * dice.whole(0, 5) },
    ],
    bands: [],
    returnK: 0,
    vectorDrop,
    voltage: dice.chance(0.35)
      ? { kind: 'fixed', voltageV: dice.between(0.9, 1.4, 3) }
      : {
          kind: 'needs',
          offsetV: dice.between(-0.02, 0.03, 3),
          set: dice.chance(0.3) ? [{ ratio: dice.pick([44, 47, 50, 56]), voltageV: dice.between(1.1, 1.35, 3) }] : [],
        },
    limits: {},
    drive: driveOf(dice, wanted.drive),
    fan: fanOf(dice, wanted.fan, corner.airC),
  }
  const plain: Bench = { part, cooler: coolerOf(dice, wanted.cooler), profile: bare, board }
  const bench = isPlain ? plain : extended(more, plain, wanted, isWild)
  const rest = dice.whole(0, 19)
  if (rest === 0)
    return { bench: { ...bench, profile: { ...bench.profile, limits: { dieC: 90 } } }, load: { kind: 'idle' }, corner }
  if (rest === 1) return { bench, load: { kind: 'off' }, corner }
  const load: Work = {
    kind: 'work',
    cores: dice.chance(0.6) ? part.cores : dice.whole(1, part.cores),
    activity: dice.between(0.3, 1.1, 2),
    vector: dice.chance(0.4),
    ...(isPlain || more.chance(0.5) ? {} : { uneven: more.between(1, isWild ? 4 : 1.8, 2) }),
  }
  const { first, lowest } = unheld(bench, corner, load)
  const settlesC = first.dieC ?? 85
  const coolestC = Math.min(settlesC, lowest.dieC ?? settlesC)
  const limits: { -readonly [Key in keyof Limits]: Limits[Key] } = {}
  const wish = dice.pick(['free', 'free', 'throttled', 'throttled', 'near', 'near', 'over'] as const)
  if (wish === 'throttled')
    limits.dieC = Number((settlesC - (settlesC - coolestC) * dice.between(0.01, 0.8, 3)).toFixed(1))
  if (wish === 'over') limits.dieC = Number((coolestC - dice.between(-1, 6, 1)).toFixed(1))
  if (wish === 'near') limits.dieC = Number((settlesC + dice.between(0.5, 10, 1)).toFixed(1))
  if (dice.chance(0.2)) limits.currentA = between(dice, lowest.figures.currentA, first.figures.currentA, 0.2, 1.1)
  if (dice.chance(0.2)) limits.burstPowerW = between(dice, lowest.figures.powerW, first.figures.powerW, 0.2, 1.1)
  if (dice.chance(0.03)) limits.currentA = between(dice, 0, lowest.figures.currentA, 0.3, 0.95)
  if (dice.chance(0.3)) limits.sustainedPowerW = between(dice, lowest.figures.powerW, first.figures.powerW, 0.1, 1.1)
  if (dice.chance(0.03)) limits.sustainedPowerW = between(dice, 0, lowest.figures.powerW, 0.3, 0.95)
  const profile: Profile = {
    ...bench.profile,
    limits,
    bands: dice.chance(0.6)
      ? bandsOf(dice, part.cores, Math.min(settlesC, limits.dieC ?? settlesC), part.ratioStep)
      : [],
    returnK: dice.chance(0.5) ? 0 : dice.between(0.5, 8, 1),
  }
  return { bench: { ...bench, profile }, load, corner }
}

/** How many samples ended in each state under each limiter. */
export type Histogram = Map<string, number>

export const addTo = (histogram: Histogram, key: string): void => {
  histogram.set(key, (histogram.get(key) ?? 0) + 1)
}

export const printed = (histogram: Histogram): string =>
  [...histogram]
    .sort((one, other) => (one[0] < other[0] ? -1 : 1))
    .map(([key, count]) => `${String(count).padStart(5)}  ${key}`)
    .join('\n')
