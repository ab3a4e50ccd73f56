/**
 * The companion of a part: what a fit keeps beside the values, in a file of its own. For each constant that it wrote what was
 * known before the runs, the runs that counted, and the correlations. So a fit starts from before the runs, each time,
 * and counts no run twice; and nobody reads forty lines of correlations in a part that is kept by hand.
 */

import { fromBase, type Unit } from '../../../grammar/units/units.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { type FittedLine, fittedRecord } from '../../semantic/fitted.ts'
import type { Correlation } from '../../semantic/gather.ts'
import { settles } from '../likelihood/constants.ts'
import type { PriorConstant } from '../likelihood/priors.ts'
import type { FittedConstants, WrittenConstant } from './edits.ts'
import { constantKey } from './fit.ts'

/** Two fits of the same runs differ by their walk: within this share of the `±`, and `±` within this factor. */
const SAME_VALUE = 0.5
const SAME_SPREAD = 1.3

/**
 * Whether a fit says what an earlier one has written already: of the same constants from the same runs, and no value moved
 * by more than a walk does. Then nothing is worth writing.
 */
export function saysTheSame({ constants, runs }: FittedConstants, companion: Definition | undefined): boolean {
  if (companion === undefined) return false
  const record = fittedRecord(companion)
  const own = new Map(constants.map(one => [constantKey(one.constant), one]))
  const isSameRuns = record.runs.length === runs.length && record.runs.every(run => runs.includes(run))
  return (
    isSameRuns &&
    record.constants.length > 0 &&
    record.constants.every(({ key, after, before }) => {
      const now = own.get(key)
      if (now === undefined) return false
      const ratio = now.standardUncertainty / after.standardUncertainty
      return (
        // Six digits are written of what was known before.
        Math.abs(now.constant.value / before.value - 1) < 1e-4 &&
        Math.abs(now.value - after.value) <= SAME_VALUE * after.standardUncertainty &&
        ratio < SAME_SPREAD &&
        ratio > 1 / SAME_SPREAD
      )
    })
  )
}

/** Pairs correlated less than this are not worth a line. */
const LEAST_CORRELATION = 0.05

function correlationLines({ constants, correlation }: FittedConstants): string[] {
  const fitted = constants.map(({ constant }) => constant)
  return fitted.flatMap((first, i) =>
    fitted.slice(i + 1).flatMap((second, offset) => {
      if (!settles(first) || !settles(second)) return []
      // Of two coolers: no profile has both.
      if (first.target === 'cooler' && first.owner !== second.owner) return []
      const r = correlation[i]?.[i + 1 + offset] ?? 0
      if (!(Math.abs(r) >= LEAST_CORRELATION)) return []
      const of = second.target === 'cooler' ? ` of ${second.owner}` : ''
      // Rounded to three digits a matrix stays one that some errors can have, but for the very edge.
      const written = Math.max(-0.999, Math.min(0.999, r)).toFixed(3)
      return [`correlated ${first.label} ${second.label}${of} ${written}`]
    }),
  )
}

/** What was known before, to six digits: it is read back, not looked at. */
export function knownText({ value, spread }: Pick<PriorConstant, 'value' | 'spread'>, unit: Unit | undefined): string {
  const symbol = unit === undefined ? '' : ` ${unit.symbol}`
  const figure = (base: number): string =>
    `${Number((unit === undefined ? base : fromBase(base, unit)).toPrecision(6))}${symbol}`
  return `${figure(value)} ± ${figure(value * spread)}`
}

function constantLine({ fitted: { constant }, text, unit }: WrittenConstant): string {
  const { target, owner, label, from } = constant
  const of = target === 'cooler' ? ` of ${owner}` : ''
  return `constant ${label}${of} ${text} from ${knownText(constant, unit)}${from === 'usual' ? ' usual' : ''}`
}

/** The cooler's correlations name it; a part's constants have the part's name only in their keys. */
function keysOf({ first, second, cooler }: Correlation, part: string): readonly string[] {
  return [first, second].map(name => name.replace(' ', ` ${name.startsWith('cooler') ? cooler : part} `))
}

/**
 * The block `fitted` after a fit, as it is written; undefined where nothing is kept.
 * @param before the block so far: what it says of constants that were not fitted stays
 */
export function companionBlock(
  fit: FittedConstants,
  written: readonly WrittenConstant[],
  before: Definition | undefined,
): { readonly text: string; readonly correlations: number } | undefined {
  const { name } = fit.part
  const old = before === undefined ? undefined : fittedRecord(before)
  const isWritable = ({ fitted: { constant } }: WrittenConstant): boolean => constant.word !== 'module'
  const fitted = new Set(fit.constants.map(({ constant }) => constantKey(constant)))
  const textOf = ({ line }: Pick<FittedLine, 'line'>): string =>
    before === undefined ? '' : before.chunk.text.slice(line.statement.start, line.statement.end)
  const kept = (old?.constants ?? []).filter(({ key }) => !fitted.has(key))
  const runs = new Set([...(kept.length > 0 ? (old?.runs ?? []) : []), ...fit.runs])
  const staying = (old?.correlated ?? []).filter(one => keysOf(one, name).every(key => !fitted.has(key)))
  const correlated = [
    ...staying.map(({ first, second, cooler, coefficient }) => {
      const of = cooler === undefined ? '' : ` of ${cooler}`
      return `correlated ${first.replace(/^\w+ /, '')} ${second.replace(/^\w+ /, '')}${of} ${coefficient}`
    }),
    ...correlationLines(fit),
  ]
  const lines = [
    ...kept.map(textOf),
    ...written.filter(isWritable).map(constantLine),
    ...[...runs].map(run => `counted ${run}`),
    ...correlated,
  ]
  if (lines.length === 0) return undefined
  return { text: `fitted ${name} {\n${lines.map(line => `  ${line}\n`).join('')}}`, correlations: correlated.length }
}

/** The head of a companion that is not there yet. */
export const companionHead = `detent 1

# Written by a fit, beside the values that it wrote: what was known before the runs, and how the errors are correlated.
# The next fit starts from here, so that no run counts twice. To start from the values as they stand, take this file away
# and the \`use\` of it.
`
