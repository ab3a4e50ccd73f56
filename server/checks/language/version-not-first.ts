import { removalSpan } from '../support/edits.ts'
import { headPlace } from '../support/place.ts'
import { topLevelOf } from '../support/walk.ts'
import type { Check } from '../types.ts'

export const versionNotFirst: Check = {
  code: 'version-not-first',
  severity: 'warning',
  title: 'The version stands below other lines',
  page: {
    what: 'A `detent` line that is not the first statement of its file. Comments may stand above it.',
    why: 'What stands above it was read without knowing which version it is written in.',
    remedy: 'Move it to the top; the quick fix does.',
    example: 'use "bench.detent"\ndetent 1',
  },
  *inFile({ view }) {
    const [first] = topLevelOf(view)
    if (first === undefined || first.match.word?.word === 'detent') return
    const [version] = view.document.versions
    if (version === undefined) return
    const { chunk, match } = version
    const line = chunk.text.slice(match.statement.start, match.statement.end)
    const { start } = first.match.statement
    yield {
      at: headPlace({ chunk }, match),
      message:
        'Version line below other lines: what stands above it was read without knowing the version. Move it to the top.',
      fixes: [
        {
          title: 'Move it to the top',
          edits: [
            { chunk: first.chunk, start, end: start, text: `${line}\n` },
            { chunk, ...removalSpan(chunk, match.statement), text: '' },
          ],
          preferred: true,
        },
      ],
    }
  },
}
