/** What there is to say of a log while it grows: where it settles, whether it leaves its prediction, what limit is near. */

import { onceFor } from '../../../grammar/once.ts'
import { bandOf, type ComparedRun } from '../../bench/run/compared.ts'
import type { RunPrediction } from '../../bench/run/prediction.ts'
import { hasSettled } from '../../bench/steady/settled-log.ts'
import type { SeriesPoint } from '../../charts/thin.ts'
import { dieCeilingC } from '../../model/ratio.ts'
import { fixed } from '../../wording/figures.ts'
import { waitText } from '../../wording/times.ts'

/** Carrying the constants' uncertainty may take a tenth of a second. Evicted with the prediction. */
const bands = onceFor((_: RunPrediction): { bandK?: number | undefined } => ({}))

/** The latest figure is the mean of so many rows: one row alone is noise. */
const LATEST = 5
/** A die that is nearer to its limit than this is worth a word, in K. */
const NEAR_LIMIT_K = 3

/** A level that is known less well than this says nothing to a person who waits, in K. */
const VAGUE_K = 4

/** `settles at 71 ± 1 °C in about 6 min`; undefined where the log does not say it yet, or stands still already. */
export function settlingText({ settled }: ComparedRun): string | undefined {
  const die = settled?.figures.die
  if (settled?.toGoK === undefined || die === undefined || hasSettled(settled)) return undefined
  const { value, standardUncertainty } = die
  const waitS = standardUncertainty > VAGUE_K ? undefined : settled.secondsToSettle()
  if (waitS === undefined) return undefined
  return `settles at ${fixed(value, 0)} ± ${Math.max(1, Math.ceil(standardUncertainty))} °C in about ${waitText(waitS)}`
}

/** A calm notice where the die leaves the predicted band, or nears its limit; undefined where neither is so. */
export function noticeText(
  run: ComparedRun,
  measured: readonly SeriesPoint[],
  predictedAt: (timeS: number) => number | undefined,
): string | undefined {
  const { predicted } = run
  const bench = predicted?.evaluation.input.bench
  const latest = measured.slice(-LATEST)
  const last = latest.at(-1)
  if (predicted === undefined || bench === undefined || last === undefined) return undefined
  const dieC = latest.reduce((sum, { value }) => sum + value, 0) / latest.length
  const leftK = dieCeilingC(bench.part, bench.profile) - dieC
  if (leftK < NEAR_LIMIT_K)
    return leftK > 0
      ? `Die ${fixed(dieC, 1)} °C, ${fixed(leftK, 1)} K below its limit.`
      : `Die ${fixed(dieC, 1)} °C, at its limit.`
  const expected = predictedAt(last.at)
  if (expected === undefined) return undefined
  const kept = bands(predicted)
  if (!('bandK' in kept)) kept.bandK = bandOf('die', dieC, predicted)
  const off = dieC - expected
  if (kept.bandK === undefined || Math.abs(off) <= kept.bandK) return undefined
  return `Die ${fixed(dieC, 1)} °C, ${fixed(Math.abs(off), 1)} K ${off > 0 ? 'above' : 'below'} what is predicted, which is good to ± ${fixed(kept.bandK, 1)} K.`
}
