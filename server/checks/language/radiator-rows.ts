import { quantity, rows } from '../../semantic/definitions.ts'
import { choice, removeFix } from '../support/edits.ts'
import { headPlace } from '../support/place.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check } from '../types.ts'

export const radiatorRows: Check = {
  code: 'radiator-rows',
  severity: 'error',
  title: 'More radiator points than the power law takes',
  page: {
    what: 'A `radiator` with more than two rows. One row is a constant resistance; two give the power law between them.',
    why: 'A power law does not go through three measured points, and a tool should not choose which to leave out. Until then nothing can be predicted with this cooler.',
    remedy: 'Keep the two points between which the fan will run. The quick fix keeps the slowest and the fastest.',
    example: 'radiator {\n  20 %  0.090 K/W\n  60 %  0.055 K/W\n  100 % 0.045 K/W\n}',
  },
  *inChunk(chunk) {
    for (const { match } of matchesOfChunk(chunk)) {
      if (match.word?.word !== 'radiator') continue
      const points = rows(match).map(row => ({ row, duty: quantity(row, 'duty')?.value ?? 0 }))
      if (points.length < 3) continue
      const sorted = points.toSorted((a, b) => a.duty - b.duty)
      const middle = sorted.slice(1, -1).map(({ row }) => removeFix('', chunk, row.statement))
      yield {
        at: headPlace({ chunk }, match),
        message: `Too many radiator points: ${points.length}, where a power law takes two. Nothing can be predicted with this cooler until it is clear which: keep the two between which the fan will run.`,
        fixes: [choice({ title: 'Keep the slowest and the fastest', edits: middle.flatMap(({ edits }) => edits) })],
      }
    }
  },
}
