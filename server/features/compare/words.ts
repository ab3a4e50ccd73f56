/** The words of a comparison, the same on a terminal and in the editor. */

import { groupsCell, groupsNote } from '../../wording/cells.ts'
import {
  column,
  decimalsKnown,
  fixed,
  noFigure,
  predictedIn,
  signed,
  significant,
  withoutZeros,
} from '../../wording/figures.ts'
import { shortened } from './settings.ts'
import type {
  ComparedExpectation,
  ComparedSetting,
  Comparison,
  ExpectedOutcome,
  ScoreComparison,
  WorstCase,
  WorstGroup,
} from './types.ts'

const percent = (value: number): string => `${signed(value, Math.abs(value) < 0.1 ? 2 : 1)} %`

const span = ([low, high]: readonly [number, number]): string => `${percent(low)} to ${percent(high)}`

/** Numbers of scores are written as far as the spread leaves them meaning. */
function scoreText(value: number, sd: number | null): string {
  if (sd === null || sd === 0) return withoutZeros(significant(value, 6))
  return fixed(value, decimalsKnown(sd, 6))
}

function probability(p: number): string {
  return p < 0.001 ? 'p < 0.001' : `p = ${fixed(p, p < 0.1 ? 3 : 2)}`
}

/** Whether the difference is more than noise, in plain words. */
function verdictText(score: ScoreComparison): string {
  const { verdict, gainPct, intervalPct, against, n, coarse } = score
  switch (verdict) {
    case 'baseline':
      return 'the baseline of the others'
    case 'better':
    case 'worse':
      return `${verdict}, and by more than noise${intervalPct === null ? '; they scatter too much to say by how much' : ''}`
    case 'not-shown': {
      const most =
        intervalPct === null ? 'They scatter too much for an interval' : `Anything from ${span(intervalPct)} fits`
      if (coarse && gainPct === 0) return `these scores are the same as far as they are written. ${most}.`
      return `these scores show no difference, which does not mean that there is none. ${most}${intervalPct === null ? '' : ' these scores'}.`
    }
    case 'too-few':
      return `${gainPct === null ? '' : `${percent(gainPct)}, but `}too few scores (${against?.n ?? 0} and ${n}) to tell it from noise: each side needs at least two`
  }
}

/** How the interval came about. */
function methodText({ method, p, days, n, against, coarse }: ScoreComparison): string {
  const sizes = `${against?.n ?? 0} and ${n} scores`
  const known = coarse ? '; scores that are all the same count as known to their last digit' : ''
  const chance = `${p === null ? '' : `, ${probability(p)}`}${known}`
  switch (method) {
    case 'none':
      return ''
    case 'paired':
      return `${n} pairs from ${days} days, Student's t${chance}`
    case 'welch':
      return `${sizes}, Welch's t${chance}`
  }
}

export const predictedHead: readonly string[] = [
  ...['load', 'cores', 'profile', 'MHz', 'against', 'watts', 'die °C', 'margin W', 'limiter', 'state'],
]

export function predictedRow(row: WorstCase): readonly string[] {
  const { load, cores, profile, powerW, driveW, dieC, marginW, limiter, state } = row
  type Own = Omit<WorstGroup, 'group'>
  const of = (cell: (own: Own) => string | undefined): string => groupsCell<Own>(row, row.groups, cell)
  return [
    load,
    cores === 0 ? noFigure : of(own => `${own.cores}`),
    profile,
    of(own => column(own.clockMhz, 0)),
    of(own => (own.clockGainPct === undefined ? undefined : percent(own.clockGainPct))),
    driveW === null ? column(powerW, 1) : `${column(powerW, 1)} + ${column(driveW, 1)}`,
    column(dieC, 1),
    column(marginW, 0),
    limiter,
    state,
  ]
}

function outcomeText(outcome: ExpectedOutcome | null): string {
  if (outcome === null) return noFigure
  const { holds, predicted, unit } = outcome
  if (holds === null) return 'undecided'
  const verdict = holds ? 'holds' : 'does not hold'
  return predicted === null ? verdict : `${verdict}: ${predictedIn(predicted, unit)}`
}

export const expectedHead = ({ profiles }: Comparison): readonly string[] => ['expected', ...profiles]

export function expectedRow({ text, values }: ComparedExpectation): readonly string[] {
  return [text, ...values.map(outcomeText)]
}

/** Why expectations are undecided: one sentence for each reason. */
export function undecidedSentences({ profiles, expectations }: Comparison): readonly string[] {
  return expectations.flatMap(({ text, values }) =>
    values.flatMap((one, index) =>
      one === null || one.holds !== null || one.undecided === ''
        ? []
        : [`Undecided for ${profiles[index]}: \`${text}\`, because ${one.undecided}.`],
    ),
  )
}

export const scoreHead: readonly string[] = ['profile', 'scores', 'mean', 'spread', 'gain', '95 % interval', 'verdict']

export function scoreRow(score: ScoreComparison): readonly string[] {
  const { profile, n, mean, sd, gainPct, intervalPct } = score
  return [
    profile,
    String(n),
    scoreText(mean, sd),
    sd === null ? noFigure : significant(sd, 2),
    gainPct === null ? '' : percent(gainPct),
    intervalPct === null ? (score.p === null ? '' : 'too much scatter') : span(intervalPct),
    score.verdict === 'baseline' ? '' : (shortVerdicts[score.verdict] ?? ''),
  ]
}

const shortVerdicts: Readonly<Record<string, string>> = {
  better: 'better',
  worse: 'worse',
  'not-shown': 'no difference shown',
  'too-few': 'too few scores',
}

/** Scores in one load, unit and direction; the title says which. */
export function scoreGroups({ scores }: Comparison): readonly {
  readonly title: string
  readonly rows: readonly ScoreComparison[]
}[] {
  const groups = new Map<string, ScoreComparison[]>()
  for (const score of scores) {
    const title = `${score.load}, ${score.unit} (${score.better} is better)`
    groups.set(title, [...(groups.get(title) ?? []), score])
  }
  return [...groups].map(([title, rows]) => ({ title, rows }))
}

/** One sentence for each profile that is compared with another. */
export function scoreSentences(rows: readonly ScoreComparison[]): readonly string[] {
  return rows
    .filter(({ verdict }) => verdict !== 'baseline')
    .map(row => {
      const how = methodText(row)
      const text = `${row.profile} against ${row.against?.profile}: ${verdictText(row)}`
      const isNarrow = row.sittings === 'one' && row.intervalPct !== null
      const sitting = isNarrow ? ' Each run is one sitting: day-to-day changes are not in the interval.' : ''
      return `${text.replace(/\.$/, '')}${how === '' ? '' : ` (${how})`}.${sitting}`
    })
}

export function settingRow({ key, values }: ComparedSetting): readonly string[] {
  return [key, ...values.map(value => value ?? noFigure)]
}

/** @param show whether settings that are the same everywhere are listed as well */
export function shownSettings({ settings }: Comparison, show: 'all' | 'different'): readonly ComparedSetting[] {
  return shortened(show === 'all' ? settings : settings.filter(({ isSame }) => !isSame))
}

export function sameText({ settings }: Comparison): string {
  const same = settings.filter(({ isSame }) => isSame).length
  return same === 1 ? '1 setting is the same.' : `${same} settings are the same.`
}

export function titleOf({ profiles }: Comparison): string {
  const [first, ...others] = profiles
  return `${others.join(', ')} against ${first}`
}

const cornersText =
  'Each figure is the worst of the room’s corners. Watts are those of the part; after a `+`, those that drive a plate.'

/** What the figures are. */
export function worstText({ worst }: Pick<Comparison, 'worst'>): string {
  const hasGroups = worst.some(({ groups = [] }) => groups.length > 1)
  return hasGroups ? `${cornersText} ${groupsNote}` : cornersText
}

export const noScores = 'No scores: give each run a `score`, and this says whether the difference is more than noise.'
export const caution =
  'Faster is not safer: the makers’ limits, local codes and licensed practice come before any of these figures.'
