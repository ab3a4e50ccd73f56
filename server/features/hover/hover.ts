/** What is shown for a place of a file: the facts about what stands there. */

import type { Span } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { coolerWords } from '../../../grammar/vocabulary/cooler.ts'
import type { Word } from '../../../grammar/vocabulary/index.ts'
import { partWords } from '../../../grammar/vocabulary/part.ts'
import { findCheck } from '../../checks/registry.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Judge } from '../../semantic/expectations.ts'
import type { FileView, Workspace } from '../../workspace/workspace.ts'
import { type Cursor, cursorAt } from '../cursor.ts'
import { coolerKeyFigure } from '../facts/cooler.ts'
import { courseStepTold } from '../facts/course.ts'
import { builtInLoadHover, definitionHover, figuresOf } from '../facts/definition.ts'
import { driveHover } from '../facts/drive.ts'
import { expectHover } from '../facts/expect.ts'
import { fanHover } from '../facts/fan.ts'
import { knownRowHover } from '../facts/known.ts'
import { limitsHover } from '../facts/limits.ts'
import { moduleHover } from '../facts/module.ts'
import { needsRowHover, oneGroupFigures, partKeyFigure } from '../facts/part.ts'
import { bandRowHover, stepRowHover, tableHover } from '../facts/steps.ts'
import { answerOf, restOf, type Told, together, told, wholeOf } from '../facts/told.ts'
import { vectorHover, voltageHover } from '../facts/voltage.ts'
import { code, escaped } from '../markdown.ts'
import { evaluationOf, profilesOn } from '../profiles.ts'
import { referenceAt } from '../references/reference.ts'
import { wordParts } from '../word-text.ts'

/** What is shown for a place of a file, and the stretch of the file that it is about. */
export interface Hover extends Span {
  /** Markdown without HTML that also reads as plain text: the answer and the rest. */
  readonly text: string
  /** The answer: a few lines, and short tables. */
  readonly answer: string
  /** How the answer comes about, and further tables; empty where the answer is all there is. */
  readonly rest: string
}

function hoverWith({ start, end }: Span, shown: Told): Hover {
  return { start, end, text: wholeOf(shown), answer: answerOf(shown), rest: restOf(shown) }
}

/** Figures of a statement in a profile, by its place and key word. */
function profileFigures(evaluation: Evaluation, match: Match, judge: Judge): Told | undefined {
  const word = match.word?.word
  switch (match.place) {
    case 'steps':
      return word === '' ? stepRowHover(evaluation, match) : undefined
    case 'bands':
      return word === '' ? bandRowHover(evaluation, match) : undefined
    case 'fan':
      return word === '' ? fanHover(evaluation, match) : undefined
    case 'voltage':
      return word === 'core' || word === 'set' ? voltageHover(evaluation, match) : undefined
    case 'limits':
      return limitsHover(evaluation, word)
    case 'profile':
      return profileKeyFigures(evaluation, match, judge)
    default:
      return undefined
  }
}

function profileKeyFigures(evaluation: Evaluation, match: Match, judge: Judge): Told | undefined {
  switch (match.word?.word) {
    case 'steps':
    case 'bands':
      return tableHover(evaluation, match)
    case 'voltage':
      return voltageHover(evaluation, match)
    case 'vector':
      return vectorHover(evaluation, match)
    case 'limits':
      return limitsHover(evaluation, undefined)
    case 'drive':
      return driveHover(evaluation)
    case 'fan':
      return fanHover(evaluation, undefined)
    case 'expect':
      return expectHover(evaluation, match, judge)
    default:
      return undefined
  }
}

/** The key word as one of these, so that figures name no word that the table lacks; undefined for what stands in any block. */
function keyAmong<W extends string>(words: readonly { readonly word: W }[], { word }: Word): W | undefined {
  return words.find(one => one.word === word)?.word
}

/** Figures of a key in a definition that is not a profile. */
function definitionFigures(
  workspace: Workspace,
  view: FileView,
  definition: Definition,
  match: Match,
  word: Word,
  judge: Judge,
): Told | undefined {
  switch (definition.kind) {
    case 'cooler': {
      if (word.word === 'module' || match.place === 'module') return moduleHover(definition)
      const key = keyAmong(coolerWords, word)
      return key === undefined ? undefined : coolerKeyFigure(definition, key, profilesOn(workspace, view, definition))
    }
    case 'course':
      return match.place === 'course' && (word.word === '' || word.word === 'fault')
        ? courseStepTold(profilesOn(workspace, view, definition), definition, match)
        : figuresOf(workspace, view, definition, judge)
    case 'part': {
      if (match.place === 'known') return knownRowHover(definition, match, profilesOn(workspace, view, definition))
      if (match.place === 'needs') return needsRowHover(definition, match, profilesOn(workspace, view, definition))
      if (word.word === 'group') return oneGroupFigures(definition, match)
      if (word.word === 'needs' || word.word === 'cores') return figuresOf(workspace, view, definition, judge)
      const key = keyAmong(partWords, word)
      return told({ lines: [key === undefined ? undefined : partKeyFigure(definition, key, match)] })
    }
    default:
      return figuresOf(workspace, view, definition, judge)
  }
}

/** So many forms are shown at once. */
const mostForms = 2

/** A word by itself: its form, meaning, caution, and what it comes to, if anything. */
function wordTold(word: Word, figures?: Told): Told {
  const { forms, means, caution, facts } = wordParts(word)
  const isShort = forms.split('\n').length <= mostForms
  const about = told({ lines: [isShort ? forms : undefined, means, caution], rest: [isShort ? undefined : forms] })
  // Nobody opens a page for a source alone.
  const isAll = figures === undefined || figures.rest.length === 0
  return together(about, figures, told(isAll ? { lines: [facts] } : { rest: [facts] }))
}

/** What a setting comes to, then what its word means. */
function settingTold(figures: Told, word: Word): Told {
  const { forms, means, caution, facts } = wordParts(word)
  return together(figures, told({ tables: [means, caution], rest: [forms, facts] }))
}

function statementTold(workspace: Workspace, cursor: Cursor, judge: Judge): Told | undefined {
  const { view, match, definition } = cursor
  if (match?.word === undefined) return undefined
  const { word } = match
  if (match.place === 'file') {
    return definition === undefined || word.block === undefined
      ? wordTold(word)
      : settingTold(definitionHover(workspace, view, definition, judge), word)
  }
  if (word.carried === true || word.word === 'allow') return wordTold(word)
  const evaluation = evaluationOf(view, definition)
  if (evaluation === undefined && definition !== undefined) {
    const figures = definitionFigures(workspace, view, definition, match, word, judge)
    if (word.word === '' && figures !== undefined) return figures
    // A constant is asked for its meaning and its caution; a setting for what it comes to.
    return wordTold(word, figures)
  }
  const figures = evaluation && profileFigures(evaluation, match, judge)
  if (figures === undefined) return wordTold(word)
  // A row shows what it comes to; what rows are for is said at their table's key word.
  return word.word === '' ? figures : settingTold(figures, word)
}

function checkTold(name: string): Told | undefined {
  const check = findCheck(name)
  if (check === undefined) return undefined
  const severity = check.severity === 'off' ? 'off unless asked for' : check.severity
  return told({
    lines: [
      `check **${name}** (${severity}): ${escaped(check.title)}`,
      check.page.what,
      check.page.why,
      check.page.remedy,
    ],
  })
}

/**
 * What a person wants to know of the place at this offset; nothing on white space, braces and comments.
 * @param more what follows it there
 */
export function hover(
  workspace: Workspace,
  uri: string,
  offset: number,
  judge: Judge,
  more: Told | undefined,
): Hover | undefined {
  const view = workspace.view(uri)
  if (view === undefined) return undefined
  const cursor = cursorAt(view, offset)
  const { match, item, slot, base } = cursor
  if (match === undefined || item === undefined) return undefined
  const own = { start: base + item.start, end: base + item.end }
  const hoverOf = (span: Span, shown: Told): Hover => hoverWith(span, together(shown, more))
  const reference = referenceAt(cursor)
  if (reference !== undefined) {
    const { kind, name, definition } = reference
    // The load of a step: how the step goes, then the load.
    const { definition: course } = cursor
    const step =
      course?.kind === 'course' && match.word?.word === ''
        ? courseStepTold(profilesOn(workspace, view, course), course, match)
        : undefined
    if (definition !== undefined)
      return hoverOf(own, together(step, definitionHover(workspace, view, definition, judge)))
    if (kind === 'load' && (name === 'idle' || name === 'off')) {
      return hoverOf(own, together(step, builtInLoadHover(workspace, view, name)))
    }
    return hoverOf(own, told({ lines: [`No ${kind} is called ${code(name)} in this file or those it uses.`] }))
  }
  if (slot?.slot.slot === 'code' && item.kind === 'word') {
    const shown = checkTold(item.text)
    if (shown !== undefined) return hoverOf(own, shown)
  }
  const shown = statementTold(workspace, cursor, judge)
  if (shown === undefined) return undefined
  const items = match.statement.items
  // A row is one fact; a key word and its value are shown as what the pointer touches.
  const row = match.word?.word === ''
  const start = row ? base + (items[0]?.start ?? item.start) : own.start
  const end = row ? base + (items.at(-1)?.end ?? item.end) : own.end
  return hoverOf({ start, end }, shown)
}
