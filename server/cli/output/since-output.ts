/** What `compare --since` prints: for a terminal and for scripts. */

import type { ChangedProfile, Since } from '../../features/since/types.ts'
import { sinceWords } from '../../service.ts'
import { paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { type Column, tableText, widthOf, wrapped } from './table.ts'

const words: ReadonlySet<string> = new Set(['load', 'air', 'setting', 'before', 'now'])
const keys: ReadonlySet<string> = new Set(['load', 'cores', 'air', 'setting'])

function table(heads: readonly string[], rows: readonly (readonly string[])[], width: number): string {
  if (rows.length === 0) return ''
  const columns: readonly Column[] = heads.map(head => ({
    head,
    side: words.has(head) ? 'left' : 'right',
    ...(keys.has(head) ? { key: true as const } : {}),
  }))
  return tableText(
    columns,
    rows.map(row => row.map(text => ({ text }))),
    width,
  )
}

/** Numbers are full doubles; every key is always there. */
export function sinceJson({ profiles }: Since, since: string): string {
  const value = {
    version: 1,
    since,
    profiles: profiles.map(({ file, profile, change, settings, predicted, expectations, findings }) => ({
      file,
      profile,
      change,
      settings: settings.map(({ key, values: [before, after] }) => ({
        key,
        before: before ?? null,
        after: after ?? null,
      })),
      predicted: predicted.map(row => ({
        load: row.load,
        cores: row.cores,
        air_c: row.airC,
        humidity_pct: row.humidityPct,
        clock_mhz: row.clockMhz,
        ...(row.groups && {
          groups: row.groups.map(({ group, cores, clockMhz }) => ({ group, cores, clock_mhz: clockMhz })),
        }),
        power_w: row.powerW,
        die_c: row.dieC,
        margin_w: row.marginW,
      })),
      expectations,
      findings,
    })),
  }
  return `${JSON.stringify(value, undefined, 2)}\n`
}

/** @param since what the older side is called, with its commit where it is a revision */
export function sinceText(found: Since, since: string, io: Io): string {
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  const profileText = (profile: ChangedProfile): string => {
    const lines = [...sinceWords.expectationLines(profile, sinceWords.sinceSides), ...sinceWords.findingLines(profile)]
    const tables = [
      table(sinceWords.settingHead(sinceWords.sinceSides), sinceWords.settingRows(profile), width),
      table(sinceWords.predictedHead, profile.predicted.map(sinceWords.predictedRow), width),
      lines.map(line => wrapped(line, '  ', width)).join(''),
    ]
    const head = `${paint('bold', profile.profile)}  ${paint('dim', `${profile.file}: ${sinceWords.glanceOf(profile)}`)}`
    return `${head}\n${tables.filter(text => text !== '').join('\n')}`
  }
  const head = [
    paint('bold', `Since ${since}: ${sinceWords.titleOf(found)}`),
    '\n',
    wrapped(`Caution: ${sinceWords.caution}`, '  ', width),
    ...sinceWords.notesOf(found).map(note => wrapped(note, '  ', width)),
  ].join('')
  return [head, ...found.profiles.map(profileText)].join('\n')
}
