/** What `compare` prints for scripts. */

import type { Comparison } from '../../features/compare/types.ts'

/** A comparison for scripts. Numbers are full doubles; every key is always there, and what does not exist is null. */
export function compareJson(comparison: Comparison, show: 'all' | 'different'): string {
  const { profiles, predicted, expectations, scores, settings } = comparison
  const value = {
    version: 1,
    profiles,
    predicted: predicted.map(({ load, profile, file, ...figures }) => ({ load, profile, file, ...figures })),
    expectations,
    scores: scores.map(score => ({
      load: score.load,
      unit: score.unit,
      better: score.better,
      profile: score.profile,
      n: score.n,
      mean: score.mean,
      sd: score.sd,
      gain_pct: score.gainPct,
      interval_pct: score.intervalPct,
      p: score.p,
      method: score.method,
      verdict: score.verdict,
    })),
    settings: settings.filter(({ isSame }) => show === 'all' || !isSame).map(({ key, values }) => ({ key, values })),
  }
  return `${JSON.stringify(value, undefined, 2)}\n`
}
