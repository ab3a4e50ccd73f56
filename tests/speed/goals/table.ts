/** Rows of the two tables, as Markdown and as JSON. */

import { type Measured, ratioOf, type Spread } from './measure.ts'

export interface Row {
  readonly name: string
  /** What the goal is about. */
  readonly value: Spread
  readonly goal: number
  readonly unit: string
  readonly better: 'less' | 'more'
  /** What else was measured, in words. */
  readonly beside: string
}

/** How long both take in processor time decides: other processes of the machine are no part of it. */
export function compared(name: string, ours: Measured | undefined, theirs: Measured | undefined, goal: number): Row {
  if (ours === undefined || theirs === undefined) throw new Error('two works are compared')
  const wall = ratioOf(ours.wallMs, theirs.wallMs).median
  const figures = `${figure(ours.cpuMs.median)} against ${figure(theirs.cpuMs.median)} ms`
  return {
    name,
    value: ratioOf(ours.cpuMs, theirs.cpuMs),
    goal,
    unit: 'times',
    better: 'less',
    beside: `${figures}; by the clock ${figure(wall)} times; ${ours.rounds} rounds`,
  }
}

/** Three digits. */
export function figure(value: number): string {
  if (Math.abs(value) >= 1000) return Math.round(value).toLocaleString('en')
  return Math.abs(value) >= 100 ? value.toFixed(0) : String(Number(value.toPrecision(value >= 10 ? 3 : 2)))
}

export const isMet = ({ value, goal, better }: Row): boolean =>
  better === 'less' ? value.median <= goal : value.median >= goal

export function markdownHead(what: string): string {
  return `| ${what} | median | middle half | goal | | beside |\n|---|--:|--:|--:|---|---|`
}

export function markdownRow(row: Row): string {
  const { name, value, goal, unit, beside } = row
  const half = `${figure(value.low)} to ${figure(value.high)}`
  const verdict = isMet(row) ? 'met' : 'not met'
  return `| ${name} | ${figure(value.median)} ${unit} | ${half} | ${figure(goal)} | ${verdict} | ${beside} |`
}
