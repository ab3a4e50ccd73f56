/** Predicts and judges the cases of a profile of a part whose cores are all alike, for the search. */

import { fromBase } from '../../../grammar/units/units.ts'
import type { Quantity } from '../../../grammar/values.ts'
import { type Ladder, ratioAfter, type SettledFigures, simulateInSlices, type Transient } from '../../model/index.ts'
import type { Failure, Judge, Link, Verdict } from '../../planning/index.ts'
import { coreVoltageRange, loadConstants } from '../../semantic/constants.ts'
import { clockOverTime } from '../../semantic/expectations.ts'
import { meets } from '../../semantic/judging.ts'
import { warmCorners } from '../../semantic/over-time.ts'
import { clockText, ratioText } from '../../wording/figures.ts'
import { type BenchCase, casesOf, fullActivity } from './cases.ts'
import { chanceFault } from './chance.ts'
import {
  beyondText,
  createFaults,
  type JudgeInput,
  ladderOf,
  type Minded,
  ratiosOf,
  type Seen,
  seenOf,
} from './faults.ts'
import { swingOf } from './swing.ts'
import { type Fault, rangeFault } from './voltages.ts'

/** The clock of the slowest second in GHz, 0 where the machine stops; of a run that was ended for one, of that one. */
function lowestGhz(run: Transient, forS: number, target: Quantity, endsBelowMhz: number): number {
  const isEnded = !run.tripped && run.lowestSecondMhz < endsBelowMhz
  return isEnded ? run.lowestSecondMhz / 1000 : clockOverTime(run, forS, target, undefined).value
}

/** Makes judges of one profile that differ in the expectations they mind; what was settled is shared. */
export function createJudges(input: JudgeInput): (expectations: readonly Minded[]) => Judge<BenchCase> {
  const { evaluation, bench, options, allowed, chance } = input
  const { part } = bench
  const { profile } = evaluation
  const ratios = ratiosOf(bench)
  const lowest = ratios[0] ?? part.ratioLow
  const cases = casesOf(evaluation, bench, options)
  const { settle, unlimited, ceilingC, faultOf, usualOf, blame, isBehindInsulation } = createFaults(input)
  const range = profile.part && coreVoltageRange(profile.part)
  const hasVector = profile.loads.some(load => loadConstants(load).value?.work.vector === true)
  const warm = warmCorners(bench, evaluation.input.corners)
  const bandless = (one: BenchCase, ratio: number) => (): Ladder => ladderOf(one.cores, ratio, [], 0)

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

  /** What keeps a case from running the step's ratio, in the order in which limits act. */
  const heldBy = (one: BenchCase, ratio: number, { figures }: Seen): (() => Fault) | undefined => {
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
      const [drawn, most] = beyondText(value, currentA, 'A')
      const words = `would draw ${drawn}${at}, allowed ${most}`
      return { by: 'current', figure: 'current_a', value, allowed: currentA, unit: 'A', words }
    }
    const value = free?.powerW ?? null
    const isBurst = burstPowerW !== undefined && (figures.limiter === 'burst-power' || (value ?? 0) > burstPowerW)
    const by = isBurst ? 'burst-power' : 'sustained-power'
    const allowedW = (isBurst ? burstPowerW : sustainedPowerW) ?? null
    const [taken, most] = beyondText(value, allowedW, 'W')
    const words = `would take ${taken}${at}, allowed ${most} (\`${by}\`)`
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
    /** What a step without bands is judged by: bands are for the rest. */
    const bare = expectations.filter(({ isOfBands }) => isOfBands !== true)
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
      const minded = bands.length === 0 ? bare : expectations
      const found = faultOf(one, bandless(one, ratio), seen, minded, () => usualOf(one), bench)
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
      const ladders = {
        own: ladderOf(one.cores, ratio, bands, 0),
        lowest: ladderOf(one.cores, lowest, [], 0),
        isBehindInsulation,
      }
      const fault = yield* chanceFault(chance, options.probability, one, ladders, ({ at, load, seen, usualHere }) =>
        faultOf({ ...one, load }, bandless(one, ratio), seen, expectations, usualHere, at),
      )
      return fault && blame(one, fault)
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
        if (scope === 'row' && bands.length === 0 && bare.length < expectations.length) {
          for (const one of all) {
            const seen = seenAt(one, ratio, bands)
            const fault = seen && faultOf(one, bandless(one, ratio), seen, expectations, () => usualOf(one), bench)
            if (fault !== undefined) return blame(one, fault())
          }
        }
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
        const fault = faultOf(one, bandless(one, ratio), seen, expectations, () => usualOf(one), own)
        return { failure: fault && blame(one, fault()), ...swingOf(own, one, seen, fault !== undefined) }
      },
    }
  }
}
