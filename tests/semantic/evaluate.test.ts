import { beforeEach, describe, expect, it } from 'vitest'
import { type Evaluation, evaluate } from '../../server/semantic/evaluate.ts'
import { createService, type Service } from '../../server/service.ts'
import { bench, dailyText } from '../features/bench.ts'
import { memoryFiles } from '../harness/file-systems.ts'

const own = 'memory://bench/own.detent'
const other = 'memory://bench/other.detent'
const text = `${bench}${dailyText()}`

let service: Service

beforeEach(async () => {
  const more = 'detent 1\nuse "own.detent"\n\nload burst { cores 4; activity 0.6 }\n'
  service = createService(memoryFiles({ [own]: text, [other]: more }))
  await service.workspace.load([own, other])
})

/** The profile as a file sees it. */
function seenBy(uri: string): Evaluation {
  const scope = service.workspace.view(uri)?.scope
  const profile = scope?.find('profile', 'daily')
  if (scope === undefined || profile === undefined) throw new Error('no profile')
  return evaluate(scope, profile)
}

const loadsOf = ({ predictions }: Evaluation): readonly string[] => [
  ...new Set(predictions.map(({ load }) => load.name)),
]

describe('a profile that two files see with different loads', () => {
  it('is predicted once for each of them, whichever asks', () => {
    const [first, second] = [seenBy(own), seenBy(other)]
    expect(loadsOf(first)).toEqual(['idle', 'pair', 'render'])
    expect(loadsOf(second)).toEqual(['burst', 'idle', 'pair', 'render'])
    expect(seenBy(own)).toBe(first)
    expect(seenBy(other)).toBe(second)
  })

  it('is predicted afresh for both once a load or the profile is another', () => {
    const before = [own, other].map(seenBy)
    service.workspace.set(own, text.replace('activity 0.9', 'activity 0.8'), 2)
    const after = [own, other].map(seenBy)
    for (const [at, one] of after.entries()) expect(one).not.toBe(before[at])
    const pair = (one: Evaluation | undefined) =>
      one?.predictions.find(({ load }) => load.name === 'pair')?.settled.powerW
    expect(pair(after[0])).toBe(pair(after[1]))
    expect(pair(after[0])).toBeLessThan(pair(before[0]) ?? 0)
    service.workspace.set(own, text.replace('50x', '48x'), 3)
    expect(seenBy(other)).not.toBe(after[1])
  })
})
