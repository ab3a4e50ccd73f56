import { expect, it } from 'vitest'
import { changesText } from '../../../server/features/reach/words.ts'
import { uriOf } from '../../harness/fixture.ts'

it('counts one core as one core', () => {
  const change = { kind: 'load-cores', name: 'load sort', uri: uriOf('a.detent'), offset: 0, unit: 'cores' } as const
  const text = (from: number, to: number): string =>
    changesText({
      changes: [{ ...change, from, to, isBench: true, asks: 1 }],
      asks: 1,
      predicted: 1,
      costs: [],
      edits: [],
    })
  expect(text(6, 1)).toBe('load sort 6 cores → 1 core')
  expect(text(1, 2)).toBe('load sort 1 core → 2 cores')
})
