/** What `predict --per` prints: for a person and for scripts. */

import { type Differences, type PerProfile, perWords, wording } from '../../service.ts'
import { headText, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { type Column, tableText, widthOf, wrapped } from './table.ts'

export interface PlacedPer extends PerProfile {
  readonly file: string
  readonly line: number
  readonly name: string
}

const keysOf = ({ clockMhz, powerW, dieC, marginW }: Differences): Readonly<Record<string, number | null>> => ({
  clock_mhz: clockMhz,
  power_w: powerW,
  die_c: dieC,
  margin_w: marginW,
})

/** Full doubles; `other_side` is null where there is none, and `jump` says that the two sides are unlike. */
export function perJson(profiles: readonly PlacedPer[], shares: perWords.Shares): string {
  const per = profiles.flatMap(({ file, name, loads }) =>
    loads.flatMap(({ effects }) =>
      effects.map(({ load, change, more, less, isJump }) => ({
        file,
        profile: name,
        load,
        change: change.name,
        amount: change.amount,
        unit: change.unit,
        ...keysOf(more),
        other_side: less === null ? null : keysOf(less),
        jump: isJump,
      })),
    ),
  )
  return `${JSON.stringify({ version: 1, per, measure_next: shares }, undefined, 2)}\n`
}

const columns: readonly Column[] = perWords.heads.map((head, index) =>
  index === 0 ? { head, side: 'left', key: true } : { head, side: 'right' },
)

function loadText({ prediction, effects }: PerProfile['loads'][number], io: Io): string {
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  const rows = perWords.rows(effects).map(row => row.map(text => ({ text })))
  const still = perWords.stillText(effects)
  return [
    `  ${headText(paint, wording.whereText(prediction), perWords.nowText(prediction))}`,
    tableText(columns, rows, width),
    still === undefined ? '' : wrapped(still, '  ', width),
  ].join('')
}

export function perText(profiles: readonly PlacedPer[], shares: perWords.Shares, io: Io): string {
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  const blocks = profiles.map(({ file, line, name, loads }) => {
    const head = headText(paint, `profile ${name}`, `${file}:${line}`)
    return `${head}${loads.map(one => loadText(one, io)).join('\n')}`
  })
  return `${blocks.join('\n')}\n${wrapped(perWords.nextText(shares), '', width)}${wrapped(perWords.what, '', width)}`
}
