import { execFile } from 'node:child_process'
import { join } from 'node:path'
import { promisify } from 'node:util'
import { describe, expect, it } from 'vitest'
import { isWhole } from '../harness/sampled.ts'
import { root } from '../harness/sources.ts'

/** The heap in use after rounds of work, in a process of its own that collects all garbage before it looks. */
async function heapAfterRounds(work: 'files' | 'edits', age: 'new' | 'old'): Promise<readonly number[]> {
  const script = join(root, 'tests', 'protocol', 'heap-rounds.ts')
  const { stdout } = await promisify(execFile)(process.execPath, ['--expose-gc', script, work, age], { cwd: root })
  return (JSON.parse(stdout.trim().split('\n').at(-1) ?? '') as { heap: number[] }).heap
}

/**
 * What two further rounds may add: the engine's own bookkeeping still grows a little. A document that is kept, or a text,
 * costs 5 kB or more; two rounds have 200 files, or 1,000 edits.
 */
const mostBytes = 500_000

/** A usual run has either work with one of the clients. */
const both = ['new', 'old'] as const
const ages = { files: isWhole ? both : (['new'] as const), edits: isWhole ? both : (['old'] as const) }

describe('the heap', () => {
  it.each(ages.files)(
    'with a client that is %s stays flat over files that are opened and closed, 100 a round',
    { timeout: 180_000 },
    async age => {
      const heap = await heapAfterRounds('files', age)
      expect(heap).toHaveLength(5)
      expect((heap[4] ?? 0) - (heap[2] ?? 0)).toBeLessThan(mostBytes)
    },
  )

  it.each(ages.edits)(
    'with a client that is %s stays flat over edits, 500 a round',
    { timeout: 180_000 },
    async age => {
      const heap = await heapAfterRounds('edits', age)
      expect((heap[4] ?? 0) - (heap[2] ?? 0)).toBeLessThan(mostBytes)
    },
  )
})
