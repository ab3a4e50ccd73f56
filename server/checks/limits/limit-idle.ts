import { limitWords } from '../../../grammar/vocabulary/index.ts'
import { isWork } from '../../model/index.ts'
import { nameAfter } from '../../semantic/definitions.ts'
import { onceAmong } from '../../semantic/envelope.ts'
import { type LimitFacts, limits } from '../../semantic/limiters.ts'
import { partNames } from '../../semantic/part-names.ts'
import type { ResolvedProfile, Sourced } from '../../semantic/profile.ts'
import { settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

/** The lines of a limit: one for all, or with `current` also those of single supply rails. */
function rowsOf(profile: ResolvedProfile, word: string): readonly Sourced[] {
  const rails = word === 'current' ? partNames(profile.part).rails : []
  const found = [undefined, ...rails].flatMap(rail => profile.inner('limits', word, rail) ?? [])
  return found.filter(({ match }, index) => found.findIndex(other => other.match === match) === index)
}

const ofRail = ({ match }: Sourced): string => {
  const rail = nameAfter(match)
  return rail === undefined ? '' : ` ${rail}`
}

/** The limits that act somewhere; undefined where no load is predicted. */
const actingAmong = onceAmong((_, points): ReadonlySet<LimitFacts> | undefined => {
  const work = points.filter(({ load }) => isWork(load))
  const acts = ({ limiter, isExceeded }: LimitFacts): boolean =>
    work.some(({ settled }) => settled.limiter === limiter || isExceeded(settled))
  const all = Object.values(limits)
  return work.length === 0 ? undefined : new Set(all.filter(one => acts(one)))
})

export const limitIdle: Check = {
  code: 'limit-idle',
  severity: 'off',
  title: 'A limit that never acts',
  page: {
    what: 'Limits of the profile that hold back no load at any number of active cores in any corner of the room. Off by default: a safety net is meant not to be reached.',
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
      if (facts === undefined || acting.has(facts)) continue
      for (const sourced of rowsOf(profile, word))
        yield {
          at: settingPlace(profile, sourced),
          message: `\`${word}${ofRail(sourced)}\` never acts: it holds back no load at any number of active cores in any corner of the room. Leave it if it is a safety net; if it was meant to act, it is too high.`,
        }
    }
  },
}
