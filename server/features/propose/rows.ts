/** The rows of bands of a plan as they are written: those of neighbouring step rows that are the same are one. */
import type { BandReason, Plan } from '../../planning/index.ts'

export interface BandRow {
  /** The group of cores; undefined where all are alike. */
  readonly group: string | undefined
  readonly from: number
  readonly to: number
  readonly aboveC: number
  readonly drop: number
  /** Why it gives back no less and begins no later, each with the step that it gives back from. */
  readonly less: BandReason['less'] & { readonly ratio: number }
  readonly later: BandReason['later'] & { readonly ratio: number }
}

/** Of the reasons of two step rows that of the one where something fails. */
const telling = <T extends BandReason['less'] | BandReason['later']>(a: T, b: T): T =>
  a.instead.kind !== 'fails' && b.instead.kind === 'fails' ? b : a

export function bandRowsOf({ rows }: Pick<Plan, 'rows'>): readonly BandRow[] {
  const found: BandRow[][] = []
  for (const { group, from, to, ratio, bands, bandReasons } of rows) {
    const own = bands.map((link, index): BandRow => {
      const { less, later } = bandReasons[index] as BandReason
      return { group, from, to, ...link, less: { ...less, ratio }, later: { ...later, ratio } }
    })
    const last = found.at(-1)
    const isSame =
      own.length > 0 &&
      last?.length === own.length &&
      last.every((one, index) => {
        const { aboveC, drop } = own[index] as BandRow
        return one.group === group && one.to === from - 1 && one.aboveC === aboveC && one.drop === drop
      })
    if (isSame) {
      const joined = last.map((one, index) => {
        const { less, later } = own[index] as BandRow
        return { ...one, to, less: telling(one.less, less), later: telling(one.later, later) }
      })
      found.splice(-1, 1, joined)
    } else if (own.length > 0) found.push(own)
  }
  return found.flat()
}
