import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { during, fakeClock } from '../harness/fake-clock.ts'
import { isWhole } from '../harness/sampled.ts'
import { cases } from './cases.ts'
import { type Step, sameAsFresh } from './sessions.ts'
import { targets } from './targets.ts'

/** Some seconds of the fuzz bench, always from the same seed, and all that it found before; `npm run fuzz` is the long one. */

describe('the fuzz bench', () => {
  it.each(targets)('$name', { timeout: 180_000 }, async ({ input, run }) => {
    const property = fc.asyncProperty(input, run)
    const result = await fc.check(property, {
      seed: 1,
      numRuns: 100_000,
      interruptAfterTimeLimit: isWhole ? 2_000 : 700,
    })
    expect(result.failed ? fc.defaultReportMessage(result) : undefined).toBeUndefined()
    expect(result.numRuns).toBeGreaterThan(0)
  })
})

describe('what it found stays found', () => {
  it.each(cases)('$name', { timeout: 180_000 }, async ({ target, input }) => {
    const { run } = targets.find(({ name }) => name === target) ?? expect.fail(`there is no target ${target}`)
    await run(input as never)
  })
})

/** A control run: a server that misses one message knows something else than a fresh one, and the comparison says so. */
describe('a session that lost a message', () => {
  // The comparison waits for seconds whether the two still come to agree.
  fakeClock()
  const edit = (at: number, text: string): Step => ({ kind: 'edit', name: 'a', at, length: 1, text })
  const lists: readonly (readonly [string, readonly Step[], number])[] = [
    ['an edit', [{ kind: 'open', name: 'a' }, edit(40, '{'), edit(300, 'x')], 1],
    [
      'a closed file',
      [
        { kind: 'open', name: 'a' },
        edit(0, 'room extra {\n'),
        { kind: 'close', name: 'a' },
        { kind: 'open', name: 'b' },
      ],
      2,
    ],
    [
      'a change on disk',
      [{ kind: 'open', name: 'b' }, { kind: 'ask' }, { kind: 'write', name: 'a', text: 'detent 1\n' }],
      2,
    ],
    ['a deletion', [{ kind: 'open', name: 'b' }, { kind: 'ask' }, { kind: 'delete', name: 'a' }], 2],
    ['a move', [{ kind: 'open', name: 'b' }, { kind: 'ask' }, { kind: 'move', name: 'a', to: 'c' }], 2],
  ]
  it.each(lists)('%s is noticed', { timeout: 180_000 }, async (_name, list, lost) => {
    await during(sameAsFresh(list))
    await expect(during(sameAsFresh(list, (_one, index) => index === lost))).rejects.toThrow('a fresh server says')
  })
})
