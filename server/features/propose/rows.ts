/** The rows of bands of a plan as they are written: those of neighbouring step rows that are the same are one. */
import type { Plan } from '../../planning/index.ts'

export interface BandRow {
  readonly from: number
  readonly to: number
  readonly aboveC: number
  readonly drop: number
}

export function bandRowsOf({ rows }: Pick<Plan, 'rows'>): readonly BandRow[] {
  const found: { from: number; to: number; links: Plan['rows'][number]['bands'] }[] = []
  const textOf = (links: Plan['rows'][number]['bands']): string =>
    links.map(({ aboveC, drop }) => `${aboveC} ${drop}`).join('; ')
  for (const { from, to, bands } of rows) {
    if (bands.length === 0) continue
    const last = found.at(-1)
    if (last !== undefined && last.to === from - 1 && textOf(last.links) === textOf(bands)) last.to = to
    else found.push({ from, to, links: bands })
  }
  return found.flatMap(({ from, to, links }) => links.map(link => ({ from, to, ...link })))
}
