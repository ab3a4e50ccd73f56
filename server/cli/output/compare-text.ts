/** A comparison for a terminal. */

import type { Comparison, ScoreComparison } from '../../features/compare/types.ts'
import { compareWords } from '../../service.ts'
import { type Paint, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { type Cell, type Column, tableText, widthOf, wrapped } from './table.ts'

/** What a row is of. */
const keys: ReadonlySet<string> = new Set(['load', 'cores', 'profile'])

/** Words stand to the left, numbers to the right. */
const words: ReadonlySet<string> = new Set(['load', 'profile', 'limiter', 'state', 'verdict', '95 % interval'])

function columns(heads: readonly string[]): readonly Column[] {
  return heads.map(head => ({
    head,
    side: words.has(head) ? 'left' : 'right',
    ...(keys.has(head) ? { key: true as const } : {}),
  }))
}

const plain = (row: readonly string[]): Cell[] => row.map(text => ({ text }))

/** A row whose load and cores are those of the row above leaves them out, so that what is compared stands together. */
function predictedRows({ worst }: Comparison, paint: Paint): readonly (readonly Cell[])[] {
  const rows = worst.map(compareWords.predictedRow)
  return worst.map((row, index) => {
    const [own, before] = [rows[index] ?? [], rows[index - 1]]
    const isSame = before !== undefined && before[0] === own[0] && before[1] === own[1]
    const cells = plain(own)
    const state = cells.at(-1)
    if (state !== undefined && (row.state === 'runaway' || row.state === 'over-limit')) {
      cells[cells.length - 1] = { ...state, shown: paint('red', state.text) }
    }
    return isSame ? [{ text: '' }, { text: '' }, ...cells.slice(2)] : cells
  })
}

function verdictCell({ verdict }: ScoreComparison, text: string, paint: Paint): Cell {
  if (verdict === 'better') return { text, shown: paint('green', text) }
  return verdict === 'worse' ? { text, shown: paint('red', text) } : { text }
}

function scoresText(comparison: Comparison, paint: Paint, width: number): string {
  const groups = compareWords.scoreGroups(comparison)
  if (groups.length === 0) return wrapped(compareWords.noScores, '  ', width)
  return groups
    .map(({ title, rows }) => {
      const cells = rows.map(row => {
        const texts = compareWords.scoreRow(row)
        return [...plain(texts.slice(0, -1)), verdictCell(row, texts.at(-1) ?? '', paint)]
      })
      const sentences = compareWords.scoreSentences(rows).map(line => wrapped(line, '  ', width))
      return `${title}\n${tableText(columns(compareWords.scoreHead), cells, width)}${sentences.join('')}`
    })
    .join('\n')
}

function expectedText(comparison: Comparison, width: number): string {
  const [first, ...profiles] = compareWords.expectedHead(comparison)
  const heads: readonly Column[] = [
    { head: first ?? '', side: 'left', key: true },
    ...profiles.map(head => ({ head, side: 'left' }) as const),
  ]
  const rows = comparison.expectations.map(row => plain(compareWords.expectedRow(row)))
  const sentences = compareWords.undecidedSentences(comparison).map(line => wrapped(line, '  ', width))
  return `${tableText(heads, rows, width)}${sentences.join('')}`
}

function settingsText(comparison: Comparison, show: 'all' | 'different', width: number): string {
  const rows = compareWords.shownSettings(comparison, show)
  const heads: readonly Column[] = [
    { head: 'setting', side: 'left', key: true },
    ...comparison.profiles.map(head => ({ head, side: 'left' }) as const),
  ]
  const table =
    rows.length === 0
      ? ''
      : tableText(
          heads,
          rows.map(row => plain(compareWords.settingRow(row))),
          width,
        )
  return `${table}${show === 'all' ? '' : `  ${compareWords.sameText(comparison)}\n`}`
}

export function compareText(comparison: Comparison, show: 'all' | 'different', io: Io): string {
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  const { worst, expectations, notes } = comparison
  const predicted =
    worst.length === 0
      ? '  Nothing is predicted.\n'
      : tableText(columns(compareWords.predictedHead), predictedRows(comparison, paint), width)
  return [
    `${paint('bold', compareWords.titleOf(comparison))}\n${wrapped(`Caution: ${compareWords.caution}`, '  ', width)}${notes.map(note => wrapped(note, '  ', width)).join('')}`,
    `${paint('bold', 'Predicted')}  ${paint('dim', compareWords.worstText(comparison))}\n${predicted}`,
    ...(expectations.length === 0 ? [] : [`${paint('bold', 'Expected')}\n${expectedText(comparison, width)}`]),
    `${paint('bold', 'Measured')}\n${scoresText(comparison, paint, width)}`,
    `${paint('bold', 'Settings')}\n${settingsText(comparison, show, width)}`,
  ].join('\n')
}
