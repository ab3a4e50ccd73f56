import { pointsWhileOn } from '../../semantic/envelope.ts'
import { wetFinding } from '../support/wet-surface.ts'
import type { Check } from '../types.ts'

export const frost: Check = {
  code: 'frost',
  severity: 'error',
  title: 'A surface below the wet point and below 0 °C',
  page: {
    what: 'As `condensation`, where the coldest surface is below 0 °C: what settles there is ice. Below 0 °C the frost point counts, which is a little higher than the dew point.',
    why: 'Ice grows for hours without a visible drop, lifts seals, and melts all at once when the machine is switched off.',
    remedy:
      'Drive the plate to the dew point with a margin, or warm the coolant. Sealing a bench for work below freezing is a trade of its own: follow the makers’ limits and local codes.',
    example:
      'profile bitter {\n  cooler te-plate\n  room cellar\n  drive full                            # idle: the plate falls to -29 °C\n}',
  },
  *inProfile(evaluation) {
    const points = pointsWhileOn(evaluation)
    const found = wetFinding(evaluation, points, 'frost')
    if (found !== undefined) yield found
  },
}
