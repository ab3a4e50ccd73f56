/** The front of a report: what each profile comes to, one line for each and one for each of its loads. */

import type { PlacedFinding } from '../../checks/run.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import { column } from '../../wording/figures.ts'
import { allFiguresOf, type PredictionFigures } from '../prediction-figures.ts'
import { type Block, heading, none, table } from './blocks.ts'
import { groupsText, ownCellOf } from './groups.ts'

export interface Summarized {
  readonly shown: string
  readonly evaluation: Evaluation
  readonly expectations: readonly Expectation[]
  readonly findings: readonly PlacedFinding[]
}

function profileRow({ shown, evaluation, expectations, findings }: Summarized): string[] {
  const count = (severity: string): string =>
    String(findings.filter(({ finding }) => finding.severity === severity).length)
  const held = expectations.filter(({ holds }) => holds).length
  return [
    evaluation.profile.definition.name,
    shown,
    expectations.length === 0 ? none : `${held} of ${expectations.length} hold`,
    count('error'),
    count('warning'),
  ]
}

/** The figure that is least, or most, over all corners and core counts; none where it does not exist in one of them. */
function extreme<T>(
  rows: readonly T[],
  figure: (row: T) => number | null,
  of: (...values: number[]) => number,
  decimals: number,
): string {
  const values = rows.map(figure)
  const known = values.filter(value => value !== null)
  return known.length === 0 || known.length < values.length ? none : column(of(...known), decimals)
}

function countsText(own: readonly { readonly cores: number }[]): string {
  const counts = own.map(({ cores }) => cores)
  const [fewest, most] = [Math.min(...counts), Math.max(...counts)]
  return fewest === most ? String(most) : `${fewest} to ${most}`
}

function loadRow(profile: string, load: string, rows: readonly PredictionFigures[]): string[] {
  const distinct = (of: (row: PredictionFigures) => string): string => [...new Set(rows.map(of))].join(', ')
  return [
    profile,
    load,
    ownCellOf(rows, countsText),
    ownCellOf(rows, own => extreme(own, ({ clock_mhz }) => clock_mhz, Math.min, 0)),
    extreme(rows, ({ power_w }) => power_w, Math.max, 1),
    extreme(rows, ({ die_c }) => die_c, Math.max, 1),
    extreme(rows, ({ margin_w }) => margin_w, Math.min, 0),
    distinct(row => row.limiter),
    distinct(row => row.state),
  ]
}

function loadRows({ evaluation }: Summarized): string[][] {
  const byLoad = new Map<string, PredictionFigures[]>()
  for (const row of allFiguresOf(evaluation)) {
    if (row.cores > 0) byLoad.set(row.load, [...(byLoad.get(row.load) ?? []), row])
  }
  return [...byLoad].map(([load, rows]) => loadRow(evaluation.profile.definition.name, load, rows))
}

const loadHead = [
  'profile',
  'load',
  'cores',
  'least MHz',
  'most W',
  'hottest die °C',
  'least margin W',
  'limiter',
  'state',
]

/** Nothing where there is only one profile: it says all of this itself. */
export function overviewBlocks(profiles: readonly Summarized[]): readonly Block[] {
  if (profiles.length < 2) return []
  const rows = profiles.flatMap(loadRows)
  return [
    heading(2, 'At a glance'),
    table(['profile', 'file', 'expectations', 'errors', 'warnings'], profiles.map(profileRow)),
    ...(rows.length === 0 ? [] : [table(loadHead, rows), ...groupsText(profiles.map(({ evaluation }) => evaluation))]),
  ]
}
