/** A fit as a paper. */

import { baseUnit } from '../../../grammar/units/units.ts'
import type { FitResult } from '../../bench/fit/fit.ts'
import type { RunsFit } from '../../bench/fit/runs.ts'
import { fixed } from '../../wording/figures.ts'
import { cellText, list, paragraphs, prose, table } from '../markdown.ts'
import {
  aboutText,
  byOwner,
  constantHead,
  constantRow,
  correlations,
  countText,
  differences,
  earlierTexts,
  leftTexts,
  misfiledTexts,
  oddTexts,
  residualHead,
  residualRow,
  settingsTexts,
  skippedTexts,
  slopeText,
  sourceText,
  warmingText,
} from './words.ts'

const caution =
  'Fitted constants describe these runs of this sample. Beyond the clocks, voltages and temperatures of these runs they are a guess.'

const sentence = (text: string): string => `${text[0]?.toUpperCase()}${text.slice(1)}.`

/** So many pairs are shown; the command has all of them in JSON. */
const PAIRS = 12

function fittedParts(result: FitResult, fit: RunsFit): readonly (string | undefined)[] {
  const pairs = correlations(result)
    .slice(0, PAIRS)
    .map(([first, second, r]) => [first, second, fixed(r, 2)])
  const [constant, before, after, uncertainty, interval, learned] = constantHead
  const tables = [...byOwner(result)].flatMap(([owner, constants]) => [
    `### ${sentence(owner).slice(0, -1)}`,
    table(
      [constant, before, after, uncertainty, interval, 'unit', learned, 'known'],
      constants.map(one => {
        const { dimension, label } = one.constant
        const cells = constantRow(one, label)
        const unit = dimension === undefined ? '' : baseUnit[dimension]
        return [...cells.slice(0, 5), unit, cells[5] ?? '', prose(sourceText(one, fit))]
      }),
    ),
  ])
  return [
    '## Constants',
    ...tables,
    `± is one standard uncertainty; *learned* is how much narrower it became: 100 % would be exact. ${sentence(aboutText(result))}`,
    ...[warmingText(result) ?? [], ...earlierTexts(fit), ...leftTexts(result, fit)]
      .flat()
      .map(text => prose(sentence(text))),
    '## Residuals',
    table(
      [...residualHead, 'difference W', 'difference K'],
      fit.residuals.map(point => [...residualRow(point), ...differences(point)].map(cellText)),
    ),
    'A difference is measured minus fitted, at the end of a log. *fitted* is what the constants predict from the other readings of the same row.',
    ...(pairs.length === 0
      ? []
      : [
          '## Correlations',
          table(
            ['constant', 'with', 'r'],
            pairs.map(pair => pair.map(cellText)),
          ),
          'Near 1 or -1 the runs determine only the two together. Correlations are written into the file beside the part’s, so that predictions use them.',
        ]),
  ]
}

export function fitMarkdown(fit: RunsFit): string {
  const { part, result } = fit
  const slope = slopeText(fit)
  const warnings = [...misfiledTexts(fit), ...oddTexts(fit)]
  const notes = [...settingsTexts(fit), ...skippedTexts(fit)]
  return `${paragraphs(
    `# Fit of part ${part.name}`,
    `**Caution:** ${caution}`,
    'constants' in result ? `${countText(fit)}.` : `Nothing is fitted: ${prose(result.why)}.`,
    warnings.length === 0 ? undefined : list(warnings.map(prose)),
    ...('constants' in result && result.constants.length > 0 ? fittedParts(result, fit) : []),
    slope === undefined ? undefined : `${prose(slope)}.`,
    notes.length === 0 ? undefined : '## Runs',
    notes.length === 0 ? undefined : list(notes.map(prose)),
  )}\n`
}
