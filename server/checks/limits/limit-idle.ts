import { limitWords } from '../../../grammar/vocabulary/index.ts'
import { type Bench, isWork, type SettledState, settleState } from '../../model/index.ts'
import { nameAfter } from '../../semantic/definitions.ts'
import { type EnvelopePoint, envelopeOf, onceAmong } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type LimitFacts, limits } from '../../semantic/limiters.ts'
import { partNames } from '../../semantic/part-names.ts'
import type { ResolvedProfile, Sourced } from '../../semantic/profile.ts'
import { settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

/**
 * The lines of a limit: one for all, or of `current` those that supply rails take. A line for all that no rail takes limits
 * nothing, and has a finding of its own (`key-unused-here`).
 */
function rowsOf(profile: ResolvedProfile, word: string): readonly Sourced[] {
  const rails = word === 'current' ? partNames(profile.part).rails : []
  const names = rails.length === 0 ? [undefined] : rails
  const found = names.flatMap(rail => profile.inner('limits', word, rail) ?? [])
  return found.filter(({ match }, index) => found.findIndex(other => other.match === match) === index)
}

const ofRail = ({ match }: Sourced): string => {
  const rail = nameAfter(match)
  return rail === undefined ? '' : ` ${rail}`
}

/**
 * Whether the limits on current of some supply rails act somewhere, whatever those of the other rails do: held back by
 * one alone, a load does not say by which.
 */
function railsAct(
  { part, profile, ...bench }: Bench,
  points: readonly EnvelopePoint[],
  rails: readonly string[],
): boolean {
  const { currentA } = profile.limits
  const own = (rail: string): number | undefined =>
    rails.includes(rail) ? (profile.limits.railCurrentA?.[rail] ?? currentA) : undefined
  const railCurrentA = Object.fromEntries(
    (part.groups ?? []).map(({ rail }) => [rail, own(rail) ?? Number.POSITIVE_INFINITY]),
  )
  const alone = { ...bench, part, profile: { ...profile, limits: { ...profile.limits, railCurrentA } } }
  return points.some(({ load, corner, settled }) => {
    if (!acts(limits.current, settled)) return false
    const found = settleState(alone, load, corner)
    return found !== null && acts(limits.current, found)
  })
}

/** Whether a limit on current that stands for some rails of several acts; as of the whole part where it has one rail. */
function currentActs(
  { profile, input: { bench } }: Evaluation,
  points: readonly EnvelopePoint[],
  row: Sourced,
): boolean {
  const { rails } = partNames(profile.part)
  const taking = rails.filter(rail => profile.inner('limits', 'current', rail)?.match === row.match)
  return bench !== undefined && railsAct(bench, points, taking)
}

function acts(facts: LimitFacts | undefined, settled: SettledState): boolean {
  return facts !== undefined && (settled.limiter === facts.limiter || facts.isExceeded(settled))
}

/** The limits that act somewhere; undefined where no load is predicted. */
const actingAmong = onceAmong((_, points): ReadonlySet<LimitFacts> | undefined => {
  const work = points.filter(({ load }) => isWork(load))
  const all = Object.values(limits)
  return work.length === 0 ? undefined : new Set(all.filter(facts => work.some(({ settled }) => acts(facts, settled))))
})

export const limitIdle: Check = {
  code: 'limit-idle',
  severity: 'off',
  title: 'A limit that never acts',
  page: {
    what: 'Limits of the profile that hold back no load at any number of active cores in any corner of the room; `current` is judged for each supply rail. Off by default: a safety net is meant not to be reached.',
    why: 'A limit that never acts cannot be seen to work. When tuning for quiet or for a small supply it may be a figure left over from another bench.',
    remedy:
      'Leave it where it is a safety net. Otherwise lower it until it acts. There is no quick fix: whether to remove a safety net is your decision.',
    example: 'limits {\n  current 400 A                         # no load draws more than 110 A\n}',
  },
  *inProfile(evaluation) {
    const { profile } = evaluation
    const acting = actingAmong(evaluation)
    if (acting === undefined) return
    for (const word of limitWords) {
      const facts = limits[word]
      if (facts === undefined) continue
      const byRail = word === 'current' && partNames(profile.part).rails.length > 1
      for (const sourced of rowsOf(profile, word)) {
        if (acting.has(facts) && !(byRail && !currentActs(evaluation, envelopeOf(evaluation), sourced))) continue
        yield {
          at: settingPlace(profile, sourced),
          message: `\`${word}${ofRail(sourced)}\` never acts: it holds back no load at any number of active cores in any corner of the room. Leave it if it is a safety net; if it was meant to act, it is too high.`,
        }
      }
    }
  },
}
