import { languageVersion } from '../../../grammar/vocabulary/index.ts'
import { pureNumber } from '../../semantic/definitions.ts'
import { choice, replaceFix } from '../support/edits.ts'
import type { Check } from '../types.ts'

export const versionUnknown: Check = {
  code: 'version-unknown',
  severity: 'error',
  title: 'A version of the language that is not known',
  page: {
    what: `A \`detent\` line with another version than ${languageVersion}, the one that this tool knows.`,
    why: 'Words may mean something else in another version. The file is read as well as it can be, but its figures cannot be relied on.',
    remedy: `Use a tool that knows this version, or write \`detent ${languageVersion}\` if the number is a slip.`,
    example: 'detent 7',
  },
  *inFile({ view }) {
    for (const { chunk, match } of view.document.versions) {
      const version = match.sound ? pureNumber(match, 'version') : undefined
      if (version === undefined || version.value === languageVersion) continue
      const at = { chunk, start: version.start, end: version.end }
      yield {
        at,
        message: `Unknown version ${version.value}: this tool knows version ${languageVersion} of the language. Words may mean something else in the other, so do not rely on the figures: use a tool that knows it, or write ${languageVersion} if that is what you mean.`,
        fixes: [choice(replaceFix(`Write \`${languageVersion}\``, at, String(languageVersion)))],
      }
    }
  },
}
