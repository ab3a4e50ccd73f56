/** What a run's record says of itself, whatever its log. */

import { canSeparate } from '../../bench/log/mapping.ts'
import type { ComparedRun } from '../../bench/run/compared.ts'
import { madeUnder, underText } from '../../bench/run/record.ts'
import { figureText } from '../../bench/run/wording.ts'
import { entries, entry, text } from '../../semantic/definitions.ts'
import { headPlace, namePlace, placeIn } from '../support/place.ts'
import type { Found } from '../types.ts'

export function* inRecord({ record, settings, cannot }: ComparedRun): Iterable<Found> {
  const { definition, load } = record
  const under = madeUnder(record)
  // Where no revision can be read at all, as in an editor that is a page, nothing is said.
  if (settings.from === 'not-had' && !settings.isNowhere) {
    const statement = entry(definition.match, 'revision')?.statement
    yield {
      at: statement === undefined ? namePlace(definition) : placeIn(definition, statement),
      ...under,
      severity: 'information',
      message: `The revision cannot be read: ${settings.why}. This run is compared with what the profile sets now, and counts as made with it. Name a revision of this file's git repository, or leave it out if nothing has changed since.`,
    }
  }
  if (load === 'off' && cannot !== undefined) {
    yield {
      at: namePlace(definition),
      ...under,
      severity: 'information',
      message: `Nothing is predicted with the machine off: ${cannot}. This run is compared with nothing.`,
    }
  }
  const table = entry(definition.match, 'measured')
  if (table !== undefined && table.children.length === 0) {
    yield {
      at: headPlace(definition, table),
      ...under,
      message:
        'No figure here, so this run says nothing. Write down what you read off, such as `power 182 W`, or remove the block.',
    }
  }
  if (table !== undefined && record.course !== undefined && table.children.length > 0) {
    yield {
      at: headPlace(definition, table),
      ...under,
      message:
        'Figures read off by hand say nothing of a course, in which nothing stays as it is. Give its log, or make this a run under the load that was at work.',
    }
  }
  const stopped = entry(definition.match, 'stopped')
  if (stopped !== undefined && entry(definition.match, 'held') !== undefined) {
    const message =
      'Held and stopped: this run says both, and `stopped` counts. Remove one of them, or make it two runs.'
    yield { at: placeIn(definition, stopped.statement), ...under, message }
  }
  const log = entry(definition.match, 'log')
  const delimiter = log && entry(log, 'delimiter')
  const mark = delimiter && text(delimiter, 'value')
  if (mark?.kind === 'string' && !canSeparate(mark.text)) {
    const message = `"${mark.text}" cannot separate cells: a delimiter is one character that stands in no cell. The log is read with what its first lines show. Write one such as \`pipe\` or \`"^"\`.`
    yield { at: placeIn(definition, mark), ...under, message }
  }
  const kinds = new Set<string>()
  for (const { kind, span } of record.log?.columns ?? []) {
    if (kinds.has(kind)) {
      const message = `Another column already gives the ${kind === 'time' ? kind : figureText(kind)}. Only one can count: remove the other, or say what this one is.`
      yield { at: placeIn(definition, span), ...under, message }
    }
    kinds.add(kind)
  }
}

/** Scores in one unit under one load where one run says that more is better, and another that less is. */
export function* contraryScores(runs: readonly ComparedRun[]): Iterable<Found> {
  const known = new Map<string, { readonly better: string; readonly run: string }>()
  for (const { record } of runs) {
    const { definition, name } = record
    const load = underText(record)
    for (const match of entries(definition.match, 'score')) {
      const [unit, better] = [text(match, 'unit'), text(match, 'better')]
      if (unit === undefined || better === undefined) continue
      const key = JSON.stringify([load, unit.text])
      const before = known.get(key)
      if (before === undefined) known.set(key, { better: better.text, run: name })
      else if (before.better !== better.text) {
        const edit = { ...placeIn(definition, better), text: before.better }
        yield {
          at: placeIn(definition, better),
          ...madeUnder(record),
          message: `Scores contradict each other: ${better.text} is better for "${unit.text}" here, ${before.better} in \`${before.run}\` under the same load. They are not compared: make them the same, or give the unit another name.`,
          fixes: [{ title: `Write \`${before.better}\``, edits: [edit] }],
        }
      }
    }
  }
}
