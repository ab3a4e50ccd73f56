/** What is wrong with a settled case of a profile: voltages, state, options, expectations, findings. */

import { fromBase } from '../../../grammar/units/units.ts'
import type { Quantity } from '../../../grammar/values.ts'
import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import {
  type Bench,
  dieCeilingC,
  groupSettings,
  type Ladder,
  partOfGroup,
  type SettledFigures,
  type SettledState,
  settleState,
  settlingLadders,
} from '../../model/index.ts'
import type { Failure, Link } from '../../planning/index.ts'
import { isInsulated } from '../../semantic/constants.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type Expectation, figureOf } from '../../semantic/expectations.ts'
import { meets } from '../../semantic/judging.ts'
import { stablePct } from '../../semantic/stable.ts'
import { apartTexts, currentText, powerText, predictedIn, statedText, temperatureText } from '../../wording/figures.ts'
import type { ProposeOptions } from './asked.ts'
import { type BenchCase, fullActivity } from './cases.ts'
import { findingsOf } from './findings.ts'
import { askedByTrials, type Fault, needFaults } from './voltages.ts'

/** A settled case whose notes and margin are found once, when they are asked for. */
export interface Seen {
  readonly figures: SettledFigures
  readonly state: () => SettledState
  readonly marginW: () => number | null
}

/** An expectation of a load that a plan minds. */
export interface Minded extends Expectation {
  /** It is of the load with so many cores of each group alone. */
  readonly counts?: readonly number[]
  /** It is of what bands keep, not of what a step carries without any. */
  readonly isOfBands?: boolean
  /** What it is asked for, where the profile does not state it: a sentence. */
  readonly why?: string
}

export interface JudgeInput {
  readonly evaluation: Evaluation
  readonly bench: Bench
  readonly options: ProposeOptions
  readonly evidence: PartEvidence | undefined
  /** Codes of findings that the profile accepts. */
  readonly allowed: ReadonlySet<string>
  /** How probable it is that a case is sound, where that is asked. */
  readonly chance?: ChanceOf | undefined
}

/** A fault that is worked out when it is asked for: most are only counted. */
export type LazyFault = () => Fault & { readonly humidityPct?: number }

/** The share of draws of the constants in which a case is sound, as far as it matters. */
export type ChanceOf = (
  one: BenchCase,
  isSound: (bench: Bench, load: BenchCase['load'], settle: (ladder: Ladder) => Seen | undefined) => boolean,
) => Generator<undefined, number>

const once = <T>(make: () => T): (() => T) => {
  let made: { readonly value: T } | undefined
  return () => {
    made ??= { value: make() }
    return made.value
  }
}

export function seenOf(found: ReturnType<ReturnType<typeof settlingLadders>>): Seen | undefined {
  if (found === null) return undefined
  const { figures } = found
  return { figures, state: once(() => ({ ...figures, notes: found.notes() })), marginW: once(() => found.marginW()) }
}

/** Ratios of the part's grid, rising. */
export function ratiosOf({ part }: Bench): readonly number[] {
  const { ratioLow, ratioHigh, ratioStep } = part
  const first = Math.ceil(ratioLow / ratioStep - 1e-6)
  const last = Math.floor(ratioHigh / ratioStep + 1e-6)
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, index) =>
    Number(((first + index) * ratioStep).toFixed(9)),
  )
}

/** The step of one count and its bands. */
export function ladderOf(cores: number, ratio: number, bands: readonly Link[], returnK: number): Ladder {
  const counts = { fromCores: cores, toCores: cores }
  return { steps: [{ ...counts, ratio }], bands: bands.map(link => ({ ...counts, ...link })), returnK }
}

/** Every group at the lowest ratio of the part's grid that it has, without bands. */
export function lowestLadder(bench: Bench): Ladder {
  const groups = (bench.part.groups ?? []).map((group, index) => {
    const [ratio = group.ratioLow] = ratiosOf({ ...bench, part: partOfGroup(bench.part, index) })
    const steps = [{ fromCores: 1, toCores: group.cores, ratio }]
    return { ...groupSettings(bench.profile, index), steps, bands: [], returnK: 0 }
  })
  const [first] = groups
  return { steps: first?.steps ?? [], bands: [], returnK: 0, groups }
}

/** What the judges of a profile share. */
export interface Faults {
  readonly settle: ReturnType<typeof settlingLadders>
  /** The same without limits of current and power. */
  readonly unlimited: () => ReturnType<typeof settlingLadders>
  readonly ceilingC: number
  /** The first of what is wrong with a settled case, in the order of `DecidedBy`. */
  readonly faultOf: (
    one: BenchCase,
    /** Without bands. */
    steps: () => Ladder,
    seen: Seen,
    expectations: readonly Minded[],
    usualHere: () => ReadonlySet<string>,
    at: Bench,
  ) => LazyFault | undefined
  /** What the lowest ratio without bands brings too. */
  readonly usualOf: (one: BenchCase) => ReadonlySet<string>
  readonly blame: (one: BenchCase, fault: ReturnType<LazyFault>) => Failure
  readonly isBehindInsulation: boolean
}

/** What a limit is exceeded by, and the limit, so that they differ. */
export function beyondText(value: number | null, allowed: number | null, unit: 'A' | 'W'): readonly [string, string] {
  const text = unit === 'A' ? currentText : powerText
  const stated = allowed === null ? text(null) : statedText(allowed, unit)
  if (value === null || allowed === null) return [text(value), stated]
  return text(value) === text(allowed) ? [apartTexts(value, allowed, text, unit)[0], stated] : [text(value), stated]
}

function reachedText(value: number, target: Quantity, unit: string): string {
  const text = (figure: number): string => predictedIn(figure, unit)
  return apartTexts(fromBase(value, target.unit), fromBase(target.value, target.unit), text, unit)[0]
}

/** What keeps a step from being higher where an expectation does. */
function keptWords({ figure, text, why }: Minded, reached: string | undefined): string {
  if (why === undefined) return `would not keep \`expect ${text}\`${reached === undefined ? '' : ` (${reached})`}`
  return `would settle ${figure === 'die' ? 'with the die ' : ''}at ${reached ?? 'no figure'}: ${why}`
}

export function createFaults({ evaluation, bench, options, evidence, allowed }: JudgeInput): Faults {
  const { part } = bench
  const { profile } = evaluation
  const lowest = ratiosOf(bench)[0] ?? part.ratioLow
  const ceilingC = dieCeilingC(part, bench.profile)
  const settle = settlingLadders(bench)
  const unlimited = once(() => {
    const { currentA, railCurrentA, burstPowerW, sustainedPowerW, ...limits } = bench.profile.limits
    return settlingLadders({ ...bench, profile: { ...bench.profile, limits } })
  })
  const isBehindInsulation = profile.cooler !== undefined && isInsulated(profile.cooler)
  const asked =
    options.stable === undefined || evidence === undefined ? undefined : askedByTrials(part, evidence, options.stable)

  const lowestOf = (one: BenchCase): Ladder =>
    part.groups === undefined ? ladderOf(one.cores, lowest, [], 0) : lowestLadder(bench)
  const usual = new Map<BenchCase, ReadonlySet<string>>()
  /** What the lowest ratio without bands brings too. */
  const usualOf = (one: BenchCase): ReadonlySet<string> => {
    const before = usual.get(one)
    if (before !== undefined) return before
    const seen = seenOf(settle(lowestOf(one), one.load, one.air.corner))
    const keys = seen === undefined ? [] : findingsOf(bench, seen.state(), one.air, isBehindInsulation)
    const found = new Set(keys.map(({ key }) => key))
    usual.set(one, found)
    return found
  }

  const blame = (one: BenchCase, { humidityPct, ...fault }: ReturnType<LazyFault>): Failure => ({
    ...fault,
    load: one.name,
    cores: one.cores,
    airC: one.air.corner.airC,
    humidityPct: humidityPct ?? one.air.corner.humidityPct,
  })

  /** The temperature that a step would bring the die to without a limit on it; null on runaway. */
  const unheldC = (at: Bench, one: BenchCase, steps: Ladder): number | null => {
    const { dieC, ...limits } = at.profile.limits
    const free = { ...at, part: { ...at.part, dieLimitC: 399 }, profile: { ...at.profile, limits, ...steps } }
    return settleState(free, one.load, one.air.corner)?.dieC ?? null
  }

  const stateFault = (one: BenchCase, steps: () => Ladder, { figures }: Seen): LazyFault | undefined => {
    const { state } = figures
    if (state === 'steady' || state === 'alternating') return undefined
    if (one.judged === 'checked' && state === 'throttled') return undefined
    return () => unsteady(one, steps(), figures)
  }

  const unsteady = (one: BenchCase, steps: Ladder, { state, dieC }: SettledFigures): Fault => {
    const value = state === 'runaway' ? null : state === 'throttled' ? unheldC(bench, one, steps) : dieC
    const words =
      value === null
        ? 'would find no steady temperature'
        : `would bring the die to ${temperatureText(value)}, limit ${statedText(ceilingC, '°C')}`
    return { by: 'die', figure: 'die_c', value, allowed: ceilingC, unit: '°C', words }
  }

  const optionFault = ({ figures, marginW }: Seen): LazyFault | undefined => {
    const { dieC } = figures
    if (options.dieC !== undefined && (dieC === null || dieC > options.dieC + 1e-6)) {
      const allowedC = options.dieC
      return () => {
        const words = `would bring the die to ${temperatureText(dieC)}, asked for ${statedText(allowedC, '°C')}`
        return { by: 'die', figure: 'die_c', value: dieC, allowed: allowedC, unit: '°C', words }
      }
    }
    if (options.marginW === undefined) return undefined
    const left = marginW()
    if (left !== null && left >= options.marginW * (1 - 1e-6)) return undefined
    const askedW = options.marginW
    return () => {
      const words = `would leave a margin of ${powerText(left)}, asked for ${statedText(askedW, 'W')}`
      return { by: 'margin', figure: 'margin_w', value: left, allowed: askedW, unit: 'W', words }
    }
  }

  const expectationFault = (expectation: Minded, one: BenchCase, seen: Seen): LazyFault | undefined => {
    const { figure, compare, target, forS, unit, group } = expectation
    const fault =
      (value: number | null): LazyFault =>
      () => ({
        by: 'expectation',
        figure,
        value: value === null ? null : fromBase(value, target.unit),
        allowed: fromBase(target.value, target.unit),
        unit,
        words: keptWords(expectation, value === null ? undefined : reachedText(value, target, unit)),
      })
    if (figure === 'stable') {
      const found = stablePct(part, seen.state(), forS ?? 0, evidence)
      const value = found === null || typeof found === 'object' ? null : found
      return value !== null && meets(value, compare, target) ? undefined : fault(value)
    }
    // Counts at which the group is idle say nothing of it.
    if (group !== undefined && seen.figures.groups?.find(own => own.group === group)?.cores === 0) return undefined
    for (const wetC of figure === 'above-dew' ? one.air.wetC : [seen.figures.wetC]) {
      const marginW = figure === 'margin' ? seen.marginW() : null
      const value = figureOf(figure, { ...seen.figures, wetC, marginW }, group)
      if (value === null || !meets(value, compare, target)) return fault(value)
    }
    return undefined
  }

  const faultOf: Faults['faultOf'] = (one, steps, seen, expectations, usualHere, at) => {
    const isWhole = one.judged === 'whole'
    const early =
      seen.figures.state === 'runaway' ? undefined : needFaults(at, seen.state(), evidence, isWhole ? asked : undefined)
    const first = early ?? stateFault(one, steps, seen) ?? (isWhole ? optionFault(seen) : undefined)
    if (first !== undefined) return first
    const brought = findingsOf(at, seen.state(), one.air, isBehindInsulation)
    const own =
      brought.length === 0 ? undefined : brought.find(({ code, key }) => !allowed.has(code) && !usualHere().has(key))
    if (own !== undefined) return () => ({ ...own, words: own.words() })
    for (const expectation of isWhole ? expectations : []) {
      if (expectation.load !== one.name || one.name === fullActivity) continue
      if (expectation.forS !== undefined && expectation.figure !== 'stable') continue
      if (expectation.counts?.some((count, group) => count !== one.counts[group]) === true) continue
      const fault = expectationFault(expectation, one, seen)
      if (fault !== undefined) return fault
    }
    return undefined
  }

  return { settle, unlimited, ceilingC, faultOf, usualOf, blame, isBehindInsulation }
}
