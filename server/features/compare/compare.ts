/** Profiles side by side: what is predicted of them, what was measured, and what they set. */

import { allFiguresOf, type PredictionFigures } from '../prediction-figures.ts'
import { comparedScores } from './scores.ts'
import { comparedSettings } from './settings.ts'
import type {
  ComparedExpectation,
  ComparedSetting,
  Comparison,
  ScoreComparison,
  Side,
  WorstCase,
  WorstGroup,
} from './types.ts'

/** The more severe first. */
const states: readonly string[] = ['runaway', 'over-limit', 'throttled', 'alternating', 'steady']

function extreme(
  rows: readonly PredictionFigures[],
  figure: (row: PredictionFigures) => number | null,
  pick: (...values: number[]) => number,
): number | null {
  const values: number[] = []
  for (const row of rows) {
    const value = figure(row)
    // Where a corner has none, as on runaway, the worst has none either.
    if (value === null) return null
    values.push(value)
  }
  return values.length === 0 ? null : pick(...values)
}

function worstOf(rows: readonly PredictionFigures[], profile: string): Omit<WorstCase, 'clockGainPct'> {
  const clockMhz = extreme(rows, row => row.clock_mhz, Math.min)
  const slowest = rows.find(row => row.clock_mhz === clockMhz) ?? rows[0]
  return {
    load: rows[0]?.load ?? '',
    cores: rows[0]?.cores ?? 0,
    profile,
    clockMhz,
    powerW: extreme(rows, row => row.power_w, Math.max),
    driveW: extreme(rows, row => row.drive_w, Math.max),
    dieC: extreme(rows, row => row.die_c, Math.max),
    marginW: extreme(rows, row => row.margin_w, Math.min),
    state: states.find(state => rows.some(row => row.state === state)) ?? '',
    limiter: slowest?.limiter ?? '',
    ...(rows[0]?.groups === undefined ? {} : { groups: worstGroups(rows) }),
  }
}

/** All rows are of the same counts. */
function worstGroups(rows: readonly PredictionFigures[]): readonly WorstGroup[] {
  return (rows[0]?.groups ?? []).flatMap(({ group, cores }, index) => {
    const clockMhz = extreme(rows, row => row.groups?.[index]?.clock_mhz ?? null, Math.min)
    return cores === 0 ? [] : [{ group, cores, clockMhz }]
  })
}

/** How much faster in percent; undefined where one of the two has no clock. */
function gainPct(clockMhz: number | null, baseline: number | null | undefined): number | undefined {
  const both = typeof baseline === 'number' && baseline > 0 && clockMhz !== null
  return both ? 100 * (clockMhz / baseline - 1) : undefined
}

/** A load at one core count, of each group of cores: what profiles are compared under. */
function caseOf({ load, cores, groups = [] }: PredictionFigures): string {
  return [load, ...[{ cores }, ...groups].map(own => String(own.cores).padStart(5))].join(' ')
}

function worstCases(
  figures: readonly (readonly PredictionFigures[])[],
  labels: readonly string[],
): readonly WorstCase[] {
  const keys = [...new Set(figures.flat().map(caseOf))].sort()
  return keys.flatMap(key => {
    const cases = figures.flatMap((rows, index) => {
      const own = rows.filter(row => caseOf(row) === key)
      return own.length === 0 ? [] : [{ index, worst: worstOf(own, labels[index] ?? '') }]
    })
    const baseline = cases.find(({ index }) => index === 0)?.worst
    return cases.map(({ index, worst }) => {
      const against = index > 0 ? baseline : undefined
      const groups = worst.groups?.map(own => {
        const other = against?.groups?.find(({ group }) => group === own.group)
        return { ...own, clockGainPct: gainPct(own.clockMhz, other?.clockMhz) }
      })
      return { ...worst, clockGainPct: gainPct(worst.clockMhz, against?.clockMhz), ...(groups && { groups }) }
    })
  })
}

/** Each expectation once, in the order in which the profiles state them. */
function comparedExpectations(sides: readonly Side[]): readonly ComparedExpectation[] {
  const texts = new Set(sides.flatMap(({ expectations }) => expectations.map(({ text }) => text)))
  return [...texts].map(text => ({
    text,
    values: sides.map(({ expectations }) => {
      const own = expectations.find(one => one.text === text)
      if (own === undefined) return null
      const { holds, predicted, unit, undecided } = own
      return { holds, predicted, unit, undecided: holds === null ? (undecided ?? '') : null }
    }),
  }))
}

/** Rooms that are not one: the figures differ by them too. */
function roomNote(sides: readonly Side[]): readonly string[] {
  const rooms = sides.map(({ evaluation }) => evaluation.profile.room?.name)
  if (rooms.every(room => room === rooms[0])) return []
  const list = sides.map(({ label }, index) => `${label} in ${rooms[index] ?? 'none'}`).join(', ')
  return [`The rooms differ (${list}), and the predictions with them. \`--with room=NAME\` puts all into one.`]
}

/** An older side is predicted with what was known of the bench then, while runs are compared with what is known now. */
function constantsNote(sides: readonly Side[], settings: readonly ComparedSetting[]): readonly string[] {
  const older = sides.filter(({ label }) => label.includes('@')).map(({ label }) => label)
  const isOther = settings.some(({ key }) => /^(?:part|cooler|room|board|load) ./.test(key))
  if (older.length === 0 || !isOther) return []
  return [
    `${older.join(' and ')}: predicted with the constants of the bench as they were then, which differ today (below). Runs are compared with today’s.`,
  ]
}

function stoppedNotes(sides: readonly Side[]): readonly string[] {
  return sides.flatMap(({ label, runs }) =>
    runs.flatMap(({ name, load, outcome }) =>
      outcome?.kind === 'stopped' ? [`${label}: the run ${name} under ${load} did not last: “${outcome.what}”.`] : [],
    ),
  )
}

/** Scores that stand alone: of one profile only, where another has some under the same load in another unit or direction. */
function unlikeNotes(scores: readonly ScoreComparison[]): readonly string[] {
  const kindOf = ({ unit, better }: ScoreComparison): string => `${unit} (${better} is better)`
  return [...new Set(scores.map(({ load }) => load))].flatMap(load => {
    const own = scores.filter(score => score.load === load)
    const alone = own.filter(one => own.every(other => other === one || kindOf(other) !== kindOf(one)))
    if (new Set(alone.map(({ profile }) => profile)).size < 2) return []
    const list = alone.map(score => `${score.profile} in ${kindOf(score)}`).join(', ')
    return [`Scores under ${load} are not compared, because they differ in kind: ${list}.`]
  })
}

/** How many comparisons of scores make it likely that one of them looks like a difference by chance. */
const manyComparisons = 4

/** @param notes what the caller has to say of how the sides came about */
export function compareProfiles(sides: readonly Side[], notes: readonly string[] = []): Comparison {
  const labels = sides.map(({ label }) => label)
  const figures = sides.map(({ evaluation }) => allFiguresOf(evaluation))
  const predicted = sides.flatMap(({ file, label }, index) =>
    (figures[index] ?? []).map(row => ({ ...row, profile: label, file })),
  )
  const place = new Map(labels.map((label, index) => [label, index]))
  const inOrder = [...predicted].sort((a, b) => {
    const [first, second] = [caseOf(a), caseOf(b)]
    if (first !== second) return first < second ? -1 : 1
    return (
      (place.get(a.profile) ?? 0) - (place.get(b.profile) ?? 0) || a.air_c - b.air_c || a.humidity_pct - b.humidity_pct
    )
  })
  const scores = comparedScores(sides)
  const judged = scores.filter(({ verdict }) => verdict !== 'baseline' && verdict !== 'too-few').length
  const chance =
    judged < manyComparisons
      ? []
      : [`Of ${judged} comparisons at 95 %, one in twenty looks like a difference where there is none.`]
  const settings = comparedSettings(sides.map(({ evaluation }) => evaluation.profile))
  return {
    profiles: labels,
    predicted: inOrder,
    worst: worstCases(figures, labels),
    expectations: comparedExpectations(sides),
    scores,
    settings,
    notes: [
      ...notes,
      ...roomNote(sides),
      ...constantsNote(sides, settings),
      ...stoppedNotes(sides),
      ...unlikeNotes(scores),
      ...chance,
    ],
  }
}
