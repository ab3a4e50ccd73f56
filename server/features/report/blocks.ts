/** A report as blocks, which both the page and the Markdown are written from. */

import type { Picture } from '../../charts/picture.ts'
import { column } from '../../wording/figures.ts'
import { cellText, fenced, narrowTables, prose } from '../markdown.ts'

interface Plot {
  readonly unit: string
  readonly lines: readonly { readonly label: string; readonly values: readonly (number | null)[] }[]
}

/** Figures of unlike quantities over one time. */
export interface Chart {
  readonly title: string
  /** Seconds since the load began. */
  readonly timeS: readonly number[]
  readonly plots: readonly Plot[]
}

export type Block =
  | { readonly kind: 'heading'; readonly level: 1 | 2 | 3; readonly text: string }
  | { readonly kind: 'text'; readonly text: string }
  | { readonly kind: 'caution'; readonly text: string }
  | { readonly kind: 'list'; readonly items: readonly string[] }
  | { readonly kind: 'table'; readonly head: readonly string[]; readonly rows: readonly (readonly string[])[] }
  | { readonly kind: 'code'; readonly text: string }
  /** Pictures that stand side by side where there is room; what they show in figures is in tables below. */
  | { readonly kind: 'pictures'; readonly pictures: readonly Picture[]; readonly perRow?: 2 | 3 }
  /** The figures of a chart over time. */
  | { readonly kind: 'chart'; readonly chart: Chart }
  /** Something to look up: folded away on a screen, whole on paper and in text. */
  | { readonly kind: 'behind'; readonly title: string; readonly blocks: readonly Block[] }

/** Stands for a figure that does not exist. */
export { noFigure as none } from '../../wording/figures.ts'

export const heading = (level: 1 | 2 | 3, text: string): Block => ({ kind: 'heading', level, text })
export const text = (words: string): Block => ({ kind: 'text', text: words })
export const table = (head: readonly string[], rows: readonly (readonly string[])[]): Block => ({
  kind: 'table',
  head,
  rows,
})

export const behind = (title: string, blocks: readonly Block[]): Block => ({ kind: 'behind', title, blocks })

/** A chart is also given as a table, for paper and for those who do not see the picture: one row for so long. */
const toldEveryS = 60

/** A chart's figures as a table. */
export function chartTable({ timeS, plots }: Chart): {
  head: readonly string[]
  rows: readonly (readonly string[])[]
} {
  const picks = timeS.flatMap((time, index) => {
    const next = timeS[index + 1]
    const isWhole = Math.floor(time / toldEveryS) > Math.floor((timeS[index - 1] ?? -1) / toldEveryS)
    return isWhole || next === undefined ? index : []
  })
  const columns = plots.flatMap(({ unit, lines }) => lines.map(line => ({ ...line, unit })))
  const rows = picks.map(at => [
    `${Math.floor((timeS[at] ?? 0) / 60)}:${String(Math.round((timeS[at] ?? 0) % 60)).padStart(2, '0')}`,
    ...columns.map(({ values, unit }) => column(values[at], unit === 'MHz' ? 0 : 1)),
  ])
  return { head: ['min:s', ...columns.map(({ label, unit }) => `${label}, ${unit}`)], rows }
}

function tableMarkdown(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const cells = (row: readonly string[]): readonly string[] => row.map(cellText)
  return narrowTables(cells(head), rows.map(cells))
}

function blockMarkdown(block: Block): string {
  switch (block.kind) {
    case 'heading':
      return `${'#'.repeat(block.level)} ${prose(block.text)}`
    case 'text':
      return prose(block.text)
    case 'caution':
      return `> **Caution:** ${prose(block.text)}`
    case 'list':
      return block.items.map(item => `- ${prose(item)}`).join('\n')
    case 'table':
      return tableMarkdown(block.head, block.rows)
    case 'code':
      return fenced(block.text, 'detent')
    // A picture says nothing in text that the tables do not say.
    case 'pictures':
      return ''
    case 'chart': {
      const { head, rows } = chartTable(block.chart)
      return `**${prose(block.chart.title)}**\n\n${tableMarkdown(head, rows)}`
    }
    case 'behind':
      return [`### ${prose(block.title)}`, ...block.blocks.map(blockMarkdown)].join('\n\n')
  }
}

export function reportMarkdown(blocks: readonly Block[]): string {
  const written = blocks.map(blockMarkdown).filter(one => one !== '')
  return `${written.join('\n\n')}\n`
}
