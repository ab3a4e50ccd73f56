import { roundToStep } from '../../model/index.ts'
import { quantity } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { groupViews } from '../../semantic/group-view.ts'
import type { Sourced } from '../../semantic/profile.ts'
import { statedText } from '../../wording/figures.ts'
import { decimalsOf } from '../support/physics-edits.ts'
import { rewriteVoltage } from '../support/physics-voltage.ts'
import { isMisspelt, settingPlace } from '../support/place.ts'
import type { Check, Found } from '../types.ts'

/** A voltage as exactly as it matters on a grid. */
function exact(voltageV: number, decimals: number): string {
  return `${voltageV.toFixed(Math.max(3, decimals))} V`
}

function* offGrid(
  evaluation: Evaluation,
  sourced: Sourced | undefined,
  name: 'voltage' | 'fixed',
  stepV: number,
): Iterable<Found> {
  const written = sourced && quantity(sourced.match, name)
  if (sourced === undefined || written === undefined) return
  if (isMisspelt(sourced.definition, written)) return
  const nearest = roundToStep(written.value, stepV)
  if (Math.abs(nearest - written.value) <= 1e-6 * stepV) return
  const decimals = written.unit.symbol === 'V' ? decimalsOf(sourced.definition, written) : 3
  const fix = rewriteVoltage(evaluation, sourced, name, nearest)
  const less = nearest < written.value ? ', less than you meant, which may cost stability' : ''
  yield {
    at: settingPlace(evaluation.profile, sourced),
    message: `Not on the board's grid: ${exact(written.value, decimals)} in steps of ${statedText(stepV * 1000, 'mV')}. The board will set ${exact(nearest, decimals)}${less}. Write what it will set, so that the file says what the machine does.`,
    fixes: fix === undefined ? [] : [fix],
  }
}

const asVoltage = (sourced: Sourced) => [sourced, 'voltage'] as const

export const voltageGrid: Check = {
  code: 'voltage-grid',
  severity: 'warning',
  title: 'A voltage that is not on the board’s grid',
  page: {
    what: 'Voltages that are entered as they stand (`set` rows and `core fixed`) against the board’s `core-voltage-step`. An offset on what the part needs is not entered as it stands: the sum is rounded, in the prediction as well.',
    why: 'The board rounds by itself, by up to half a step and in either direction, and the file no longer says what the machine does.',
    remedy:
      'Write the nearest value on the grid, or the next one up where every millivolt counts. Stay within the maker’s limit.',
    example: 'board bench-board {\n  core-voltage-step 5 mV\n}\nprofile daily {\n  voltage { core fixed 1.303 V }\n}',
  },
  *inProfile(evaluation) {
    const { profile, input } = evaluation
    const { board, part } = input.bench ?? {}
    const seen = new Set<Sourced['match']>()
    for (const [index, view] of groupViews(profile).entries()) {
      const rail = part?.groups?.[index]?.rail
      const own = rail === undefined ? undefined : board?.rails?.[rail]
      const stepV = own?.coreVoltageStepV ?? board?.coreVoltageStepV
      if (stepV === undefined) continue
      const core = view.inner('voltage', 'core')
      const rows = [...(core === undefined ? [] : [[core, 'fixed'] as const]), ...view.setRows().map(asVoltage)]
      for (const [sourced, name] of rows) {
        if (!seen.has(sourced.match)) yield* offGrid(evaluation, sourced, name, stepV)
        seen.add(sourced.match)
      }
    }
  },
}
