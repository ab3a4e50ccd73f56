import type { Chunk } from '../../../grammar/tree.ts'
import type { Match, Value } from '../../../grammar/values.ts'
import type { Place } from '../../../grammar/vocabulary/index.ts'
import { entry, nameAfter, text } from '../../semantic/definitions.ts'
import { correlationIn } from '../../semantic/gather.ts'
import { choice, removeFix } from '../support/edits.ts'
import { headPlace } from '../support/place.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check, Found } from '../types.ts'

/** In these tables the first cell names the row: two rows of one name contradict each other. */
const namingCell: Partial<Readonly<Record<Place, string>>> = {
  needs: 'ratio',
  radiator: 'duty',
  fan: 'coolant',
  menu: 'setting',
  also: 'setting',
}

function valueKey(value: Value): string {
  if ('text' in value) return value.text
  return 'value' in value ? String(value.value) : ''
}

/** What a statement may say once in its block; undefined where it may be repeated. */
function keyOf(match: Match): { readonly key: string; readonly shown: string; readonly isRow: boolean } | undefined {
  const { word } = match
  if (word === undefined || !match.sound) return undefined
  if (word.word === 'correlated') {
    const line = correlationIn(match, match.place)
    if (line === undefined) return undefined
    const names = [line.first, line.second]
    const shown = ['correlated', ...names.map(name => name.replace(/^\w+ /, ''))].join(' ')
    return { key: `${names.sort().join(' ')} ${line.cooler}`, shown, isRow: false }
  }
  const naming = word.word === '' ? namingCell[match.place] : word.word === 'set' ? 'ratio' : undefined
  const cell = naming === undefined ? undefined : match.values.get(naming)
  // The key is the word with the name behind it.
  const after = nameAfter(match)
  const name = [word.word, ...(after === undefined ? [] : [after])].join(' ')
  if (cell !== undefined) return { key: `${name} ${valueKey(cell)}`, shown: valueKey(cell), isRow: true }
  if (word.word === 'group') {
    const shown = `group ${text(match, 'name')?.text}`
    return { key: shown, shown, isRow: false }
  }
  return word.word === '' || word.many === true ? undefined : { key: name, shown: name, isRow: false }
}

/** Key words of a block that stand twice, the ones that do not count; and rows whose name stands above already. */
function* inBlock(chunk: Chunk, statements: readonly Match[]): Iterable<Found> {
  const seen = new Map<string, Match>()
  for (const match of statements) {
    const own = keyOf(match)
    if (own === undefined) continue
    const before = seen.get(own.key)
    seen.set(own.key, match)
    if (before === undefined) continue
    if (own.isRow) {
      const cell = match.slots.find(({ slot }) => slot.slot !== 'part-name')
      const shown =
        cell === undefined
          ? own.shown
          : chunk.text.slice(match.statement.items[cell.from]?.start, match.statement.items[cell.to - 1]?.end)
      yield {
        at: headPlace({ chunk }, match),
        // No law goes through two values at one duty, so nothing can be predicted with such a radiator.
        ...(match.place === 'radiator' ? { severity: 'error' as const } : {}),
        message: `Two rows for \`${shown}\`: there is one above. Two values for one point leave open which was meant: remove one of them.`,
        fixes: [
          choice(removeFix('Remove this row', chunk, match.statement)),
          choice(removeFix('Remove the row above', chunk, before.statement)),
        ],
        related: [{ at: headPlace({ chunk }, before), message: 'The row above' }],
      }
    } else {
      yield {
        at: headPlace({ chunk }, before),
        message: `\`${own.shown}\` is given twice: again below, and the last one counts. This line changes nothing: remove the one you do not mean.`,
        fixes: [removeFix('Remove this one, which does not count', chunk, before.statement)],
        related: [{ at: headPlace({ chunk }, match), message: 'The one that counts' }],
      }
    }
  }
}

/** A load says how many cores it keeps busy altogether, or how many of each group: not both. */
function* bothForms(chunk: Chunk, load: Match): Iterable<Found> {
  const all = entry(load, 'cores')
  const named = load.children.find(line => line.sound && line.word?.word === 'cores' && nameAfter(line) !== undefined)
  if (all === undefined || named === undefined) return
  const group = nameAfter(named)
  yield {
    at: headPlace({ chunk }, all),
    message: `\`cores\` is given for the load as a whole and for \`${group}\`: the lines with a name count, and this one changes nothing. Remove it, or remove those with a name.`,
    fixes: [removeFix('Remove this one, which does not count', chunk, all.statement)],
    related: [{ at: headPlace({ chunk }, named), message: 'One that counts' }],
  }
}

export const duplicateKey: Check = {
  code: 'duplicate-key',
  severity: 'warning',
  title: 'A key given twice in one block',
  page: {
    what: 'A key that a block can hold once, given again, for one group of cores or all; `cores` of a load both with and without names of groups; two rows of one table, or two `set` lines, for the same point; and a file used twice.',
    why: 'The last line of a key counts. Edit the other one, and nothing changes at the bench.',
    remedy: 'Keep the line you mean. The quick fix removes the one that does not count.',
    example: 'limits {\n  die 95 °C\n  current 180 A\n  die 90 °C\n}',
  },
  *inChunk(chunk) {
    for (const { match } of matchesOfChunk(chunk)) {
      yield* inBlock(chunk, match.children)
      if (match.word?.block === 'load') yield* bothForms(chunk, match)
    }
  },
  *inFile({ view }) {
    const versions = view.document.versions.filter(({ match }) => match.sound)
    for (const { chunk, match } of versions.slice(1)) {
      yield {
        at: headPlace({ chunk }, match),
        message: 'Second version line: the file already states its version above. Remove this line.',
        fixes: [removeFix('Remove this line', chunk, match.statement)],
      }
    }
    const used = new Set<string>()
    for (const { use, uri } of view.uses) {
      if (uri === undefined) continue
      if (used.has(uri)) {
        const statement = matchesOfChunk(use.chunk).find(
          ({ match }) => match.statement.start <= use.start && match.statement.end >= use.end,
        )
        yield {
          at: { chunk: use.chunk, start: use.start, end: use.end },
          message: 'Used twice: this file is already used above. The line changes nothing: remove it.',
          ...(statement ? { fixes: [removeFix('Remove this line', use.chunk, statement.match.statement)] } : {}),
        }
      }
      used.add(uri)
    }
  },
}
