import { isOn } from '../../model/index.ts'
import { entry, text } from '../../semantic/definitions.ts'
import { envelopeOf } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { replace } from '../support/physics-edits.ts'
import { wetFinding } from '../support/wet-surface.ts'
import type { Check, Fix } from '../types.ts'

/** `drive-when-off no`, where the cooler says otherwise. */
function undriven({ profile }: Evaluation): readonly Fix[] {
  const { cooler } = profile
  const statement = cooler && entry(cooler.match, 'drive-when-off')
  const written = statement && text(statement, 'value')
  if (cooler === undefined || written === undefined || written.text !== 'yes') return []
  return [{ title: 'Write `drive-when-off no`', edits: [replace(cooler, written, 'no')] }]
}

export const offCondensation: Check = {
  code: 'off-condensation',
  severity: 'error',
  title: 'The driven plate gets wet when the machine is off',
  page: {
    what: 'On a cooler with `drive-when-off yes`: the plate with no heat on it and the drive of the profile, against the dew point of every corner, as `condensation` does for loads.',
    why: 'Nobody is there, nothing heats the plate, and by morning there is water or ice in the socket.',
    remedy:
      'Switch the plate off with the machine (`drive-when-off no`), or drive it to the dew point with a margin. Keep water away from live parts.',
    example: 'cooler te-plate kind thermoelectric {\n  drive-when-off yes\n}\nprofile cold {\n  drive full\n}',
  },
  *inProfile(evaluation) {
    const points = envelopeOf(evaluation).filter(point => !isOn(point.load))
    const found = wetFinding(evaluation, points, undefined)
    if (found === undefined) return
    const off = undriven(evaluation)
    const way = off.length > 0 && (found.fixes?.length ?? 0) === 0 ? ` Write \`drive-when-off no\`.` : ''
    yield {
      ...found,
      message: `${found.message}${way}`,
      ...(found.severity === 'hint' ? {} : { fixes: [...(found.fixes ?? []), ...off] }),
    }
  },
}
