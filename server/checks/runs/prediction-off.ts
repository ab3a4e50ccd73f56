import { figureUnit, kindOfFigure } from '../../bench/log/figures.ts'
import { type ComparedFigure, type ComparedRun, mayBeOff } from '../../bench/run/compared.ts'
import { madeUnder } from '../../bench/run/record.ts'
import { figureText as named } from '../../bench/run/wording.ts'
import { entry } from '../../semantic/definitions.ts'
import { doubtedOf } from '../../semantic/doubted.ts'
import { decimalsKnown, fixed } from '../../wording/figures.ts'
import { namePlace, placeIn } from '../support/place.ts'
import type { Check } from '../types.ts'

function figureText({ figure, measured, predicted, combinedUncertainty }: ComparedFigure): string {
  const unit = figureUnit[kindOfFigure(figure)]
  // Two digits of the uncertainty are all that the figures are worth.
  const show = (value: number): string => fixed(value, decimalsKnown(combinedUncertainty, 6))
  return `${named(figure)} ${show(measured.value)} ${unit} where ${show(predicted)} ${unit} is predicted, ± ${show(combinedUncertainty)}`
}

/** Whose settings those are, where that is not plain. */
function settingsWords({ settings }: ComparedRun): string {
  if (settings.from === 'revision') return `Predicted with what its profile set at revision ${settings.revision}. `
  if (settings.from === 'not-had') return 'Predicted with what its profile sets now, which may differ. '
  return settings.from === 'now' ? 'If its profile has changed since, name the `revision` it had. ' : ''
}

/**
 * Whether a run was a trial at another ratio or voltage than its profile has: it says how it ended, and the figures that
 * were read off by hand are those of other settings.
 */
function isTrialElsewhere({ record }: ComparedRun, off: readonly ComparedFigure[]): boolean {
  const isTrial = record.outcome !== undefined && record.log === undefined
  return isTrial && off.some(({ figure }) => ['clock', 'voltage'].includes(kindOfFigure(figure)))
}

export const predictionOff: Check = {
  code: 'prediction-off',
  severity: 'information',
  title: 'A run that is not as predicted',
  page: {
    what: 'Each run with a figure that differs from its prediction, at the run’s own air and humidity and with what its profile set at the run’s `revision`, by more than two standard uncertainties: of the mean, of the constants with `±`, of the air, and of what sensors on a bench are good for (die 1 K, plate and coolant 0.5 K, power and current 2 %, voltage 5 mV, clock 1 MHz or 0.05 %: engineering judgement, no source). A run that says `held` or `stopped`, with a clock or voltage read off by hand that its profile does not have, was a trial with other settings and is not compared.',
    why: 'The bench that ran differs from its description: constants that were never measured, a mounting that changed, values entered in the firmware that are not those here.',
    remedy:
      'Check that the values were entered as they stand here, and that air and load were those of the run. Then refit the constants from several runs: `detent fit` offers the changed lines.',
    example: 'run by-hand of daily under render {\n  air 22 °C\n  measured { power 250 W; die 91 °C }\n}',
  },
  *inFile({ runs }) {
    for (const run of runs) {
      // What its profile was may still be read; then this would come and go.
      if (run.settings.from === 'pending' || !mayBeOff(run)) continue
      // Off is what a prediction from a doubted value is bound to be.
      if (run.predicted !== undefined && doubtedOf(run.predicted.evaluation.profile).length > 0) continue
      const off = run.compared.filter(figure => figure.off)
      const [first] = off
      if (first === undefined || isTrialElsewhere(run, off)) continue
      const { definition } = run.record
      // One line by hand that is off is where a person looks first.
      const table = entry(definition.match, 'measured')
      const own = off.length === 1 && table !== undefined ? entry(table, first.figure) : undefined
      yield {
        at: own === undefined ? namePlace(definition) : placeIn(definition, own.statement),
        message: `Run \`${run.record.name}\` is not as predicted: ${off.map(figureText).join('; ')}. ${settingsWords(run)}The bench differs from its description, or was run differently: check what you entered, then refit the constants from several runs.`,
        profile: run.record.profile,
        ...madeUnder(run.record),
      }
    }
  },
}
