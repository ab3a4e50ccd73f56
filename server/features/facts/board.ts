/** Hover of a board: what the load line takes off and what the supply has to give, at worst. */

import { boardConstants } from '../../semantic/constants.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { currentText, millivoltsText, plain, powerText } from '../../wording/figures.ts'
import { whereText } from '../../wording/places.ts'
import { highest } from '../profiles.ts'
import { type Told, told } from './told.ts'

/** Efficiency of the supply that the model counts with (model section 9). */
const supplyEfficiency = 0.9

export function boardFacts(definition: Definition): string | undefined {
  const board = boardConstants(definition).value
  if (board === undefined) return undefined
  const grid =
    board.coreVoltageStepV === undefined ? 'no voltage grid' : `grid ${plain(board.coreVoltageStepV * 1000)} mV`
  return `${grid}, load line ${plain(board.loadLineOhm * 1000)} mΩ`
}

export function boardFigures(definition: Definition, evaluations: readonly Evaluation[]): Told {
  const board = boardConstants(definition).value
  if (board === undefined) return told({})
  const predictions = evaluations.flatMap(one => one.predictions)
  const lines: string[] = []
  const most = highest(predictions, settled => settled.currentA)
  if (most !== undefined && board.loadLineOhm > 0) {
    lines.push(
      `The load line takes ${millivoltsText(board.loadLineOhm * most.value)} off at ${currentText(most.value)}: ${whereText(most.prediction)}.`,
    )
  }
  const drawn = highest(predictions, settled =>
    settled.powerW === null ? null : (settled.powerW + (settled.driveW ?? 0)) / supplyEfficiency + board.otherPowerW,
  )
  if (drawn !== undefined) {
    const rated = board.supplyW === undefined ? '' : ` of ${plain(board.supplyW)} W`
    lines.push(`The supply gives at most **${powerText(drawn.value)}**${rated}: ${whereText(drawn.prediction)}.`)
  }
  return told({
    lines,
    rest: [
      drawn === undefined
        ? undefined
        : `Supply = (part + plate drive) / ${supplyEfficiency} + ${plain(board.otherPowerW)} W for the rest (model section 9).`,
    ],
  })
}
