import { expect, it } from 'vitest'
import { createLeaper } from '../../server/model/transient/leap.ts'

it('does not leap where one figure ends and the next goes on', () => {
  const component = { nudge: 0, own: 1, tolerance: 1, isSum: false }
  // Of two figures the first has no number beyond one tick.
  const leaper = createLeaper(
    (from, to) => {
      to[0] = from[0] === 0 ? 1 : Number.NaN
      to[1] = from[1] as number
    },
    [component, component],
  )
  leaper.begin(new Float64Array(2))
  expect(leaper.errorAfter(0)).toBe(Number.POSITIVE_INFINITY)
  expect(leaper.errorAfter(3)).toBe(Number.POSITIVE_INFINITY)
})
