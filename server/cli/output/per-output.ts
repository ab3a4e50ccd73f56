/** What `predict --per` prints: for a person and for scripts. */

import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { changeText, type Differences, type Effect, type measureNext, wording } from '../../service.ts'
import { paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { type Column, tableText, widthOf, wrapped } from './table.ts'

/** The effects on one load of one profile, in its worst corner. */
interface PerLoad {
  readonly prediction: Prediction
  readonly effects: readonly Effect[]
}

export interface PerProfile {
  readonly file: string
  readonly line: number
  readonly name: string
  readonly evaluation: Evaluation
  readonly loads: readonly PerLoad[]
}

type Shares = ReturnType<typeof measureNext>

const keysOf = ({ clockMhz, powerW, dieC, marginW }: Differences): Readonly<Record<string, number | null>> => ({
  clock_mhz: clockMhz,
  power_w: powerW,
  die_c: dieC,
  margin_w: marginW,
})

/** Full doubles; `other_side` is null where there is none, and `jump` says that the two sides are unlike. */
export function perJson(profiles: readonly PerProfile[], shares: Shares): string {
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

const columns: readonly Column[] = [
  { head: 'change', side: 'left', key: true },
  { head: 'MHz', side: 'right' },
  { head: 'watts', side: 'right' },
  { head: 'die K', side: 'right' },
  { head: 'margin W', side: 'right' },
]

const figure = (value: number | null, decimals: number): { text: string } => ({
  text: value === null ? wording.noFigure : wording.signed(value, decimals),
})

function cells(name: string, { clockMhz, powerW, dieC, marginW }: Differences): readonly { text: string }[] {
  return [{ text: name }, figure(clockMhz, 0), figure(powerW, 1), figure(dieC, 2), figure(marginW, 1)]
}

/** Changes without any visible effect are one line below the table. */
function isNothing({ more, isJump }: Effect): boolean {
  const { clockMhz, powerW, dieC, marginW } = more
  const none = (value: number | null, least: number): boolean => value !== null && Math.abs(value) < least
  return (
    !isJump &&
    (clockMhz === null || none(clockMhz, 0.5)) &&
    none(powerW, 0.05) &&
    none(dieC, 0.005) &&
    none(marginW, 0.05)
  )
}

function loadText({ prediction, effects }: PerLoad, io: Io): string {
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  const { settled } = prediction
  const now = [
    settled.clockMhz === null ? [] : [wording.clockText(settled.clockMhz)],
    settled.powerW === null ? [] : [wording.powerText(settled.powerW)],
    settled.dieC === null ? [] : [`die ${wording.temperatureText(settled.dieC)}`],
    settled.marginW === null ? [] : [`margin ${wording.powerText(settled.marginW)}`],
  ].flat()
  const shown = effects.filter(one => !isNothing(one))
  const rows = shown.flatMap(({ change, more, less, isJump }) => {
    const text = changeText(change)
    if (!isJump || less === null) return [cells(text, more)]
    return [cells(`${text}, a jump`, more), cells('  the other way', less)]
  })
  const still = effects.filter(isNothing).map(({ change }) => changeText(change))
  return [
    `  ${paint('bold', wording.whereText(prediction))}  ${paint('dim', now.join(', '))}\n`,
    tableText(columns, rows, width),
    still.length === 0 ? '' : wrapped(`No difference: ${still.join(', ')}.`, '  ', width),
  ].join('')
}

export function perText(profiles: readonly PerProfile[], shares: Shares, io: Io): string {
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  const blocks = profiles.map(({ file, line, name, loads }) => {
    const head = `${paint('bold', `profile ${name}`)}  ${paint('dim', `${file}:${line}`)}\n`
    return `${head}${loads.map(one => loadText(one, io)).join('\n')}`
  })
  const named = shares
    .slice(0, 5)
    .map(({ definition, key, share }) => `${definition} ${key} (${wording.percentText(100 * share)})`)
  const rest = shares.length - named.length
  const next =
    named.length === 0
      ? 'No uncertain constant moves a clock.'
      : `Worth measuring next, by their share of the clocks' variance: ${named.join(', ')}${rest === 0 ? '' : ` and ${rest} more`}.`
  const what =
    'Differences from the figures now, each change by itself, in the worst corner of each load. A jump: the opposite change does not have the opposite effect, because a step, a band or a limit lies between.'
  return `${blocks.join('\n')}\n${wrapped(next, '', width)}${wrapped(what, '', width)}`
}
