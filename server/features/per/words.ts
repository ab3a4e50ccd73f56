/** The words of what small changes would do, the same on a terminal and beside the text. */

import type { Prediction } from '../../semantic/predict.ts'
import { clockText, noFigure, percentText, powerText, signed, temperatureText } from '../../wording/figures.ts'
import { changeText } from './changes.ts'
import type { Differences, Effect, measureNext, PerLoad } from './per.ts'

export { measureNext } from './per.ts'

export type Shares = ReturnType<typeof measureNext>

export const what =
  'Differences from the figures now, each change by itself, in the worst corner of each load. A jump: the opposite change does not have the opposite effect, because a step, a band or a limit lies between.'

/** The figures now: `4.90 GHz, 182 W, die 71 °C, margin 24 W`. */
export function nowText({ settled }: Prediction): string {
  const { clockMhz, powerW, dieC, marginW } = settled
  return [
    clockMhz === null ? [] : [clockText(clockMhz)],
    powerW === null ? [] : [powerText(powerW)],
    dieC === null ? [] : [`die ${temperatureText(dieC)}`],
    marginW === null ? [] : [`margin ${powerText(marginW)}`],
  ]
    .flat()
    .join(', ')
}

export const heads: readonly string[] = ['change', 'MHz', 'watts', 'die K', 'margin W']

const figure = (value: number | null, decimals: number): string => (value === null ? noFigure : signed(value, decimals))

function cells(name: string, { clockMhz, powerW, dieC, marginW }: Differences): readonly string[] {
  return [name, figure(clockMhz, 0), figure(powerW, 1), figure(dieC, 2), figure(marginW, 1)]
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

/** A row for each change with an effect, two for a jump. */
export function rows(effects: readonly Effect[]): readonly (readonly string[])[] {
  return effects
    .filter(one => !isNothing(one))
    .flatMap(({ change, more, less, isJump }) => {
      const text = changeText(change)
      if (!isJump || less === null) return [cells(text, more)]
      return [cells(`${text}, a jump`, more), cells('  the other way', less)]
    })
}

/** What makes no difference; undefined where all does. */
export function stillText(effects: readonly Effect[]): string | undefined {
  const still = effects.filter(isNothing).map(({ change }) => changeText(change))
  return still.length === 0 ? undefined : `No difference: ${still.join(', ')}.`
}

/** Which constants to measure next, the five with the largest share. */
export function nextText(shares: Shares): string {
  const named = shares
    .slice(0, 5)
    .map(({ definition, key, share }) => `${definition} ${key} (${percentText(100 * share)})`)
  const rest = shares.length - named.length
  return named.length === 0
    ? 'No uncertain constant moves a clock.'
    : `Worth measuring next, by their share of the clocks' variance: ${named.join(', ')}${rest === 0 ? '' : ` and ${rest} more`}.`
}

/** In one line: what moves each load's clock most, and what to measure next. */
export function gistText(profile: string, loads: readonly PerLoad[], shares: Shares): string {
  const most = loads.flatMap(({ prediction, effects }) => {
    const [first] = effects
    const clock = first?.more.clockMhz ?? null
    if (first === undefined || clock === null || Math.abs(clock) < 0.5) return []
    return [`${prediction.load.name} ${signed(clock, 0)} MHz by ${changeText(first.change)}`]
  })
  return `${profile}: ${most.length === 0 ? 'no small change moves a clock' : most.join(', ')}. ${nextText(shares)}`
}
