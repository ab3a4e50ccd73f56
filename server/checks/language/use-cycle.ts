import { choice, removeFix } from '../support/edits.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check } from '../types.ts'

export const useCycle: Check = {
  code: 'use-cycle',
  severity: 'error',
  title: 'Files that use each other',
  page: {
    what: 'A `use` that leads back to the file it stands in, directly or through other files.',
    why: 'Neither file can be read or moved without the other, and which definition counts depends on which file is read first.',
    remedy:
      'Let one file use the other: the bench (parts, coolers, rooms) knows nothing of profiles. The quick fix removes this line.',
    example: '# daily.detent\nuse "bench.detent"\n\n# bench.detent\nuse "daily.detent"',
  },
  *inFile({ view }) {
    for (const { use, uri, state } of view.uses) {
      if (state !== 'cycle') continue
      const itself = uri === view.document.uri
      const statement = matchesOfChunk(use.chunk).find(
        ({ match }) => match.statement.start <= use.start && match.statement.end >= use.end,
      )
      const fix = statement && removeFix('Remove this `use`', use.chunk, statement.match.statement)
      yield {
        at: { chunk: use.chunk, start: use.start, end: use.end },
        message: itself
          ? 'This file uses itself. The line brings nothing in: remove it.'
          : `\`${use.path}\` uses this file in turn. Which definition counts then depends on which file is read first: let only one of the two use the other.`,
        ...(fix === undefined ? {} : { fixes: [itself ? fix : choice(fix)] }),
      }
    }
  },
}
