/** Runs over time for reading: where each begins and ends, and what happens on the way. */

import { type Series, wording } from '../../service.ts'
import { headText, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import type { TimedProfile } from './predicted.ts'
import { type Column, tableText, widthOf, wrapped } from './table.ts'

const columns: readonly Column[] = [
  { head: 'load', side: 'left', key: true },
  { head: 'cores', side: 'right', key: true },
  { head: 'corner', side: 'right', key: true },
  { head: 'start MHz', side: 'right' },
  { head: 'end MHz', side: 'right' },
  { head: 'end W', side: 'right' },
  { head: 'hottest °C', side: 'right' },
  { head: 'end die °C', side: 'right' },
  { head: 'end plate °C', side: 'right' },
  { head: 'after', side: 'right' },
  { head: 'what happens', side: 'left' },
]

const cornerOf = ({ air_c, humidity_pct }: Series): string =>
  `${wording.plain(air_c)} °C ${wording.plain(humidity_pct)} %`

function rowOf(series: Series): { text: string }[] {
  const last = <T>(list: readonly T[]): T | undefined => list.at(-1)
  const first = series.events[0]
  const hottest = series.die_c.reduce((most, value) => Math.max(most, value), Number.NEGATIVE_INFINITY)
  return [
    series.load,
    String(series.cores),
    cornerOf(series),
    wording.column(series.clock_mhz[0], 0),
    wording.column(last(series.clock_mhz), 0),
    wording.column(last(series.power_w), 1),
    wording.column(hottest, 1),
    wording.column(last(series.die_c), 1),
    wording.column(last(series.plate_c), 1),
    first === undefined ? '' : wording.clockTime(first.t_s),
    first === undefined ? 'nothing is given back' : first.what,
  ].map(text => ({ text }))
}

function laterEvents(series: Series, width: number): string {
  const rest = series.events.slice(1)
  if (rest.length === 0) return ''
  const list = rest.map(({ t_s, what }) => `${wording.clockTime(t_s)} ${what}`).join('; ')
  return wrapped(`${series.load} on ${series.cores} at ${cornerOf(series)}, then: ${list}`, '  ', width)
}

export function seriesText(profiles: readonly TimedProfile[], io: Io): string {
  if (profiles.length === 0) return 'No profiles here.\n'
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  return profiles
    .map(({ file, line, name, series, unread }) => {
      const head = headText(paint, `profile ${name}`, `${file}:${line}`)
      if (series.length === 0) return `${head}  no run\n`
      const without = unread === undefined ? '' : wrapped(unread, '  ', width)
      return `${head}${without}${tableText(columns, series.map(rowOf), width)}${series.map(one => laterEvents(one, width)).join('')}`
    })
    .join('\n')
}

/** All values as doubles, by the output contract. */
export function seriesJson(profiles: readonly TimedProfile[]): string {
  const series = profiles.flatMap(({ file, series: list }) => list.map(one => ({ file, ...one })))
  return `${JSON.stringify({ version: 1, series })}\n`
}
