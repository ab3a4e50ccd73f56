/** What a fit has left beside the values of a part: where they came from, the runs in them, how their errors are correlated. */

import { onceFor } from '../../grammar/once.ts'
import type { Match } from '../../grammar/values.ts'
import { type Definition, entries, pureNumber, quantity, text } from './definitions.ts'
import { type Correlation, correlationIn } from './gather.ts'

/** In base units. */
interface Known {
  readonly value: number
  readonly standardUncertainty: number
}

/** A constant that a fit wrote. */
export interface FittedLine {
  /** `part NAME switching`, `cooler NAME radiator 20 %`. */
  readonly key: string
  /** As the fit wrote it. */
  readonly after: Known
  /** As it was known before any run counted. */
  readonly before: Known
  /** Nothing was stated then. */
  readonly wasUsual: boolean
  readonly line: Match
}

export interface FittedRecord {
  readonly constants: readonly FittedLine[]
  /** The runs that the values contain. */
  readonly runs: readonly string[]
  readonly correlated: readonly Correlation[]
}

function knownIn(line: Match, name: string): Known | undefined {
  const found = quantity(line, name) ?? pureNumber(line, name)
  if (found?.uncertainty === undefined || !(found.value > 0)) return undefined
  return { value: found.value, standardUncertainty: found.uncertainty }
}

export const fittedRecord = onceFor((definition: Definition): FittedRecord => {
  const { match, name } = definition
  const constants = entries(match, 'constant').flatMap((line): FittedLine[] => {
    const [word, cooler, duty] = [text(line, 'constant'), text(line, 'cooler'), quantity(line, 'duty')]
    const group = text(line, 'group')
    const [after, before] = [knownIn(line, 'value'), knownIn(line, 'before')]
    if (word === undefined || after === undefined || before === undefined) return []
    const owner = cooler === undefined ? `part ${name}` : `cooler ${cooler.text}`
    const key = `${owner} ${word.text}${duty === undefined ? '' : ` ${duty.value} %`}${group === undefined ? '' : ` of ${group.text}`}`
    return [{ key, after, before, wasUsual: text(line, 'prior') !== undefined, line }]
  })
  return {
    constants,
    runs: entries(match, 'counted').flatMap(line => text(line, 'run')?.text ?? []),
    correlated: entries(match, 'correlated').flatMap(line => correlationIn(line, 'fitted') ?? []),
  }
})
