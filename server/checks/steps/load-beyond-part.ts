import type { Part } from '../../model/types.ts'
import { loadConstants } from '../../semantic/constants.ts'
import { counts, entry } from '../../semantic/definitions.ts'
import { groupView } from '../../semantic/group-view.ts'
import { mostPoints, pointsOf } from '../../semantic/load-cases.ts'
import { partNames } from '../../semantic/part-names.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import { partCores } from '../../semantic/profile-values.ts'
import { coresText } from '../../wording/counts.ts'
import { ofGroupText } from '../../wording/places.ts'
import { choice, replaceFix } from '../support/edits.ts'
import { isOwnMistake, placeIn, settingPlace } from '../support/place.ts'
import type { Check, Fix, Found } from '../types.ts'

/** A grid of counts that is too wide to be predicted. */
function* tooManyPoints(profile: ResolvedProfile, part: Part): Iterable<Found> {
  for (const load of profile.loads) {
    const constants = loadConstants(load).value
    if (constants === undefined || pointsOf(part, constants) !== 'too-many') continue
    yield {
      at: settingPlace(profile, profile.key('part')),
      message: `Too many points: the counts of the load \`${load.name}\` make more than ${mostPoints} combinations of groups, and it is not predicted. Let its groups have narrower ranges.`,
      load: load.name,
    }
  }
}

/** The counts of loads, as a whole or of one group, that go beyond the cores that there are. */
function* countsBeyond(profile: ResolvedProfile) {
  for (const group of [undefined, ...partNames(profile.part).groups]) {
    const cores = partCores(groupView(profile, group))
    for (const load of cores === undefined ? [] : profile.loads) {
      const stated = entry(load.match, 'cores', group)
      const range = stated && counts(stated)
      if (range !== undefined && cores !== undefined && range.to > cores) yield { load, range, cores, group }
    }
  }
}

export const loadBeyondPart: Check = {
  code: 'load-beyond-part',
  severity: 'warning',
  title: 'A load that keeps more cores busy than there are',
  page: {
    what: 'A load whose core counts go beyond the cores of the part that a profile names; and one whose ranges by group make more than 1,000 combinations.',
    why: 'Counts that the part does not have are not predicted, so an expectation on them is never judged.',
    remedy:
      'Give the load counts that the part has, or name the right part. The quick fix lets the load end at the last core. A load kept for another part can stay: accept the finding with `allow`.',
    example: 'part small { cores 8 }\n\nload render { cores 12 }\n\nprofile daily {\n  part small\n}',
  },
  *inProfile({ profile, input }) {
    if (input.bench !== undefined && isOwnMistake(profile, 'part')) yield* tooManyPoints(profile, input.bench.part)
    if (!isOwnMistake(profile, 'part')) return
    for (const { load, range, cores, group } of countsBeyond(profile)) {
      const some = range.from <= cores
      const fixes: Fix[] = []
      if (some) {
        const text = range.from === cores ? `${cores}` : `${range.from} to ${cores}`
        const at = placeIn(load, range)
        fixes.push(choice(replaceFix(`Let \`${load.name}\` have ${coresText(cores)} at most`, at, text)))
      } else
        fixes.push(
          choice(replaceFix(`Let \`${load.name}\` have ${coresText(cores)}`, placeIn(load, range), `${cores}`)),
        )
      yield {
        at: settingPlace(profile, profile.key('part')),
        message: `Too few cores: the load \`${load.name}\` keeps ${range.from === range.to ? '' : 'up to '}${range.to}${ofGroupText(group)} busy, ${group ?? 'the part'} has ${cores}. ${some ? 'The counts beyond are' : 'It is'} not predicted here: give the load fewer cores, or name the right part.`,
        ...(group !== undefined && { group }),
        load: load.name,
        fixes,
      }
    }
  },
}
