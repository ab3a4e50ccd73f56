/** Predicts and judges the cases of a profile of a part with groups of cores, for the search. */

import {
  benchOfGroup,
  type CoreGroup,
  groupSettings,
  type Ladder,
  partOfGroup,
  ratioAfter,
  type SettledFigures,
} from '../../model/index.ts'
import type { Failure, GroupsJudge, Settings, Verdict } from '../../planning/index.ts'
import { loadConstants } from '../../semantic/constants.ts'
import { railVoltages } from '../../semantic/rail-voltages.ts'
import { ratioText } from '../../wording/figures.ts'
import { type BenchCase, groupCasesOf } from './cases.ts'
import { chanceFault } from './chance.ts'
import {
  beyondText,
  createFaults,
  type JudgeInput,
  lowestLadder,
  type Minded,
  ratiosOf,
  type Seen,
  seenOf,
} from './faults.ts'
import { swingOf } from './swing.ts'
import { type Fault, rangeFault } from './voltages.ts'

/** Makes judges of one profile that differ in the expectations they mind; what was settled is shared. */
export function createGroupsJudges(input: JudgeInput): (expectations: readonly Minded[]) => GroupsJudge<BenchCase> {
  const { evaluation, bench, options, allowed, chance } = input
  const { part, profile } = bench
  const groups = part.groups ?? []
  const referenceMhz = part.referenceGhz * 1000
  const faults = createFaults(input)
  const { settle, unlimited, ceilingC, faultOf, usualOf, blame, isBehindInsulation } = faults
  const { cases, beyond } = groupCasesOf(evaluation, bench, options)
  const hasVector = evaluation.profile.loads.some(load => loadConstants(load).value?.work.vector === true)
  const ranges = groups.map((_, index) => railVoltages(evaluation.profile, part, index))
  const benches = groups.map((_, index) => benchOfGroup(bench, index))
  const ratios = benches.map(ratiosOf)
  const vectorOf = (group: number, { load }: BenchCase): number =>
    load.vector ? groupSettings(profile, group).vectorDrop : 0

  const ladderFor = (settings: Settings, isBanded: boolean, returnK = 0): Ladder => {
    const low = lowestLadder(bench)
    const own = (low.groups ?? []).map((group, index) => {
      const setting = settings[index]
      if (setting === undefined) return group
      const counts = { fromCores: 1, toCores: groups[index]?.cores ?? 0 }
      const bands = isBanded ? setting.bands.map(link => ({ ...counts, ...link })) : []
      return { ...group, steps: [{ ...counts, ratio: setting.ratio }], bands, returnK }
    })
    return { ...low, steps: own[0]?.steps ?? [], bands: own[0]?.bands ?? [], returnK, groups: own }
  }

  const statics = new Map<string, Fault | undefined>()
  /** What is wrong with a group's step and bands by themselves; too little voltage is not, where its lowest ratio has as little. */
  const staticFault = (group: number, { ratio, bands }: NonNullable<Settings[number]>): Fault | undefined => {
    const key = `${group} ${ratio} ${bands.map(({ drop }) => drop).join(' ')}`
    if (statics.has(key)) return statics.get(key)
    const own = benches[group] as typeof bench
    const range = ranges[group]
    const lowFault = rangeFault(own, range, hasVector, (ratios[group] as readonly number[])[0] as number, [])
    const isLowUsual = lowFault?.by === 'voltage' && (lowFault.value ?? 0) < (lowFault.allowed ?? 0)
    const found = rangeFault(own, isLowUsual && range ? { ...range, lowV: 0 } : range, hasVector, ratio, bands)
    const kept = found?.by === 'ratio' && allowed.has('ratio-range') ? undefined : found
    statics.set(key, kept)
    return kept
  }

  /** What keeps a case from running its steps, in the order in which limits act. */
  const heldBy = (one: BenchCase, settings: Settings, { figures }: Seen): (() => Fault) | undefined => {
    for (const [group, setting] of settings.entries()) {
      if (setting === undefined) continue
      const wanted = ratioAfter(groups[group] as CoreGroup, setting.ratio, vectorOf(group, one), 0)
      if ((figures.groups?.[group]?.ratioHigh ?? 0) < wanted - 1e-9) return () => beyondLimit(one, settings, figures)
    }
    return undefined
  }

  const beyondLimit = (one: BenchCase, settings: Settings, figures: SettledFigures): Fault => {
    const { currentA, railCurrentA, burstPowerW, sustainedPowerW } = profile.limits
    const free = unlimited()(ladderFor(settings, false), one.load, one.air.corner)?.figures
    for (const [group, { rail }] of groups.entries()) {
      const allowedA = railCurrentA?.[rail] ?? currentA
      const value = free?.groups?.[group]?.currentA ?? null
      if (allowedA === undefined || value === null || value <= allowedA) continue
      const [drawn, most] = beyondText(value, allowedA, 'A')
      const words = `would draw ${drawn}, allowed ${most}`
      return { by: 'current', figure: 'current_a', value, allowed: allowedA, unit: 'A', words }
    }
    const value = free?.powerW ?? null
    const isBurst = burstPowerW !== undefined && (figures.limiter === 'burst-power' || (value ?? 0) > burstPowerW)
    const by = isBurst ? 'burst-power' : 'sustained-power'
    const allowedW = (isBurst ? burstPowerW : sustainedPowerW) ?? null
    const [taken, most] = beyondText(value, allowedW, 'W')
    const words = `would take ${taken}, allowed ${most} (\`${by}\`)`
    return { by, figure: 'power_w', value, allowed: allowedW, unit: 'W', words }
  }

  const settled = new Map<BenchCase, Map<string, Seen>>()
  const seenAt = (one: BenchCase, settings: Settings): Seen => {
    const own = settled.get(one) ?? new Map<string, Seen>()
    settled.set(one, own)
    const isBare = settings.every(setting => (setting?.bands.length ?? 0) === 0)
    const key = isBare ? settings.map(setting => setting?.ratio ?? '').join(' ') : ''
    const before = isBare ? own.get(key) : undefined
    if (before !== undefined) return before
    const seen = seenOf(settle(ladderFor(settings, true), one.load, one.air.corner))
    if (seen === undefined) throw new Error(`no step covers ${one.counts.join(' and ')} cores`)
    if (isBare) own.set(key, seen)
    return seen
  }

  /** The mean over busy cores, in MHz. */
  const meanMhz = (of: (group: number) => number, { counts }: BenchCase): number => {
    const all = counts.reduce((sum, count) => sum + count, 0)
    return counts.reduce((sum, count, group) => sum + (count === 0 ? 0 : (count * of(group)) / all), 0)
  }

  /** Each busy group's cores and ratio: `4 of broad at 51x, 10 of small at 40x`. */
  const ratiosText = (settings: Settings, { counts }: BenchCase): string =>
    settings
      .flatMap((setting, group) =>
        setting === undefined ? [] : [`${counts[group]} of ${groups[group]?.name} at ${ratioText(setting.ratio)}`],
      )
      .join(', ')

  return expectations => {
    const faultAt = (one: BenchCase, settings: Settings, seen: Seen, at: typeof bench): ReturnType<typeof faultOf> => {
      const steps = (): Ladder => ladderFor(settings, false)
      return faultOf(one, steps, seen, expectations, () => usualOf(one), at)
    }
    const blamed = (one: BenchCase, settings: Settings, fault: ReturnType<() => Fault>): Failure => {
      const isMixed = one.counts.filter(count => count > 0).length > 1
      const failure = blame(one, fault)
      return isMixed ? { ...failure, words: `${failure.words}, with ${ratiosText(settings, one)}` } : failure
    }
    const judge = (one: BenchCase, settings: Settings): Verdict => {
      for (const [group, setting] of settings.entries()) {
        const fault = setting && staticFault(group, setting)
        if (fault === undefined) continue
        const failure = (): Failure => blamed(one, settings, fault)
        const nothing = { held: undefined, clockMhz: 0, alternates: false, dieC: null, passed: false }
        return { failure, ...nothing, settledC: Number.NEGATIVE_INFINITY }
      }
      const seen = seenAt(one, settings)
      const { state, limiter, dieC, groups: own } = seen.figures
      const found = faultAt(one, settings, seen, bench)
      const isBare = settings.every(setting => (setting?.bands.length ?? 0) === 0)
      const held = found === undefined && isBare ? heldBy(one, settings, seen) : undefined
      const byPower = limiter === 'sustained-power'
      const isRest = (state === 'steady' || state === 'alternating') && !byPower
      return {
        failure: found && (() => blamed(one, settings, found())),
        held: held && (() => blamed(one, settings, held())),
        clockMhz: meanMhz(group => own?.[group]?.clockMhz ?? 0, one),
        alternates: state === 'alternating' && limiter === 'band',
        dieC,
        settledC: isRest ? (dieC ?? Number.POSITIVE_INFINITY) : Number.POSITIVE_INFINITY,
        passed: !isRest && !byPower,
      }
    }
    const chances = new Map<BenchCase, Map<string, Failure | undefined>>()
    return {
      *confirm(one, settings) {
        if (chance === undefined || options.probability === undefined || one.judged === 'checked') return undefined
        const own = chances.get(one) ?? new Map<string, Failure | undefined>()
        chances.set(one, own)
        const key = JSON.stringify(settings)
        if (own.has(key)) return own.get(key)
        const ladders = { own: ladderFor(settings, true), lowest: lowestLadder(bench), isBehindInsulation }
        const bare = (): Ladder => ladderFor(settings, false)
        const fault = yield* chanceFault(chance, options.probability, one, ladders, ({ at, load, seen, usualHere }) =>
          faultOf({ ...one, load }, bare, seen, expectations, usualHere, at),
        )
        const failure = fault && blamed(one, settings, fault)
        own.set(key, failure)
        return failure
      },
      groups: groups.map(({ name, cores }, index) => {
        return { name, cores, ratios: ratios[index] as readonly number[], ratioStep: part.ratioStep }
      }),
      ceilingC,
      cases,
      beyond: steps => beyond(steps.map(rows => [...new Set(rows.flatMap(({ from, to }) => [from, to]))])),
      judge,
      fastestMhz: (one, settings) =>
        meanMhz(group => {
          const ratio = settings[group]?.ratio ?? 0
          return ratioAfter(partOfGroup(part, group), ratio, vectorOf(group, one), 0) * referenceMhz
        }, one),
      powerW: (one, settings) => {
        const bare = settings.map(setting => setting && { ...setting, bands: [] })
        return seenAt(one, bare).figures.powerW ?? undefined
      },
      swing: (one, settings, returnK) => {
        const ladder = ladderFor(settings, true, returnK)
        const own = { ...bench, profile: { ...profile, ...ladder } }
        const seen = seenOf(settle(ladder, one.load, one.air.corner))
        if (seen === undefined) throw new Error(`no step covers ${one.counts.join(' and ')} cores`)
        const fault = faultAt(one, settings, seen, own)
        const failure = fault && blamed(one, settings, fault())
        return { failure, ...swingOf(own, one, seen, fault !== undefined) }
      },
    }
  }
}
