/** The rows of bands of a plan as they are written: those of neighbouring step rows that are the same are one. */
import type { Plan } from '../../planning/index.ts'

export interface BandRow {
  /** The group of cores; undefined where all are alike. */
  readonly group: string | undefined
  readonly from: number
  readonly to: number
  readonly aboveC: number
  readonly drop: number
}

export function bandRowsOf({ rows }: Pick<Plan, 'rows'>): readonly BandRow[] {
  const found: { group: string | undefined; from: number; to: number; links: Plan['rows'][number]['bands'] }[] = []
  const textOf = (links: Plan['rows'][number]['bands']): string =>
    links.map(({ aboveC, drop }) => `${aboveC} ${drop}`).join('; ')
  for (const { group, from, to, bands } of rows) {
    if (bands.length === 0) continue
    const last = found.at(-1)
    if (last !== undefined && last.group === group && last.to === from - 1 && textOf(last.links) === textOf(bands))
      last.to = to
    else found.push({ group, from, to, links: bands })
  }
  return found.flatMap(({ links, ...counts }) => links.map(link => ({ ...counts, ...link })))
}
