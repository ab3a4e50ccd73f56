/** Measured scores of profiles side by side. Scores are compared under one load, in one unit, one direction. */

import { type RunRecord, underText } from '../../bench/run/record.ts'
import { type Better, gainOf } from '../../bench/statistics/gain.ts'
import { deviationOf, meanOf } from '../../bench/statistics/moments.ts'
import type { ScoreComparison, Side } from './types.ts'

interface Group {
  readonly load: string
  readonly unit: string
  readonly better: Better
}

/** The scores of one side in one group, by run in order of time; the date is `undefined` where the run has none. */
type RunScores = readonly { readonly date: string | undefined; readonly values: readonly number[] }[]

function groupsOf(sides: readonly Side[]): readonly Group[] {
  const found = new Map<string, Group>()
  for (const { runs } of sides) {
    for (const run of runs) {
      const load = underText(run)
      for (const { unit, better } of run.scores) found.set(JSON.stringify([load, unit, better]), { load, unit, better })
    }
  }
  const order = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0)
  return [...found].sort(([a], [b]) => order(a, b)).map(([, group]) => group)
}

function scoresOf(runs: readonly RunRecord[], { load, unit, better }: Group): RunScores {
  const own = runs.flatMap(run => {
    const values = run.scores.filter(score => score.unit === unit && score.better === better).map(({ value }) => value)
    return underText(run) === load && values.length > 0 ? [{ date: run.date, values }] : []
  })
  return own.sort((a, b) => ((a.date ?? '') < (b.date ?? '') ? -1 : (a.date ?? '') > (b.date ?? '') ? 1 : 0))
}

/** Scores by day, in order of time; undefined where a run has no date. */
function byDay(runs: RunScores): ReadonlyMap<string, readonly number[]> | undefined {
  const days = new Map<string, number[]>()
  for (const { date, values } of runs) {
    if (date === undefined) return undefined
    const day = date.slice(0, 10)
    days.set(day, [...(days.get(day) ?? []), ...values])
  }
  return days
}

/**
 * On how many days both sides were run, where they were run on the same days, equally often on each, and on two days at
 * least. Then what the day did to both (the room, the paste, an update) drops out of each pair; on a single day there is
 * nothing to drop out.
 */
function pairedDays(first: RunScores, second: RunScores): number | undefined {
  const [a, b] = [byDay(first), byDay(second)]
  if (a === undefined || b === undefined || a.size !== b.size || a.size < 2) return undefined
  return [...a].every(([day, values]) => b.get(day)?.length === values.length) ? a.size : undefined
}

const valuesOf = (runs: RunScores): readonly number[] => runs.flatMap(({ values }) => values)

function baselineOf(group: Group, profile: string, values: readonly number[]): ScoreComparison {
  return {
    ...group,
    profile,
    n: values.length,
    mean: meanOf(values),
    sd: values.length < 2 ? null : deviationOf(values),
    gainPct: null,
    intervalPct: null,
    p: null,
    method: 'none',
    verdict: 'baseline',
    coarse: false,
    against: undefined,
    sittings: 'several',
    days: undefined,
  }
}

/** The scores of every side, load by load; the first side that has any is what the others are compared with. */
export function comparedScores(sides: readonly Side[]): readonly ScoreComparison[] {
  return groupsOf(sides).flatMap(group => {
    const scored = sides.flatMap(({ label, runs }) => {
      const own = scoresOf(runs, group)
      return own.length === 0 ? [] : [{ label, runs: own, values: valuesOf(own) }]
    })
    const [first, ...others] = scored
    if (first === undefined) return []
    return [
      baselineOf(group, first.label, first.values),
      ...others.map(({ label, runs, values }): ScoreComparison => {
        const days = pairedDays(first.runs, runs)
        const pairing = days === undefined ? 'independent' : 'paired'
        const gain = gainOf(first.values, values, { better: group.better, pairing })
        return {
          ...group,
          profile: label,
          n: gain.n,
          mean: gain.mean,
          sd: Number.isNaN(gain.sd) ? null : gain.sd,
          gainPct: gain.gainPct,
          intervalPct: gain.intervalPct ?? null,
          p: gain.p ?? null,
          method: gain.method,
          verdict: gain.verdict,
          coarse: gain.coarse,
          against: { profile: first.label, n: first.values.length },
          sittings: first.runs.length === 1 || runs.length === 1 ? 'one' : 'several',
          days: gain.method === 'paired' ? days : undefined,
        }
      }),
    ]
  })
}
