/** Each profile of a report beside a baseline, in the words of `detent compare`. */

import type { ComparedRun } from '../../bench/run/compared.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import { compareProfiles } from '../compare/compare.ts'
import { runsOfNow } from '../compare/run-sides.ts'
import type { Comparison } from '../compare/types.ts'
import {
  expectedHead,
  expectedRow,
  noScores,
  predictedHead,
  predictedRow,
  sameText,
  scoreGroups,
  scoreHead,
  scoreRow,
  scoreSentences,
  settingRow,
  shownSettings,
  titleOf,
  worstText,
} from '../compare/words.ts'
import { type Block, behind, heading, table, text } from './blocks.ts'

export interface ComparedProfile {
  readonly file: string
  readonly evaluation: Evaluation
}

function comparisonBlocks(comparison: Comparison): Block[] {
  const groups = scoreGroups(comparison)
  const differing = shownSettings(comparison, 'different')
  return [
    heading(3, titleOf(comparison)),
    table(predictedHead, comparison.worst.map(predictedRow)),
    text(worstText(comparison)),
    ...(comparison.expectations.length === 0
      ? []
      : [table(expectedHead(comparison), comparison.expectations.map(expectedRow))]),
    ...(groups.length === 0 ? [text(noScores)] : []),
    ...groups.flatMap(({ title, rows }): Block[] => [
      text(`${title}:`),
      table(scoreHead, rows.map(scoreRow)),
      { kind: 'list', items: scoreSentences(rows) },
    ]),
    differing.length === 0
      ? text(sameText(comparison))
      : behind(`Settings that differ: ${titleOf(comparison)}`, [
          table(['setting', ...comparison.profiles], differing.map(settingRow)),
        ]),
    ...(comparison.notes.length === 0 ? [] : [{ kind: 'list', items: comparison.notes } as const]),
  ]
}

/** The comparison of every other profile with the baseline. */
export function baselineComparisons(
  baseline: ComparedProfile,
  others: readonly ComparedProfile[],
  runs: readonly ComparedRun[],
  expectations: (evaluation: Evaluation) => readonly Expectation[],
): readonly Comparison[] {
  const side = ({ file, evaluation }: ComparedProfile) => {
    const label = evaluation.profile.definition.name
    const own = runs.filter(({ record }) => record.profile === label)
    const { runs: counted, notes } = runsOfNow(label, evaluation.profile, own)
    return { notes, side: { label, file, evaluation, expectations: expectations(evaluation), runs: counted } }
  }
  const held = side(baseline)
  const rest = others.filter(one => one.evaluation !== baseline.evaluation)
  return rest.map(side).map(other => compareProfiles([held.side, other.side], [...held.notes, ...other.notes]))
}

export function baselineBlocks(comparisons: readonly Comparison[]): readonly Block[] {
  return comparisons.length === 0 ? [] : [heading(2, 'Beside the baseline'), ...comparisons.flatMap(comparisonBlocks)]
}
