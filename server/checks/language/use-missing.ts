import { outside } from '../../workspace/bounds.ts'
import type { Check } from '../types.ts'

export const useMissing: Check = {
  code: 'use-missing',
  severity: 'error',
  title: 'A used file that is not there',
  page: {
    what: 'A `use` whose path leads to no file, or to one that is not opened: outside the folders that are open (for the command, the folder of what it is given), not a regular file, or larger than 16 MB. Paths are relative to the file that they stand in.',
    why: 'All that the other file defines is unknown here, so most likely nothing can be predicted. Names that it may define are not reported as unknown as well.',
    remedy: 'Correct the path, or put the file there. Only you know where the file went, so there is no quick fix.',
    example: 'use "bench.detent"',
  },
  *inFile({ view }) {
    for (const { use, state, why } of view.uses) {
      if (state !== 'missing') continue
      const at = { chunk: use.chunk, start: use.start, end: use.end }
      if (why !== undefined) {
        const advice =
          why === outside
            ? 'Open a folder that has both, or name one to the command; `--allow-outside` lets the command follow it'
            : 'Correct the path, or the file'
        yield {
          at,
          message: `\`${use.path}\` is not opened: ${why}. ${advice}. What it defines is unknown here, and profiles that need it cannot be predicted.`,
        }
        continue
      }
      yield {
        at,
        message: `There is no file \`${use.path}\` beside this one. What it defines is unknown here, and profiles that need it cannot be predicted: correct the path, or put the file there.`,
      }
    }
  },
}
