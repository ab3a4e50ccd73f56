/** Figures of each group of cores in one cell of a report, in the part's order; of a part whose cores are all alike the one. */

import type { Evaluation } from '../../semantic/evaluate.ts'
import { groupsCell } from '../../wording/cells.ts'
import type { PredictionFigures } from '../prediction-figures.ts'
import { type Block, none, text } from './blocks.ts'

type GroupFigures = NonNullable<PredictionFigures['groups']>[number]
/** What a part whose cores are all alike has as well as each group. */
type OwnFigures = Pick<GroupFigures, 'cores' | 'clock_mhz' | 'voltage_v' | 'current_a'>

/** `6 / 8`; a group without work has no figure, and neither has `idle`. */
export function ownCell(row: PredictionFigures, cell: (own: OwnFigures) => string): string {
  const groups = row.cores === 0 ? undefined : row.groups
  return groupsCell<OwnFigures>(row, groups, own => (own.cores === 0 ? none : cell(own)))
}

/**
 * The same of several rows of one load.
 * @param cell from those rows in which the group is at work
 */
export function ownCellOf(rows: readonly PredictionFigures[], cell: (own: readonly OwnFigures[]) => string): string {
  const groups = rows[0]?.groups?.map((_, index) => rows.flatMap(row => row.groups?.[index] ?? []))
  return groupsCell<readonly OwnFigures[]>(rows, groups, own => {
    const busy = own.filter(({ cores }) => cores > 0)
    return busy.length === 0 ? none : cell(busy)
  })
}

/** What the cells say, where one of the profiles has a part with groups. */
export function groupsText(evaluations: readonly Evaluation[]): readonly Block[] {
  const isGrouped = evaluations.some(({ input }) => input.bench?.part.groups !== undefined)
  return isGrouped
    ? [text('`/` separates the groups of cores, in the part’s order; – stands for one without work.')]
    : []
}
