/** Predicts and judges the cases of a profile for the search: physics, voltages, options, expectations, findings. */

import { fromBase } from '../../../grammar/units/units.ts'
import type { Quantity } from '../../../grammar/values.ts'
import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import { latchOf } from '../../checks/bands/return-latches.ts'
import {
  type Bench,
  bandPeriodS,
  dieCeilingC,
  type Ladder,
  ratioAfter,
  type SettledFigures,
  type SettledState,
  settleState,
  settlingLadders,
  simulateInSlices,
  type Transient,
} from '../../model/index.ts'
import type { Failure, Judge, Link, Verdict } from '../../planning/index.ts'
import { coreVoltageRange, isInsulated, loadConstants } from '../../semantic/constants.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { clockOverTime, type Expectation, figureOf } from '../../semantic/expectations.ts'
import { meets } from '../../semantic/judging.ts'
import { warmCorners } from '../../semantic/over-time.ts'
import { stablePct } from '../../semantic/stable.ts'
import {
  clockText,
  currentText,
  powerText,
  predictedIn,
  ratioText,
  statedText,
  temperatureText,
  trimmed,
} from '../../wording/figures.ts'
import type { ProposeOptions } from './asked.ts'
import { type BenchCase, casesOf, fullActivity } from './cases.ts'
import { findingsOf } from './findings.ts'
import { askedByTrials, type Fault, needFault, rangeFault } from './voltages.ts'

/** A clock that goes back and forth more often than that is faster than anybody wants. */
const FAST_S = 5

/** A settled case whose notes and margin are found once, when they are asked for. */
export interface Seen {
  readonly figures: SettledFigures
  readonly state: () => SettledState
  readonly marginW: () => number | null
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
type LazyFault = () => Fault & { readonly humidityPct?: number }

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

/** The clock of the slowest second in GHz, 0 where the machine stops; of a run that was ended for one, of that one. */
function lowestGhz(run: Transient, forS: number, target: Quantity, endsBelowMhz: number): number {
  const isEnded = !run.tripped && run.lowestSecondMhz < endsBelowMhz
  return isEnded ? run.lowestSecondMhz / 1000 : clockOverTime(run, forS, target).value
}

function ladderOf(cores: number, ratio: number, bands: readonly Link[], returnK: number): Ladder {
  const counts = { fromCores: cores, toCores: cores }
  return { steps: [{ ...counts, ratio }], bands: bands.map(link => ({ ...counts, ...link })), returnK }
}

/** Makes judges of one profile that differ in the expectations they mind; what was settled is shared. */
export function createJudges(input: JudgeInput): (expectations: readonly Expectation[]) => Judge<BenchCase> {
  const { evaluation, bench, options, evidence, allowed, chance } = input
  const { part } = bench
  const { profile } = evaluation
  const ratios = ratiosOf(bench)
  const lowest = ratios[0] ?? part.ratioLow
  const ceilingC = dieCeilingC(part, bench.profile)
  const cases = casesOf(evaluation, bench, options)
  const settle = settlingLadders(bench)
  const unlimited = once(() => {
    const { currentA, burstPowerW, sustainedPowerW, ...limits } = bench.profile.limits
    return settlingLadders({ ...bench, profile: { ...bench.profile, limits } })
  })
  const range = profile.part && coreVoltageRange(profile.part)
  const isBehindInsulation = profile.cooler !== undefined && isInsulated(profile.cooler)
  const hasVector = profile.loads.some(load => loadConstants(load).value?.work.vector === true)
  const asked =
    options.stable === undefined || evidence === undefined
      ? undefined
      : { proof: options.stable, volts: askedByTrials(evidence, options.stable) }
  const warm = warmCorners(bench, evaluation.input.corners)

  const lowFault = rangeFault(bench, range, hasVector, lowest, [])
  const isLowUsual = lowFault?.by === 'voltage' && (lowFault.value ?? 0) < (lowFault.allowed ?? 0)
  const staticFaults = new Map<string, Fault | undefined>()
  /** What is wrong with a step and its bands by themselves; too little voltage is not, where the lowest ratio has as little. */
  const staticFault = (ratio: number, bands: readonly Link[]): Fault | undefined => {
    const key = `${ratio} ${bands.map(({ drop }) => drop).join(' ')}`
    if (staticFaults.has(key)) return staticFaults.get(key)
    const checked = isLowUsual && range !== undefined ? { ...range, lowV: 0 } : range
    const found = rangeFault(bench, checked, hasVector, ratio, bands)
    const code = found?.by === 'voltage' ? 'voltage-range' : found?.by === 'ratio' ? 'ratio-range' : 'needs-short'
    const kept = found !== undefined && code === 'ratio-range' && allowed.has(code) ? undefined : found
    staticFaults.set(key, kept)
    return kept
  }

  const usual = new Map<BenchCase, ReadonlySet<string>>()
  /** What the lowest ratio without bands brings too. */
  const usualOf = (one: BenchCase): ReadonlySet<string> => {
    const before = usual.get(one)
    if (before !== undefined) return before
    const seen = seenOf(settle(ladderOf(one.cores, lowest, [], 0), one.load, one.air.corner))
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
  const unheldC = (at: Bench, one: BenchCase, ratio: number): number | null => {
    const { dieC, ...limits } = at.profile.limits
    const free = {
      ...at,
      part: { ...at.part, dieLimitC: 399 },
      profile: { ...at.profile, limits, ...ladderOf(one.cores, ratio, [], 0) },
    }
    return settleState(free, one.load, one.air.corner)?.dieC ?? null
  }

  const stateFault = (one: BenchCase, ratio: number, { figures }: Seen): LazyFault | undefined => {
    const { state } = figures
    if (state === 'steady' || state === 'alternating') return undefined
    if (one.judged === 'checked' && state === 'throttled') return undefined
    return () => unsteady(one, ratio, figures)
  }

  const unsteady = (one: BenchCase, ratio: number, { state, dieC }: SettledFigures): Fault => {
    const value = state === 'runaway' ? null : state === 'throttled' ? unheldC(bench, one, ratio) : dieC
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

  const expectationFault = (expectation: Expectation, one: BenchCase, seen: Seen): LazyFault | undefined => {
    const { figure, compare, target, forS, unit, text } = expectation
    const fault =
      (value: number | null): LazyFault =>
      () => ({
        by: 'expectation',
        figure,
        value: value === null ? null : fromBase(value, target.unit),
        allowed: fromBase(target.value, target.unit),
        unit,
        words: `would not keep \`expect ${text}\`${value === null ? '' : ` (${predictedIn(fromBase(value, target.unit), unit)})`}`,
      })
    if (figure === 'stable') {
      const found = stablePct(part, seen.state(), forS ?? 0, evidence)
      const value = found === null || typeof found === 'object' ? null : found
      return value !== null && meets(value, compare, target) ? undefined : fault(value)
    }
    for (const wetC of figure === 'above-dew' ? one.air.wetC : [seen.figures.wetC]) {
      const marginW = figure === 'margin' ? seen.marginW() : null
      const value = figureOf(figure, { ...seen.figures, wetC, marginW })
      if (value === null || !meets(value, compare, target)) return fault(value)
    }
    return undefined
  }

  /** The first of what is wrong with a settled case, in the order of `DecidedBy`. */
  const faultOf = (
    one: BenchCase,
    ratio: number,
    seen: Seen,
    expectations: readonly Expectation[],
    usualHere: () => ReadonlySet<string>,
    at: Bench,
  ): LazyFault | undefined => {
    const isWhole = one.judged === 'whole'
    const early =
      seen.figures.state === 'runaway' ? undefined : needFault(at, seen.state(), evidence, isWhole ? asked : undefined)
    const first = early ?? stateFault(one, ratio, seen) ?? (isWhole ? optionFault(seen) : undefined)
    if (first !== undefined) return first
    const brought = findingsOf(at, seen.state(), one.air, isBehindInsulation)
    const own =
      brought.length === 0 ? undefined : brought.find(({ code, key }) => !allowed.has(code) && !usualHere().has(key))
    if (own !== undefined) return () => ({ ...own, words: own.words() })
    for (const expectation of isWhole ? expectations : []) {
      if (expectation.load !== one.name || one.name === fullActivity) continue
      if (expectation.forS !== undefined && expectation.figure !== 'stable') continue
      const fault = expectationFault(expectation, one, seen)
      if (fault !== undefined) return fault
    }
    return undefined
  }

  /** What keeps a case from running the step's ratio, in the order in which limits act. */
  const heldBy = (one: BenchCase, ratio: number, { figures }: Seen): LazyFault | undefined => {
    const wanted = ratioAfter(part, ratio, one.load.vector ? bench.profile.vectorDrop : 0, 0)
    if ((figures.ratioHigh ?? 0) >= wanted - 1e-9) return undefined
    return () => beyondLimit(one, ratio, wanted, figures)
  }

  /** Which limit a ratio is beyond, and by what. */
  const beyondLimit = (one: BenchCase, ratio: number, wanted: number, figures: SettledFigures): Fault => {
    const { currentA, burstPowerW, sustainedPowerW } = bench.profile.limits
    const free = unlimited()(ladderOf(one.cores, ratio, [], 0), one.load, one.air.corner)?.figures
    const at = one.load.vector ? ` at ${ratioText(wanted)}` : ''
    if (currentA !== undefined && (figures.limiter === 'current' || (free?.currentA ?? 0) > currentA)) {
      const value = free?.currentA ?? null
      const words = `would draw ${currentText(value)}${at}, allowed ${statedText(currentA, 'A')}`
      return { by: 'current', figure: 'current_a', value, allowed: currentA, unit: 'A', words }
    }
    const value = free?.powerW ?? null
    const isBurst = burstPowerW !== undefined && (figures.limiter === 'burst-power' || (value ?? 0) > burstPowerW)
    const by = isBurst ? 'burst-power' : 'sustained-power'
    const allowedW = (isBurst ? burstPowerW : sustainedPowerW) ?? null
    const words = `would take ${powerText(value)}${at}, allowed ${powerText(allowedW)} (\`${by}\`)`
    return { by, figure: 'power_w', value, allowed: allowedW, unit: 'W', words }
  }

  /** Without bands, by ratio: every search begins there. */
  const settled = new Map<BenchCase, Map<number, Seen | undefined>>()
  const seenAt = (one: BenchCase, ratio: number, bands: readonly Link[]): Seen | undefined => {
    const own = settled.get(one) ?? new Map<number, Seen | undefined>()
    settled.set(one, own)
    if (bands.length === 0 && own.has(ratio)) return own.get(ratio)
    const seen = seenOf(settle(ladderOf(one.cores, ratio, bands, 0), one.load, one.air.corner))
    if (bands.length === 0) own.set(ratio, seen)
    return seen
  }

  return expectations => {
    const judge = (one: BenchCase, ratio: number, bands: readonly Link[]): Verdict => {
      const fault = staticFault(ratio, bands)
      if (fault !== undefined) {
        const failure = (): Failure => blame(one, fault)
        return {
          failure,
          held: undefined,
          clockMhz: 0,
          alternates: false,
          dieC: null,
          settledC: Number.NEGATIVE_INFINITY,
          passed: false,
        }
      }
      const seen = seenAt(one, ratio, bands)
      if (seen === undefined) throw new Error(`no step covers ${one.cores} cores`)
      const { state, limiter, dieC, clockMhz } = seen.figures
      const found = faultOf(one, ratio, seen, expectations, () => usualOf(one), bench)
      const held = found === undefined && bands.length === 0 ? heldBy(one, ratio, seen) : undefined
      const byPower = limiter === 'sustained-power'
      const isRest = (state === 'steady' || state === 'alternating') && !byPower
      return {
        failure: found && (() => blame(one, found())),
        held: held && (() => blame(one, held())),
        clockMhz: clockMhz ?? 0,
        alternates: state === 'alternating' && limiter === 'band',
        dieC,
        settledC: isRest ? (dieC ?? Number.POSITIVE_INFINITY) : Number.POSITIVE_INFINITY,
        passed: !isRest && !byPower,
      }
    }

    const times = expectations.filter(({ forS, figure }) => forS !== undefined && figure !== 'stable')
    const runs = new Map<string, Failure | undefined>()
    const overTime = function* (one: BenchCase, ladder: Ladder): Generator<undefined, Failure | undefined> {
      if (
        !warm.some(({ airC, humidityPct }) => airC === one.air.corner.airC && one.air.humidityPct.includes(humidityPct))
      )
        return undefined
      for (const expectation of times) {
        if (expectation.load !== one.name || one.name === fullActivity || expectation.forS === undefined) continue
        const key = `${expectation.text} ${one.cores} ${one.corner} ${JSON.stringify(ladder)}`
        if (!runs.has(key)) {
          const own = { ...bench, profile: { ...bench.profile, ...ladder } }
          const { target, compare, unit, text, forS } = expectation
          // Nobody looks at the series, and after a second that is too slow nothing counts any more.
          const endsBelowMhz = compare === '>=' ? target.value * 1000 * (1 - 1e-6) : 0
          const run = { overS: forS, sampleS: forS, endsBelowMhz }
          const transient = yield* simulateInSlices(own, one.load, one.air.corner, run)
          const value = transient === undefined ? null : lowestGhz(transient, forS, target, endsBelowMhz)
          const fails = value === null || !meets(value, compare, target)
          const reached = value === null ? '' : ` (${clockText(value * 1000)} at the lowest)`
          const fault: Fault = {
            by: 'expectation',
            figure: 'clock',
            value: value === null ? null : fromBase(value, target.unit),
            allowed: fromBase(target.value, target.unit),
            unit,
            words: `would not keep \`expect ${text}\`${reached}`,
          }
          runs.set(key, fails ? blame(one, fault) : undefined)
        }
        const failure = runs.get(key)
        if (failure !== undefined) return failure
      }
      return undefined
    }

    const byChance = function* (
      one: BenchCase,
      ratio: number,
      bands: readonly Link[],
    ): Generator<undefined, Failure | undefined> {
      if (chance === undefined || options.probability === undefined) return undefined
      const causes = new Map<string, { readonly fault: Fault; count: number }>()
      const share = yield* chance(one, (moved, load, settleMoved) => {
        const seen = settleMoved(ladderOf(one.cores, ratio, bands, 0))
        const usualHere = (): ReadonlySet<string> => {
          const low = settleMoved(ladderOf(one.cores, lowest, [], 0))
          return new Set(
            low === undefined ? [] : findingsOf(moved, low.state(), one.air, isBehindInsulation).map(({ key }) => key),
          )
        }
        const fault = seen && faultOf({ ...one, load }, ratio, seen, expectations, usualHere, moved)
        if (fault !== undefined) {
          const found = fault()
          const before = causes.get(found.by)
          if (before === undefined) causes.set(found.by, { fault: found, count: 1 })
          else before.count++
        }
        return seen !== undefined && fault === undefined
      })
      if (share >= options.probability) return undefined
      const [cause] = [...causes.values()].sort((a, b) => b.count - a.count)
      const words = `would be sound with a probability of ${percent(share)}, asked for ${percent(options.probability)}; mostly it ${cause?.fault.words ?? 'would not settle'}`
      const figures = { figure: 'probability', value: share, allowed: options.probability, unit: '' }
      return blame(one, { by: cause?.fault.by ?? 'die', ...figures, words })
    }

    return {
      cores: part.cores,
      ratios,
      ratioStep: part.ratioStep,
      ceilingC,
      cases: cores => cases.at(cores),
      judge,
      fastestMhz: (one, ratio) =>
        ratioAfter(part, ratio, one.load.vector ? bench.profile.vectorDrop : 0, 0) * part.referenceGhz * 1000,
      *confirm(all, ratio, bands, scope) {
        const counts = new Set(all.map(({ cores }) => cores))
        if (scope === 'row') {
          for (const cores of counts) {
            for (const one of cases.beyond(cores)) {
              const { failure } = judge(one, ratio, bands)
              if (failure !== undefined) return failure()
            }
          }
        }
        for (const one of all) {
          const failure =
            (yield* overTime(one, ladderOf(one.cores, ratio, bands, 0))) ?? (yield* byChance(one, ratio, bands))
          if (failure !== undefined) return failure
        }
        return undefined
      },
      swing: (one, ratio, bands, returnK) => {
        const ladder = ladderOf(one.cores, ratio, bands, returnK)
        const own = { ...bench, profile: { ...bench.profile, ...ladder } }
        const seen = seenOf(settle(ladder, one.load, one.air.corner))
        if (seen === undefined) throw new Error(`no step covers ${one.cores} cores`)
        const fault = faultOf(one, ratio, seen, expectations, () => usualOf(one), own)
        const { state, limiter } = seen.figures
        const { corner } = one.air
        const settledWhole = { ...seen.state(), marginW: null }
        const load = { name: one.name, definition: undefined, load: one.load }
        const latches = latchOf(own, { load, corner, settled: settledWhole, assumed: [] }) !== undefined
        const swings = fault === undefined && !latches && state === 'alternating' && limiter === 'band'
        const isFast = swings && bandPeriodS(own, one.load, corner, seen.figures, FAST_S) !== undefined
        return { failure: fault && blame(one, fault()), latches, isFast }
      },
    }
  }
}

const percent = (share: number): string => `${trimmed(100 * share, 1)} %`
