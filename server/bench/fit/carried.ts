/**
 * Several parts may share a cooler, and each fit writes its constants. What the runs of one part say of them is kept in that
 * part's companion, as the step from what was known before to what was written; it counts while the value that was written
 * stands. Where the fit of another part writes a new value, the companions of the others follow: the new value less their
 * own step is what was known before their runs. So no fit counts what its own runs have said already.
 */
import type { Unit } from '../../../grammar/units/units.ts'
import { type Definition, pureNumber, quantity, text } from '../../semantic/definitions.ts'
import { type FittedLine, fittedRecord } from '../../semantic/fitted.ts'
import { knownText } from './companion.ts'
import type { FitEdit, WrittenConstant } from './edits.ts'
import { constantKey } from './fit.ts'
import { isWritten } from './remembered.ts'

/** Median, and the standard deviation of the logarithm. */
interface Spread {
  readonly value: number
  readonly spread: number
}

/** Of what was known before at least this share is left, whatever the scatter of a walk; engineering judgement. */
const LEAST_SHARE = 0.05

/**
 * What is known without one step: normal laws of the logarithm are divided by taking precisions off. Its errors count as
 * independent of those of the other constants.
 */
function without(whole: Spread, after: Spread, before: Spread): Spread {
  const [own, late, early] = [whole, after, before].map(one => one.spread ** -2) as [number, number, number]
  const precision = own - late + early
  if (precision < LEAST_SHARE * early) return { value: before.value, spread: before.spread / Math.sqrt(LEAST_SHARE) }
  const sum = own * Math.log(whole.value) - late * Math.log(after.value) + early * Math.log(before.value)
  return { value: Math.exp(sum / precision), spread: 1 / Math.sqrt(precision) }
}

const spreadOf = ({ value, standardUncertainty }: FittedLine['after']): Spread => {
  return { value, spread: standardUncertainty / value }
}

/**
 * The edits that keep other parts' companions in step.
 * @param companions of all other parts
 * @param written what this fit writes
 * @param stated by key: what the files state now
 */
export function carriedOver(
  companions: readonly Definition[],
  written: readonly WrittenConstant[],
  stated: ReadonlyMap<string, Spread>,
): readonly FitEdit[] {
  const ofCoolers = written.filter(({ fitted }) => fitted.constant.target === 'cooler')
  return companions.flatMap(companion => {
    const lines = new Map(fittedRecord(companion).constants.map(line => [line.key, line]))
    return ofCoolers.flatMap(({ fitted, text: now, unit }): FitEdit[] => {
      const key = constantKey(fitted.constant)
      const [line, before] = [lines.get(key), stated.get(key)]
      // What somebody has changed since holds nothing of that fit.
      if (line === undefined || before === undefined || !isWritten(before, line)) return []
      const whole = { value: fitted.value, spread: fitted.standardUncertainty / fitted.value }
      return editsOf(companion, line, now, without(whole, spreadOf(line.after), spreadOf(line.before)), unit)
    })
  })
}

function editsOf(
  { chunk }: Definition,
  { line }: FittedLine,
  now: string,
  known: Spread,
  unit: Unit | undefined,
): FitEdit[] {
  const [value, before] = ['value', 'before'].map(name => quantity(line, name) ?? pureNumber(line, name))
  if (value === undefined || before === undefined) return []
  return [
    { chunk, start: value.start, end: value.end, text: now, constants: 1 },
    // With what the other runs say it is the usual value no more.
    {
      chunk,
      start: before.start,
      end: text(line, 'prior')?.end ?? before.end,
      text: knownText(known, unit),
      constants: 0,
    },
  ]
}
