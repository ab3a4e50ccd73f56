/** Steady stretches looked for again with fitted constants. */

import { settle } from '../../model/settle.ts'
import type { Cooler, Part } from '../../model/types.ts'
import type { ComparedRun } from '../run/compared.ts'
import { measuredRun } from '../run/measured.ts'
import { slowestTimeConstantS } from '../steady/time-constant.ts'
import type { FitResult } from './fit.ts'
import { withValues } from './parameters.ts'

/** A time constant that is off by less than this moves a mean by far less than its uncertainty. */
const ALIKE = 0.0005

/**
 * Runs with the steady stretches that the fitted constants ask for: how slow the bench is depends on them, and with it
 * where a stretch may begin. Undefined where that changes none.
 */
export function withFittedWindows(
  { parameters }: FitResult,
  runs: readonly ComparedRun[],
): readonly ComparedRun[] | undefined {
  const fitted = <T extends Part | Cooler>(target: T, kind: 'part' | 'cooler', name: string): T => {
    const own = parameters.filter(one => one.fitted && one.parameter.target === kind && one.parameter.owner === name)
    const values = own.map(({ value }) => value)
    return withValues(
      target,
      own.map(({ parameter }) => parameter),
      values,
    )
  }
  let changed = false
  const found = runs.map(run => {
    const { record, log, predicted, timeConstantS } = run
    const { bench } = predicted?.evaluation.input ?? {}
    const { part, cooler } = predicted?.evaluation.profile ?? {}
    if (predicted === undefined || bench === undefined || part === undefined || cooler === undefined) return run
    if (log?.state !== 'read' || predicted.load.load.kind !== 'work') return run
    const own = {
      ...bench,
      part: fitted(bench.part, 'part', part.name),
      cooler: fitted(bench.cooler, 'cooler', cooler.name),
    }
    const slow = slowestTimeConstantS(own, settle(own, predicted.load.load, predicted.corner) ?? undefined)
    if (Math.abs(slow / timeConstantS - 1) < ALIKE) return run
    changed = true
    const measured = measuredRun(record, log, { timeConstantS: slow, load: 'work' }, run.odd)
    return Object.assign(Object.create(run) as ComparedRun, measured)
  })
  return changed ? found : undefined
}
