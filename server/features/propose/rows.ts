/** The rows of bands of a plan as they are written: those of neighbouring step rows that are the same are one. */
import type { Failure, Plan } from '../../planning/index.ts'

export interface BandRow {
  /** The group of cores; undefined where all are alike. */
  readonly group: string | undefined
  readonly from: number
  readonly to: number
  readonly aboveC: number
  readonly drop: number
  /** The step that it gives back from, and what fails where it gives a ratio-step less back; undefined: nothing does. */
  readonly why: { readonly ratio: number; readonly failure: Failure } | undefined
}

export function bandRowsOf({ rows }: Pick<Plan, 'rows'>): readonly BandRow[] {
  const found: {
    group: string | undefined
    from: number
    to: number
    links: Plan['rows'][number]['bands']
    whys: BandRow['why'][]
  }[] = []
  const textOf = (links: Plan['rows'][number]['bands']): string =>
    links.map(({ aboveC, drop }) => `${aboveC} ${drop}`).join('; ')
  for (const { group, from, to, ratio, bands, bandsFail } of rows) {
    if (bands.length === 0) continue
    const whys = bandsFail.map(failure => failure && { ratio, failure })
    const last = found.at(-1)
    if (last !== undefined && last.group === group && last.to === from - 1 && textOf(last.links) === textOf(bands)) {
      last.to = to
      last.whys = last.whys.map((why, index) => why ?? whys[index])
    } else found.push({ group, from, to, links: bands, whys })
  }
  return found.flatMap(({ links, whys, ...counts }) =>
    links.map((link, index) => ({ ...counts, ...link, why: whys[index] })),
  )
}
