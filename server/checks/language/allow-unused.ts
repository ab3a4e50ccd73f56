import type { Allow } from '../../semantic/definitions.ts'
import { removeFix } from '../support/edits.ts'
import type { Check, Found } from '../types.ts'

/** What is said of an `allow` that nothing fell under; only the run of all other checks can tell. */
export function unusedAllow(allow: Allow): Found {
  const { chunk, start, end, code } = allow
  return {
    at: { chunk, start, end },
    message: `\`allow ${code}\` accepts nothing: there is no such finding here. Left in place, it would hide the next slip of that kind: remove it.`,
    fixes: [removeFix('Remove this `allow`', chunk, allow)],
  }
}

export const allowUnused: Check = {
  code: 'allow-unused',
  severity: 'information',
  title: 'An `allow` that accepts nothing',
  page: {
    what: 'An `allow` without a finding to accept: neither in its own file or block, nor in a profile that starts from the one it stands in. It is not judged while a profile of the file cannot be predicted.',
    why: 'It was written for a finding that is gone. Left in place, it hides the next slip of that kind.',
    remedy: 'Remove it; the quick fix does.',
    example: 'profile daily {\n  allow steps-gap "the board fills it in"\n  steps { 1 to 8 cores 50x }\n}',
  },
}
