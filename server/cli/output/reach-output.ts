/** What it would take, for a terminal and for scripts. */

import { type Reach, type ReachAnswer, type ReachChange, reachWords as words } from '../../service.ts'
import { headText, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { widthOf, wrapped } from './table.ts'

/** Where the value of a change stands, or where it would be written. */
export type PlaceOf = (change: ReachChange) => { readonly file: string; readonly line: number }

/** @param at file and line of the profile's name */
export function reachText(reach: Reach, at: string, placeOf: PlaceOf, io: Io): string {
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  const answerText = (answer: ReachAnswer): string => {
    const places = answer.changes.map(change => {
      const { file, line } = placeOf(change)
      return `${file}:${line}`
    })
    return (
      wrapped(words.changesText(answer), '  ', width) +
      wrapped(`${words.outcomeText(answer, reach.now.unit)}; ${[...new Set(places)].join(', ')}`, '      ', width)
    )
  }
  const isBench = ({ changes }: ReachAnswer): boolean => changes.some(change => change.isBench)
  const part = (title: string, answers: readonly ReachAnswer[]): string =>
    answers.length === 0 ? '' : `\n${paint('bold', title)}\n${answers.map(answerText).join('')}`
  const caution = words.cautionText(reach)
  return [
    headText(paint, `profile ${reach.profile}`, at),
    wrapped(words.nowText(reach), '', width),
    wrapped(words.verdictText(reach), '', width),
    part(
      'Settings',
      reach.answers.filter(one => !isBench(one)),
    ),
    part('Changes of the bench', reach.answers.filter(isBench)),
    part('Pairs of settings', reach.pairs),
    caution === undefined ? '' : `\n${wrapped(caution, '', width)}`,
  ].join('')
}

/** Numbers are full doubles; every key is always there, but `looked`, which tells how far pairs were looked for. */
export function reachJson(reach: Reach, placeOf: PlaceOf): string {
  const changeOf = (change: ReachChange): object => {
    const { kind, from, to, unit, asks } = change
    return { kind, ...placeOf(change), from, to, unit, asks }
  }
  const outcomeOf = ({ predicted, costs }: ReachAnswer): object => ({
    predicted,
    costs: costs.map(({ load, clockMhz }) => ({ load, clock_mhz: clockMhz })),
  })
  const { profile, expectation, now, answers, pairs, looked } = reach
  const value = {
    version: 1,
    profile,
    expectation,
    now,
    answers: answers.flatMap(answer =>
      answer.changes.map(change => ({ ...changeOf(change), bench: change.isBench, ...outcomeOf(answer) })),
    ),
    pairs: pairs.map(pair => ({ changes: pair.changes.map(changeOf), asks: pair.asks, ...outcomeOf(pair) })),
    ...(looked === undefined ? {} : { looked: { asks: looked.asks, cut: looked.isCut } }),
  }
  return `${JSON.stringify(value, undefined, 2)}\n`
}
