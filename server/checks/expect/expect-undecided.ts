import { builtInLoads } from '../../../grammar/vocabulary/index.ts'
import { isDoubted } from '../../semantic/doubted.ts'
import { expectationsOf } from '../../semantic/expectations.ts'
import { unreadOf } from '../../semantic/unread.ts'
import { settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

export const expectUndecided: Check = {
  code: 'expect-undecided',
  severity: 'warning',
  title: 'An expectation that cannot be judged',
  page: {
    what: 'Each `expect` line for which there is no prediction, or none of the figure it asks for; and each that asks for a clock that runs of the bench contradict (`needs-contradicted`). A load whose name is unknown, and a profile that cannot be started from, have a finding of their own.',
    why: 'A line that is not judged looks like one that holds.',
    remedy:
      'Give what is missing, or expect something that the model predicts. There is no quick fix: what to expect is your decision.',
    example: 'profile daily {\n  expect idle holds >= 3.0 GHz          # idle has no clock in the model\n}',
    hasGroupExample: true,
  },
  *inProfile(evaluation, evidence) {
    const { profile, input } = evaluation
    // Where a line in error keeps the profile from being judged, that line has its finding, and is being typed; so has
    // the profile that cannot be started from.
    if (profile.broken !== undefined) return
    if (unreadOf(profile).length > 0 || (input.bench === undefined && input.missing.some(missing => missing.broken)))
      return
    for (const { holds, pending, undecided, doubt, sourced, load, course, text } of expectationsOf(
      evaluation,
      evidence,
    )) {
      // A run that is being made will decide it in a moment; until then there is nothing to say.
      if (holds !== null || pending) continue
      // These have a finding at the setting that is to blame, in the same profile.
      if (doubt?.code === 'voltage-short' || doubt?.code === 'needs-short') continue
      const isKnown =
        course === undefined
          ? profile.loads.some(other => other.name === load) || builtInLoads.some(name => name === load)
          : profile.courses.some(other => other.name === course)
      if (!isKnown || isDoubted(sourced.definition.chunk, sourced.match)) continue
      yield {
        at: settingPlace(profile, sourced),
        ...(course === undefined ? { load } : { course }),
        message:
          doubt === undefined
            ? `\`${text}\` cannot be judged: ${undecided ?? 'there is no prediction'}. Do not take it as met: give what is missing, or expect something else.`
            : `\`${text}\` is not proven: ${doubt.why}. Correct \`needs\`, or lower the step.`,
      }
    }
  },
}
