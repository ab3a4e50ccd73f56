/** Completion from the vocabulary, and from the names that the file can see. */

import type { TextEdit } from '../../../grammar/printer.ts'
import type { Item } from '../../../grammar/tree.ts'
import { dimensionName, findUnit, unitsOf } from '../../../grammar/units/units.ts'
import {
  type DefinitionKind,
  findWord,
  languageVersion,
  menuSettings,
  type Word,
  wordsIn,
} from '../../../grammar/vocabulary/index.ts'
import { checks, findCheck } from '../../checks/registry.ts'
import type { Judge } from '../../semantic/expectations.ts'
import type { FileView, Workspace } from '../../workspace/workspace.ts'
import { definitionHover } from '../facts/definition.ts'
import { wholeOf } from '../facts/told.ts'
import { paragraphs } from '../markdown.ts'
import { addUse, usePath } from '../uses.ts'
import { wordText } from '../word-text.ts'
import { builtInLoadsAt, fitsBase, fitsBench, isFirst, wordsBeside } from './fitting.ts'
import { groupNames, hasUnsaidName } from './part-names.ts'
import { typingPlace } from './place.ts'
import { insertionOf } from './snippet.ts'
import { filterTextOf } from './spellings.ts'
import { stepRatio, tableRow } from './table.ts'
import { wholeDefinitions } from './template.ts'
import type { Completion, CompletionTopic, CompletionTrigger, Context } from './types.ts'
import { type Wanted, wantedNext } from './wanted.ts'

function namesOf(view: FileView, kind: DefinitionKind): readonly string[] {
  return view.scope.all(kind).map(definition => definition.name)
}

/** Key words that may still stand in the block: required ones first, carried remarks last. */
function keyWords(context: Context): readonly Completion[] {
  const { view, at, start, end } = context
  const present = wordsBeside(view, at)
  const coolerKind = view.document.definitions.find(definition => definition.match === at.around[0])?.coolerKind
  const fits = (word: Word): boolean =>
    word.word !== '' &&
    (word.many === true || !present.has(word.word) || hasUnsaidName(context, word)) &&
    (word.word !== 'detent' || isFirst(context)) &&
    (word.kinds === undefined || coolerKind === undefined || word.kinds.includes(coolerKind))
  return wordsIn(at.place)
    .filter(fits)
    .map((word): Completion => {
      const { text, snippet } = insertionOf(word, at.place, kind => namesOf(view, kind))
      const everywhere = word.in.length > 5
      return {
        label: word.word,
        kind: word.block === undefined ? 'key' : 'block',
        detail: word.means,
        start,
        end,
        text,
        snippet,
        rank: everywhere ? 4 : word.required === true ? 1 : 2,
        topic: { about: 'word', place: at.place, word: word.word },
      }
    })
}

function names(context: Context, kind: DefinitionKind): readonly Completion[] {
  const { workspace, view, start, end } = context
  const own = view.document
  const builtIn = kind === 'load' ? builtInLoadsAt(context) : []
  const seen = new Set(builtIn)
  const items: Completion[] = builtIn.map(name => ({
    label: name,
    kind: 'name',
    detail: 'built-in load',
    start,
    end,
    text: name,
    rank: 3,
  }))
  const add = (uri: string, name: string, rank: number, detail: string, more?: readonly TextEdit[]): void => {
    if (seen.has(name) || (kind === 'profile' && !fitsBase(context, name))) return
    seen.add(name)
    const topic: CompletionTopic = { about: 'name', kind, name, uri, from: own.uri }
    items.push({
      label: name,
      kind: 'name',
      detail,
      start,
      end,
      text: name,
      rank,
      topic,
      ...(more === undefined ? {} : { more }),
    })
  }
  for (const document of view.documents) {
    for (const definition of document.definitions) {
      if (definition.kind === kind) add(document.uri, definition.name, document === own ? 1 : 2, kind)
    }
  }
  for (const document of workspace.documents()) {
    const path = view.documents.includes(document) ? undefined : usePath(own.uri, document.uri)
    if (path === undefined) continue
    for (const definition of document.definitions) {
      if (definition.kind === kind)
        add(document.uri, definition.name, 4, `${kind}, adds use "${path}"`, [addUse(own, path)])
    }
  }
  return items
}

function wantedItems(context: Context, wanted: Wanted): readonly Completion[] {
  const { view, at, start, end } = context
  const typed = view.document.source.text.slice(start, end)
  const word = (label: string, kind: Completion['kind'], rank: number, detail?: string): Completion => {
    const filterText = filterTextOf(label, typed)
    return {
      label,
      kind,
      start,
      end,
      text: label,
      rank,
      ...(filterText === undefined ? {} : { filterText }),
      ...(detail === undefined ? {} : { detail }),
    }
  }
  switch (wanted.want) {
    case 'word':
      if (!fitsBench(context, wanted.word)) return []
      return [word(wanted.word, 'word', wanted.word === '±' || wanted.word === 'core' ? 5 : 1)]
    case 'unit': {
      const touches = at.before.at(-1)?.end === at.typed.start
      return unitsOf(wanted.dimension).map((unit, index) => ({
        ...word(unit.symbol, 'unit', index, dimensionName[wanted.dimension]),
        text: touches && unit.symbol !== 'x' ? ` ${unit.symbol}` : unit.symbol,
      }))
    }
    case 'name':
      return names(context, wanted.kind)
    case 'part-name':
      return groupNames(context, wanted.of).map(({ name, of, part }) => word(name, 'name', 1, `${of} of ${part}`))
    case 'compare':
      return [word('>=', 'word', 1, 'at least'), word('<=', 'word', 2, 'at most')]
    case 'sign':
      // A sign is as quickly typed as chosen; a list that is open would take the keys that follow it.
      if (context.trigger === 'space') return []
      return [...wanted.signs].map(sign => word(sign, 'word', 1))
    case 'code':
      return checks.map(check => ({
        ...word(check.code, 'check', 1, check.title),
        topic: { about: 'check', code: check.code },
      }))
    case 'setting':
      return menuSettings.map(setting => word(setting, 'word', 1))
    default:
      return []
  }
}

/** Paths of the loaded files, for a `use` line: in the quotes that are there, else with quotes of their own. */
function paths(context: Context): readonly Completion[] {
  const { workspace, view, at } = context
  const string = at.inString
  const isClosed = string === undefined || /^".*"$/.test(string.text)
  const start = string === undefined ? context.start : at.base + string.start + 1
  const end = string === undefined ? context.end : at.base + string.end - (isClosed ? 1 : 0)
  const used = new Set(view.uses.map(use => use.uri))
  return [...workspace.documents()].flatMap((document): Completion[] => {
    const path =
      document === view.document || used.has(document.uri) ? undefined : usePath(view.document.uri, document.uri)
    if (path === undefined) return []
    const text = string === undefined ? `"${path}"` : isClosed ? path : `${path}"`
    return [{ label: path, kind: 'file', start, end, text, rank: 1 }]
  })
}

/** The one number that the version line can have. */
function version({ start, end }: Context): Completion {
  const text = `${languageVersion}`
  return { label: text, kind: 'word', detail: 'the version of the language', start, end, text, rank: 1 }
}

/** What a `+` at the cursor begins where it is no sign: an uncertainty. */
function uncertaintyAt(context: Context, word: Word, items: readonly Item[]): readonly Completion[] {
  const { at } = context
  const { plus } = at
  if (plus === undefined) return []
  const before = items.filter(item => item.end <= plus.start)
  const wanted = wantedNext(word.forms, before).filter(one => one.want === 'word' && one.word === '±')
  return wanted.flatMap(one => wantedItems({ ...context, start: at.base + plus.start }, one))
}

/**
 * What may stand at this offset. Nothing in comments, in free text, where a line already has all it can hold, and where
 * what is typed is a whole word or unit of those that may stand there: the next key ends the line or moves on, and must
 * not choose something longer.
 */
export function completions(
  workspace: Workspace,
  uri: string,
  offset: number,
  trigger: CompletionTrigger,
): readonly Completion[] {
  const found = possible(workspace, uri, offset, trigger)
  const text = workspace.document(uri)?.source.text ?? ''
  return found.some(one => isWhole(one, text.slice(one.start, offset))) ? [] : found
}

/** Whether what is typed is the item itself, in one of its spellings. */
function isWhole({ label, kind }: Completion, typed: string): boolean {
  return typed === label || (kind === 'unit' && findUnit(typed)?.symbol === label)
}

function possible(
  workspace: Workspace,
  uri: string,
  offset: number,
  trigger: CompletionTrigger,
): readonly Completion[] {
  const view = workspace.view(uri)
  const at = view === undefined ? undefined : typingPlace(view, offset)
  if (view === undefined || at === undefined) return []
  const context = { workspace, view, at, trigger, start: at.base + at.typed.start, end: at.base + at.typed.end }
  if (at.inString !== undefined) return at.match?.word?.word === 'use' ? paths(context) : []
  if (trigger === 'quote') return []
  const row = findWord(at.place, '')
  if (at.before.length === 0) {
    if (trigger === 'space') return []
    const begin = row === undefined ? [] : wantedNext(row.forms, []).flatMap(wanted => wantedItems(context, wanted))
    return [...tableRow(context), ...begin, ...keyWords(context), ...wholeDefinitions(context)]
  }
  const first = at.before[0]
  const word = (first?.kind === 'word' ? findWord(at.place, first.text) : undefined) ?? row
  if (word === undefined) return []
  const items = word.word === '' ? at.before : at.before.slice(1)
  const wanted = wantedNext(word.forms, items)
  // A space behind a whole statement is as often its end, or leads to a comment, as it leads to what might follow.
  if (trigger === 'space' && word.block === undefined && wanted.some(one => one.want === 'end')) return []
  if (word.word === 'use' && wanted.some(one => one.want === 'string')) return paths(context)
  if (word.word === 'detent' && wanted.some(one => one.want === 'number')) return [version(context)]
  return [
    ...stepRatio(context),
    ...wanted.flatMap(one => wantedItems(context, one)),
    ...uncertaintyAt(context, word, items),
  ]
}

/** The documentation of an item, looked up when a person stops at it. */
export function completionText(workspace: Workspace, topic: CompletionTopic, judge: Judge): string | undefined {
  switch (topic.about) {
    case 'word': {
      const word = findWord(topic.place, topic.word)
      return word === undefined ? undefined : wordText(word)
    }
    case 'name': {
      const home = workspace.view(topic.uri)
      const definition = home?.scope.find(topic.kind, topic.name)
      const view = workspace.view(topic.from) ?? home
      return view === undefined || definition === undefined
        ? undefined
        : wholeOf(definitionHover(workspace, view, definition, judge))
    }
    case 'check': {
      const check = findCheck(topic.code)
      return check === undefined ? undefined : paragraphs(check.page.what, check.page.why)
    }
  }
}
