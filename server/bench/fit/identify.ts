/**
 * Which parameters a set of data can tell apart. From the Jacobian alone, its columns brought to length 1, so that
 * units play no part: the multiple correlation R of a column with all the others (R² = 1 − 1/VIF), and the direction
 * of the smallest singular value, which names the parameters that trade against each other (D. A. Belsley, E. Kuh and
 * R. E. Welsch, "Regression Diagnostics", Wiley 1980; cited from memory).
 *
 * A high correlation alone does no harm where the data are precise, as in a line fitted far from its origin. So a
 * parameter counts as inseparable only if R is above 0.99 and its standard uncertainty is above a quarter of its
 * value; or if nothing in the data depends on it; or if its uncertainty is above its value. Those limits are judgement.
 */

import { columnNorms, decompose } from '../statistics/least-squares.ts'

const CORRELATION_LIMIT = 0.99
const SHARE_LIMIT = 0.25
/** A singular value below this share of the largest is zero up to the errors of the derivatives. */
const SINGULAR = 1e-7

export type Undetermined =
  /** No residual depends on it. */
  | { readonly reason: 'no-effect'; readonly index: number }
  /** Only a combination with these others is known. */
  | {
      readonly reason: 'together'
      readonly index: number
      readonly others: readonly number[]
      readonly correlation: number
    }
  /** It stands alone, but the data say less than its own value. */
  | { readonly reason: 'too-little'; readonly index: number; readonly share: number }

export interface Judged {
  readonly rows: readonly ArrayLike<number>[]
  /** Values of the parameters, in order of importance: of those that trade against each other the last is given up. */
  readonly values: readonly number[]
  /** Spread of the residuals; 1 where it cannot be estimated. */
  readonly residualSd: number
}

/** The parameter that should be left alone first; undefined where all are separable. */
export function undetermined({ rows, values, residualSd }: Judged): Undetermined | undefined {
  const count = values.length
  if (count === 0) return undefined
  const raw = Array.from({ length: count }, (_, column) => rows.some(row => (row[column] as number) !== 0))
  const silent = raw.lastIndexOf(false)
  if (silent >= 0) return { reason: 'no-effect', index: silent }
  const norms = columnNorms(rows, count)
  const { singular, right } = decompose(rows, norms)
  const largest = Math.max(...singular)
  const inflation = values.map((_, index) =>
    singular.reduce(
      (sum, value, k) => sum + (right[k]?.[index] as number) ** 2 / Math.max(value, largest * SINGULAR * 1e-3) ** 2,
      0,
    ),
  )
  const shares = values.map(
    (value, index) =>
      (residualSd * Math.sqrt(inflation[index] as number)) / ((norms[index] as number) * Math.abs(value) || 1e-300),
  )
  const silentAxes = singular.flatMap((value, k) => (value < largest * SINGULAR ? [k] : []))
  const isSingular = silentAxes.length > 0
  // Where several directions are silent any turn of them is as good: they count together.
  const weakest = isSingular ? silentAxes : [singular.indexOf(Math.min(...singular))]
  const correlated = (index: number): number => Math.sqrt(Math.max(0, 1 - 1 / (inflation[index] as number)))
  const offends = (index: number): boolean =>
    correlated(index) > CORRELATION_LIMIT && (shares[index] as number) > SHARE_LIMIT
  if (isSingular || values.some((_, index) => offends(index))) {
    const weights = values.map((_, index) => Math.hypot(...weakest.map(k => right[k]?.[index] as number)))
    const strong = Math.max(...weights) * 0.2
    const group = weights.flatMap((weight, index) => (weight >= strong ? [index] : []))
    const offenders = group.filter(index => isSingular || offends(index))
    const index = (offenders.length > 0 ? offenders : group).at(-1) as number
    const others = group.filter(other => other !== index)
    return { reason: 'together', index, others, correlation: correlated(index) }
  }
  const worst = shares.reduce((found, share, index) => (share > (shares[found] as number) ? index : found), 0)
  const share = shares[worst] as number
  return share > 1 ? { reason: 'too-little', index: worst, share } : undefined
}
