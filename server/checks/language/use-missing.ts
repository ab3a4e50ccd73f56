import type { Check } from '../types.ts'

export const useMissing: Check = {
  code: 'use-missing',
  severity: 'error',
  title: 'A used file that is not there',
  page: {
    what: 'A `use` whose path leads to no file. Paths are relative to the file that they stand in.',
    why: 'All that the other file defines is unknown here, so most likely nothing can be predicted. Names that could stand in it are not reported as unknown besides.',
    remedy: 'Mend the path, or put the file there. Where the file went only you can know, so there is no quick fix.',
    example: 'use "bench.detent"',
  },
  *inFile({ view }) {
    for (const { use, state } of view.uses) {
      if (state !== 'missing') continue
      yield {
        at: { chunk: use.chunk, start: use.start, end: use.end },
        message: `There is no file \`${use.path}\` beside this one. What it defines is unknown here, and profiles that need it cannot be predicted: mend the path, or put the file there.`,
      }
    }
  },
}
