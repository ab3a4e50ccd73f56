import { coresOf, settle } from '../../model/index.ts'
import { drivenPlate } from '../../semantic/coolers/index.ts'
import { badAmong, type EnvelopePoint, onceAmong } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { groupViews } from '../../semantic/group-view.ts'
import { listed } from '../../wording/counts.ts'
import { pointWords } from '../../wording/places.ts'
import { deciderWords } from '../support/deciders.ts'
import { groupByRow, originOf, type RowGroup, stepRow } from '../support/physics-rows.ts'
import { stepWayOut } from '../support/what-if.ts'
import type { Check, ProfileContext } from '../types.ts'
import { nearSlope } from './runaway-near.ts'

/** A plate driven so hard that its own heat comes back through the modules has no steady state even with nothing on it. */
function isUnsound({ input }: ProfileContext, { corner }: EnvelopePoint): boolean {
  const { bench } = input
  if (bench === undefined || drivenPlate(bench.cooler) === undefined) return false
  return settle(bench, { kind: 'off' }, corner)?.state === 'runaway'
}

const leaking = 'leakage grows faster than the cooler carries it away, until the machine trips'
const unsoundPlate =
  'at this drive current the plate makes more heat than block and radiator carry away, so it warms without end even with no load on it'
const plateWayOut = ' Lower the drive current, or give block and radiator less resistance.'
const noWayOut =
  ' No step settles at a safe distance: the cooler has too much resistance for this part, or the plate is driven past its coldest current.'

/** Where groups are busy side by side, one row is tried: that of the first, and of those that take it too. */
function noneServes(evaluation: Evaluation, { worst, row }: RowGroup): string {
  const views = groupViews(evaluation.profile)
  const busy = (worst.settled.groups ?? []).flatMap(({ cores }, index) => {
    const profile = views[index]
    return cores > 0 && profile !== undefined ? [{ profile, own: stepRow({ ...evaluation, profile }, cores) }] : []
  })
  const tried = busy.flatMap(({ profile, own }) => (own?.match === row?.match ? (profile.group ?? []) : []))
  if (tried.length === busy.length) return noWayOut
  return ` No step of ${listed(tried)} alone settles at a safe distance: lower the other groups as well, or take a cooler with less resistance.`
}

const lostAmong = onceAmong((_, points) =>
  // Nothing is known of such a point but how far it got; the most cores in the warmest air are named.
  badAmong(points, ({ settled, load, corner }) =>
    settled.state === 'runaway' ? coresOf(load) * 1000 + corner.airC : undefined,
  ),
)

export const thermalRunaway: Check = {
  code: 'thermal-runaway',
  severity: 'error',
  title: 'No steady temperature exists',
  page: {
    what: 'At every number of active cores and in every corner of the room: whether the load settles at any temperature below 400 °C. Leakage grows with temperature; where it grows faster than the cooler carries it away, nothing holds it but the trip.',
    why: 'The machine heats until it stops itself, without warning and at a temperature nobody chose. What the die limit does then is up to the part.',
    remedy:
      "Less ratio or less voltage for these cores, or a cooler with less resistance. On a thermoelectric plate, look at `drive-current` first: past its coldest current the plate heats. Keep to the maker's limits while you find out.",
    example:
      'profile daily {\n  part leaky                            # leakage that doubles every 12 K\n  cooler small-loop                     # 0.9 K/W\n  room attic                            # 38 °C\n  steps { 1 to 8 cores 52x }\n}',
  },
  *inProfile(evaluation) {
    for (const group of groupByRow(evaluation, lostAmong(evaluation))) {
      const { worst, at } = group
      // A step that only just comes to rest would be the next finding.
      const out = stepWayOut(evaluation, group, ({ state, notes }) => {
        return state !== 'runaway' && state !== 'over-limit' && (notes.slope ?? 0) <= nearSlope
      })
      const unsound = isUnsound(evaluation, worst)
      const { bench } = evaluation.input
      const decided = bench === undefined ? '' : deciderWords(bench, worst, ({ state }) => state !== 'runaway')
      const rest = unsound ? plateWayOut : out.words === '' ? noneServes(evaluation, group) : out.words
      yield {
        at,
        ...originOf(evaluation, worst),
        message: `Thermal runaway: ${pointWords(worst)} has no steady temperature; ${unsound ? unsoundPlate : leaking}.${decided}${rest} Do not try this one; the maker's limits come first.`,
        fixes: out.fixes,
      }
    }
  },
}
