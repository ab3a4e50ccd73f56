/** Hover of a board: what the load line takes off and what the supply has to give, at worst. */

import { boardOfRail } from '../../model/index.ts'
import type { Board } from '../../model/types.ts'
import { boardConstants } from '../../semantic/constants.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { currentText, millivoltsText, plain, powerText } from '../../wording/figures.ts'
import { whereText } from '../../wording/places.ts'
import { highest } from '../profiles.ts'
import { type Told, told } from './told.ts'

/** Efficiency of the supply that the model counts with (model section 9). */
const supplyEfficiency = 0.9

export function boardFacts(definition: Definition): string | undefined {
  const board = boardConstants(definition).value
  if (board === undefined) return undefined
  const grid = (stepV: number | undefined): string =>
    stepV === undefined ? 'no voltage grid' : `grid ${plain(stepV * 1000)} mV`
  const both = (one: Pick<Board, 'coreVoltageStepV' | 'loadLineOhm'>): string =>
    `${grid(one.coreVoltageStepV)}, load line ${plain(one.loadLineOhm * 1000)} mΩ`
  const rails = Object.keys(board.rails ?? {}).map(rail => `; rail ${rail}: ${both(boardOfRail(board, rail))}`)
  return `${both(board)}${rails.join('')}`
}

/** A supply rail of a prediction's part, with its load line and the current that it gives. */
interface Railed {
  readonly rail: string | undefined
  readonly ohm: number
  readonly currentA: number
  readonly prediction: Prediction
}

/** Every rail of a prediction; one without a name where the part has one alone. */
function railsOf({ input: { bench } }: Evaluation, prediction: Prediction): readonly Railed[] {
  const { settled } = prediction
  if (bench === undefined) return []
  const found = new Map<string, Railed>()
  for (const [index, { rail }] of (bench.part.groups ?? []).entries()) {
    const currentA = settled.groups?.[index]?.currentA ?? null
    const ohm = boardOfRail(bench.board, rail).loadLineOhm
    if (currentA !== null) found.set(rail, { rail, ohm, currentA, prediction })
  }
  const ohm = bench.board.loadLineOhm
  const [only] = found.values()
  if (only === undefined) {
    return settled.currentA === null ? [] : [{ rail: undefined, ohm, currentA: settled.currentA, prediction }]
  }
  return found.size === 1 ? [{ ...only, rail: undefined }] : [...found.values()]
}

/** What the load line of each rail takes off at most. */
function loadLineTexts(evaluations: readonly Evaluation[]): readonly string[] {
  const most = new Map<string | undefined, Railed>()
  for (const evaluation of evaluations) {
    for (const one of evaluation.predictions.flatMap(prediction => railsOf(evaluation, prediction))) {
      if (one.ohm > 0 && one.currentA > (most.get(one.rail)?.currentA ?? 0)) most.set(one.rail, one)
    }
  }
  return [...most.values()].map(({ rail, ohm, currentA, prediction }) => {
    const whose = rail === undefined ? '' : ` of rail ${rail}`
    return `The load line${whose} takes ${millivoltsText(ohm * currentA)} off at ${currentText(currentA)}: ${whereText(prediction)}.`
  })
}

export function boardFigures(definition: Definition, evaluations: readonly Evaluation[]): Told {
  const board = boardConstants(definition).value
  if (board === undefined) return told({})
  const predictions = evaluations.flatMap(one => one.predictions)
  const lines: string[] = [...loadLineTexts(evaluations)]
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
