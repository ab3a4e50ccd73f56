import { pointsWhileOn } from '../../semantic/envelope.ts'
import { wetFinding } from '../support/wet-surface.ts'
import type { Check } from '../types.ts'

export const condensation: Check = {
  code: 'condensation',
  severity: 'error',
  title: 'A surface below the dew point',
  page: {
    what: 'The coldest surface (the plate; on a chilled cooler the lower of plate and coolant) against the dew point of the room, corner by corner, over idle and every number of active cores. An error below the dew point; a warning where it is above it by less than the margin that `drive dew + M` asks for, or just at the dew point; a hint where the cooler says `insulated yes`.',
    why: 'Water gathers on the plate and runs onto the board. Idle is worst: the plate is driven and nothing heats it.',
    remedy:
      'Drive the plate to the dew point with a margin, or warm the coolant. A surface 3 K above the dew point is the coating trade’s rule of thumb. Insulate as local codes and the makers say, and keep water away from live parts.',
    example:
      'profile cold {\n  cooler te-plate\n  room garage                           # 24 °C, 55 %: dew point 14.4 °C\n  drive hold 8 °C\n}',
  },
  *inProfile(evaluation) {
    const points = pointsWhileOn(evaluation)
    const found = wetFinding(evaluation, points, 'wet')
    if (found !== undefined) yield found
  },
}
