/** A fit as a paper. */

import { baseUnit } from '../../../grammar/units/units.ts'
import type { FitResult } from '../../bench/fit/fit.ts'
import type { RunsFit } from '../../bench/fit/runs.ts'
import { fixed } from '../../wording/figures.ts'
import { cellText, list, paragraphs, prose, table } from '../markdown.ts'
import {
  aboutText,
  constantHead,
  constantRow,
  correlations,
  countText,
  differences,
  heldText,
  residualHead,
  residualRow,
  settingsTexts,
  skippedTexts,
  slopeText,
} from './words.ts'

const caution =
  'Fitted constants describe these runs of this sample. Beyond the clocks, voltages and temperatures of these runs they are a guess.'

function fittedParts(result: FitResult): readonly (string | undefined)[] {
  const pairs = correlations(result).map(([first, second, r]) => [first, second, fixed(r, 3)])
  const held = heldText(result)
  // Where all are fitted there is nothing to explain.
  const width = result.parameters.every(one => one.fitted) ? 6 : 7
  const constants = result.parameters.map(one => {
    const { dimension } = one.parameter
    const [name = '', stated = '', fitted = '', uncertainty = '', interval = '', why = ''] = constantRow(one)
    const unit = dimension === undefined ? '' : baseUnit[dimension]
    return [name, stated, fitted, uncertainty, interval, unit, prose(why)].slice(0, width)
  })
  const [constant, stated, fitted, uncertainty, interval] = constantHead
  return [
    '## Constants',
    table([constant, stated, fitted, uncertainty, interval, 'unit', 'why it is left alone'].slice(0, width), constants),
    `± is one standard uncertainty; ${aboutText(result)}.`,
    held && `${held[0]?.toUpperCase()}${held.slice(1)}.`,
    '## Residuals',
    table(
      [...residualHead, 'difference W', 'difference K'],
      result.points.map(point => [...residualRow(point), ...differences(point)].map(cellText)),
    ),
    'Each steady stretch of a run is a row; a difference is measured minus fitted.',
    ...(pairs.length === 0
      ? []
      : [
          '## Correlations',
          table(
            ['constant', 'with', 'r'],
            pairs.map(pair => pair.map(cellText)),
          ),
          'Near 1 or -1 the runs determine only the two together. Correlations between constants of the part are written with them as `correlated`.',
        ]),
  ]
}

export function fitMarkdown(fit: RunsFit): string {
  const { part, result } = fit
  const slope = slopeText(fit)
  const notes = [...settingsTexts(fit), ...skippedTexts(fit)]
  return `${paragraphs(
    `# Fit of part ${part.name}`,
    `**Caution:** ${caution}`,
    'parameters' in result ? `${countText(fit)}.` : `Nothing is fitted: ${prose(result.why)}.`,
    ...('parameters' in result && result.parameters.length > 0 ? fittedParts(result) : []),
    slope === undefined ? undefined : `${prose(slope)}.`,
    notes.length === 0 ? undefined : '## Runs',
    notes.length === 0 ? undefined : list(notes.map(prose)),
  )}\n`
}
