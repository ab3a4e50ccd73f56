/** A first look at a bench, in one screen. */

import { posix } from 'node:path'
import { type PredictionFigures, wording, worseFirst } from '../../service.ts'
import { type Report, type ReportedFinding, severityOrder } from '../check-results.ts'
import { paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { colours, summary, whereToBegin } from './check-text.ts'
import { type Column, tableText, widthOf, wrapped } from './table.ts'

export interface Glance {
  readonly report: Report
  readonly profiles: readonly { readonly name: string; readonly rows: readonly PredictionFigures[] }[]
  readonly runs: number
  /** As they were asked for. */
  readonly paths: readonly string[]
}

const mostFindings = 3
const mostProfiles = 8

const columns: readonly Column[] = [
  { head: 'profile', side: 'left', key: true },
  { head: 'load', side: 'left' },
  { head: 'MHz', side: 'right' },
  { head: 'die °C', side: 'right' },
  { head: 'margin', side: 'right' },
  { head: 'held by', side: 'left' },
]

/** What all files have in common need not be said at each. */
function commonFolder(files: readonly string[]): string {
  const folders = files.map(file => posix.dirname(file).split('/'))
  const [first = [], ...others] = folders
  const end = first.findIndex((part, index) => others.some(other => other[index] !== part))
  const common = (end < 0 ? first : first.slice(0, end)).join('/')
  return common === '.' ? '' : common
}

/** A text cut to its room at a word, with a sign that it goes on. */
function cut(text: string, room: number): string {
  if (text.length <= room) return text
  const end = text.lastIndexOf(' ', room - 1)
  return `${text.slice(0, end > room / 2 ? end : room - 1).replace(/[:;,.]$/, '')}…`
}

/** The first finding of each kind, the more severe kinds first, and how many more of it there are. */
function worthKnowing(findings: readonly ReportedFinding[]): readonly { finding: ReportedFinding; more: number }[] {
  const byCode = new Map<string, ReportedFinding[]>()
  for (const finding of findings) {
    const same = byCode.get(finding.code) ?? []
    byCode.set(finding.code, [...same, finding])
  }
  return [...byCode.values()]
    .flatMap(([finding, ...others]) => (finding === undefined ? [] : [{ finding, more: others.length }]))
    .toSorted((a, b) => severityOrder.indexOf(a.finding.severity) - severityOrder.indexOf(b.finding.severity))
    .slice(0, mostFindings)
}

/** The load that leaves the least margin, in its worst corner; undefined where nothing is predicted. */
function tightest(rows: readonly PredictionFigures[]): PredictionFigures | undefined {
  const margin = ({ margin_w }: PredictionFigures): number => margin_w ?? Number.NEGATIVE_INFINITY
  const work = rows.filter(({ cores }) => cores > 0)
  return (work.length > 0 ? work : rows).toSorted((a, b) =>
    margin(a) === margin(b) ? worseFirst(a, b) : margin(a) - margin(b),
  )[0]
}

function profileRow(name: string, row: PredictionFigures): string[] {
  const cores = row.cores === 0 ? row.load : `${row.load} on ${row.cores}`
  const margin = row.margin_w === null ? wording.noFigure : `${wording.column(row.margin_w, 0)} W`
  const held = row.state === 'runaway' || row.state === 'over-limit' ? row.state : row.limiter
  return [name, cores, wording.column(row.clock_mhz, 0), wording.column(row.die_c, 1), margin, held]
}

const noProfile =
  'Nothing is predicted yet: there is no profile. It names a part, a cooler and a room, and lists steps; the part may have nothing but its limits and `known`, what you have seen it do.'

export function glanceText({ report, profiles, runs, paths }: Glance, io: Io): string {
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  const folder = commonFolder(report.files)
  const short = (file: string): string => (folder === '' ? file : file.slice(folder.length + 1))
  const counts = [
    wording.counted(report.files.length, 'file'),
    wording.counted(profiles.length, 'profile'),
    ...(runs === 0 ? [] : [wording.counted(runs, 'run')]),
  ]
  const head = `Checked ${wording.listed(counts)}${folder === '' ? '' : ` in ${folder}`}.`
  const known = worthKnowing(report.findings).map(({ finding, more }) => {
    const place = `${short(finding.file)}:${finding.line} `
    const others = more === 0 ? '' : ` (${more} more)`
    const room = width - 2 - place.length - others.length
    return `  ${paint(colours[finding.severity], place)}${cut(finding.message, room)}${others}\n`
  })
  const rows = profiles.flatMap(({ name, rows: all }) => {
    const row = tightest(all)
    return row === undefined ? [] : [profileRow(name, row).map(text => ({ text }))]
  })
  const [first] = profiles
  const hidden = rows.length - mostProfiles
  const table =
    rows.length === 0
      ? wrapped(
          first !== undefined
            ? 'Nothing is predicted yet.'
            : // Without a file the summary says it.
              [noProfile, ...(report.files.length === 0 ? [] : [whereToBegin])].join(' '),
          '',
          width,
        )
      : `Each profile under the load that leaves the least margin, in its worst corner:\n${tableText(columns, rows.slice(0, mostProfiles), width)}${hidden > 0 ? `and ${wording.counted(hidden, 'more profile', 'more profiles')}\n` : ''}`
  const where = paths.length === 0 ? '' : ` ${paths.join(' ')}`
  const hasErrors = report.findings.some(({ severity }) => severity === 'error')
  const next =
    first === undefined
      ? [`check${where}`]
      : [`predict ${first.name}${where}`, hasErrors ? `check${where}` : `sheet ${first.name}${where}`]
  return [
    `${paint('bold', head)}\n${wrapped(summary(report), '', width)}${known.join('')}`,
    table,
    `Go on with\n${next.map(call => `  ${io.command ?? 'detent'} ${call}\n`).join('')}`,
  ].join('\n')
}
