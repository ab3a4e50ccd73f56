import type { Settled } from '../../model/types.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { current, noFigure, plain, power, temperature } from '../figures.ts'
import { highest } from '../profiles.ts'
import { paragraphs, table } from './markdown.ts'
import { nothingPredicted, whereText } from './predicted.ts'

/** Hover of `limits`: each limit beside the highest figure that any load reaches. */

interface LimitRow {
  readonly word: string
  readonly value: number | undefined
  readonly figure: (settled: Settled) => number | null
  readonly write: (value: number | null | undefined) => string
  readonly unit: string
}

function limitRows(evaluation: Evaluation): readonly LimitRow[] {
  const { bench } = evaluation.input
  const limits = bench?.profile.limits
  return [
    {
      word: 'die',
      value: limits?.dieC ?? bench?.part.dieLimitC,
      figure: one => one.dieC,
      write: temperature,
      unit: '°C',
    },
    { word: 'sustained-power', value: limits?.sustainedPowerW, figure: one => one.powerW, write: power, unit: 'W' },
    { word: 'burst-power', value: limits?.burstPowerW, figure: one => one.powerW, write: power, unit: 'W' },
    { word: 'current', value: limits?.currentA, figure: one => one.currentA, write: current, unit: 'A' },
  ]
}

/**
 * The limits of a profile, or one of them.
 * @param word a key of `limits`; undefined for all
 */
export function limitsHover(evaluation: Evaluation, word: string | undefined): string | undefined {
  const reason = nothingPredicted(evaluation)
  if (reason !== undefined) return reason
  const rows = limitRows(evaluation).filter(row => row.value !== undefined && (word === undefined || row.word === word))
  if (rows.length === 0) return undefined
  const cells = rows.map(row => {
    const most = highest(evaluation.predictions, row.figure)
    const value = row.value === undefined ? noFigure : `${plain(row.value)} ${row.unit}`
    return [row.word, value, row.write(most?.value), most === undefined ? noFigure : whereText(most.prediction)]
  })
  const holding = new Set(
    evaluation.predictions
      .filter(({ settled }) => rows.some(row => settled.limiter === (row.word === 'die' ? 'die-limit' : row.word)))
      .map(({ load }) => load.name),
  )
  const held =
    holding.size === 0 ? 'It holds back no load in steady state.' : `It holds back: ${[...holding].join(', ')}.`
  return paragraphs(
    table(['Limit', 'Set to', 'Highest steady', 'Reached by'], cells),
    word === undefined ? held.replace('It holds', 'They hold') : held,
  )
}
