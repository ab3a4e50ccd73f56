import { type Bench, benchOfGroup } from '../../model/index.ts'
import { readsWhole } from '../../semantic/attempted.ts'
import { quantity } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type GroupView, groupViews } from '../../semantic/group-view.ts'
import { tableRows } from '../../semantic/profile.ts'
import { ratioText, voltageText } from '../../wording/figures.ts'
import { isBeyondRows } from '../support/physics-voltage.ts'
import { settingPlace } from '../support/place.ts'
import { lowerStep } from '../support/what-if.ts'
import type { Check, Found } from '../types.ts'

export const needsShort: Check = {
  code: 'needs-short',
  severity: 'warning',
  title: 'A step beyond what was measured',
  page: {
    what: 'Rows of `steps` whose ratio lies above the last row of the part’s `needs`. What the part needs there was not measured; the prediction uses the last row.',
    why: 'The needed voltage rises steeply at the top. The prediction is too cool there, and says nothing about stability.',
    remedy: 'Measure the ratio and add it to `needs`, within the maker’s limit; or keep to a ratio that was measured.',
    example:
      'part sample-c2 {\n  needs { 40x 1.010 V; 53x 1.290 V }\n}\nprofile daily {\n  steps { 1 to 8 cores 55x }\n}',
  },
  *inProfile(evaluation) {
    const { profile, input } = evaluation
    if (input.bench === undefined || !readsWhole(profile.part, 'needs')) return
    for (const [index, view] of groupViews(profile).entries()) {
      const bench = benchOfGroup(input.bench, index)
      yield* beyondRows(evaluation, view, bench)
    }
  },
}

function* beyondRows(evaluation: Evaluation, { group, ...profile }: GroupView, bench: Bench): Iterable<Found> {
  const { needs, ratioStep, ratioLow } = bench.part
  const last = needs.at(-1)
  if (last === undefined) return
  for (const row of tableRows(profile, 'steps')) {
    const ratio = quantity(row.match, 'ratio')?.value
    if (ratio === undefined || !isBeyondRows(bench, ratio)) continue
    const measured = Number((Math.floor(last.ratio / ratioStep + 1e-9) * ratioStep).toFixed(6))
    yield {
      at: settingPlace(profile, row),
      ...(group === undefined ? {} : { group }),
      message: `${group === undefined ? '' : `${group}: `}Not measured: ${ratioText(ratio)} is ${ratioText(ratio - last.ratio)} beyond ${ratioText(last.ratio)}, the fastest ratio in \`needs\`. The prediction uses that row's ${voltageText(last.voltageV)}, which is too little to judge by. Measure the ratio, or keep to ${ratioText(measured)}.`,
      fixes: measured >= ratioLow ? lowerStep(evaluation, row, measured) : [],
    }
  }
}
