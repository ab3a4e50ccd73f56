/** Hover of a definition, at its own line and wherever it is named. */

import { onceFor } from '../../../grammar/once.ts'
import { boardConstants, coolerConstants, loadConstants, partConstants, roomCorners } from '../../semantic/constants.ts'
import { type Definition, text } from '../../semantic/definitions.ts'
import { type Evaluation, evaluate } from '../../semantic/evaluate.ts'
import type { Expectation, Judge } from '../../semantic/expectations.ts'
import { fittedRecord } from '../../semantic/fitted.ts'
import type { UsualFigures } from '../../semantic/gather.ts'
import { counted } from '../../wording/counts.ts'
import { plain } from '../../wording/figures.ts'
import type { FileView, Workspace } from '../../workspace/workspace.ts'
import { code, table } from '../markdown.ts'
import { profilesOn, profilesSeeing } from '../profiles.ts'
import { assumedText, remarks } from '../word-text.ts'
import { boardFacts, boardFigures } from './board.ts'
import { coolerFacts, coolerFigures } from './cooler.ts'
import { courseFacts, courseTold } from './course.ts'
import { loadFacts, loadFigures } from './load.ts'
import { partFacts, partFigures } from './part.ts'
import { roomFigures } from './room.ts'
import { allLoadsHover } from './steps.ts'
import { type Told, together, told } from './told.ts'
import { worstText } from './worst.ts'

function profileFacts({ match }: Definition): string {
  const named = match.children.filter(child => ['part', 'cooler', 'room', 'board'].includes(child.word?.word ?? ''))
  return named
    .flatMap(child => {
      const value = child.values.get(child.word?.word ?? '')
      return value !== undefined && 'text' in value ? [`${child.word?.word} ${code(value.text)}`] : []
    })
    .join(', ')
}

function roomFacts(room: Definition): string | undefined {
  const corners = roomCorners(room).value
  const [first, last] = [corners?.[0], corners?.at(-1)]
  if (first === undefined || last === undefined) return undefined
  const span = (low: number, high: number, unit: string): string =>
    low === high ? `${plain(low)} ${unit}` : `${plain(low)} ${unit} to ${plain(high)} ${unit}`
  return `air ${span(first.airC, last.airC, '°C')}, humidity ${span(first.humidityPct, last.humidityPct, '%')}`
}

function runFacts({ match }: Definition): string | undefined {
  const [profile, load, course] = ['profile', 'load', 'course'].map(one => text(match, one)?.text)
  const under = course === undefined ? load && code(load) : `course ${code(course)}`
  return profile === undefined || under === undefined ? undefined : `of ${code(profile)} under ${under}`
}

function fittedFacts(definition: Definition): string {
  const { constants, runs } = fittedRecord(definition)
  return `${counted(constants.length, 'constant')} as a fit of ${counted(runs.length, 'run')} wrote them`
}

/** One line about a definition, for hovers, completion and symbols. */
function factsOf(definition: Definition): string | undefined {
  switch (definition.kind) {
    case 'part':
      return partFacts(definition)
    case 'cooler':
      return coolerFacts(definition)
    case 'room':
      return roomFacts(definition)
    case 'board':
      return boardFacts(definition)
    case 'load':
      return loadFacts(definition)
    case 'profile':
      return profileFacts(definition)
    case 'run':
      return runFacts(definition)
    case 'fitted':
      return fittedFacts(definition)
    case 'course':
      return courseFacts(definition)
  }
}

/** Defaults that a definition rests on, but for usual values, which have a table. */
function assumedOf(definition: Definition): readonly string[] {
  const usual = usualOf(definition).map(one => one.assumed)
  switch (definition.kind) {
    case 'part':
      return partConstants(definition).assumed.filter(one => !usual.includes(one))
    case 'cooler':
      return coolerConstants(definition).assumed.filter(one => !usual.includes(one))
    case 'board':
      return boardConstants(definition).assumed
    case 'load':
      return loadConstants(definition).assumed
    default:
      return []
  }
}

function usualOf(definition: Definition): readonly UsualFigures[] {
  if (definition.kind === 'part') return partConstants(definition).usual
  return definition.kind === 'cooler' ? coolerConstants(definition).usual : []
}

/** The constants that are left out: what counts for each, and what that is worth. */
function usualTold(definition: Definition): Told {
  const rows = usualOf(definition).map(({ word, text, spread }) => [code(word), text, `${spread}`])
  if (rows.length === 0) return told({})
  return told({
    tables: [table(['Left out', 'Counts as', 'Right within a factor of'], rows)],
    rest: [
      'Usual values are engineering judgement, and right within their factor two times in three. A fit narrows them.',
    ],
  })
}

/** `3 of 4 expectations hold`; nothing where there are none. Kept with the expectations of a profile. */
export const expectationsText = onceFor((all: readonly Expectation[]): string | undefined => {
  if (all.length === 0) return undefined
  const holding = all.filter(one => one.holds === true).length
  const undecided = all.filter(one => one.holds === null).length
  const rest = undecided === 0 ? '' : `, ${undecided} undecided`
  return `${holding} of ${all.length} ${all.length === 1 ? 'expectation holds' : 'expectations hold'}${rest}`
})

function profileFigures(evaluation: Evaluation, judge: Judge): Told {
  const expectations = expectationsText(judge(evaluation))
  return together(
    told({ lines: [expectations === undefined ? undefined : `${expectations}.`] }),
    allLoadsHover(evaluation),
    told({ rest: [worstText(evaluation)] }),
  )
}

/** The view of the file in whose scope a profile is read: its own. */
function homeOf(workspace: Workspace, view: FileView, definition: Definition): FileView {
  const home = view.documents.find(document => document.definitions.includes(definition))
  return (home === undefined ? undefined : workspace.view(home.uri)) ?? view
}

/** What a definition comes to, without its title. */
export function figuresOf(
  workspace: Workspace,
  view: FileView,
  definition: Definition,
  judge: Judge,
): Told | undefined {
  switch (definition.kind) {
    case 'part':
      return partFigures(definition)
    case 'cooler':
      return coolerFigures(definition, profilesOn(workspace, view, definition))
    case 'room':
      return roomFigures(definition)
    case 'board':
      return boardFigures(definition, profilesOn(workspace, view, definition))
    case 'load':
      return loadFigures(profilesOn(workspace, view, definition), definition.name)
    case 'profile':
      return profileFigures(evaluate(homeOf(workspace, view, definition).scope, definition), judge)
    case 'course':
      return courseTold(profilesOn(workspace, view, definition), definition)
    case 'run':
    case 'fitted':
      return undefined
  }
}

/** A definition's kind, name and facts, its figures, the defaults it rests on, and its notes and sources. */
export function definitionHover(workspace: Workspace, view: FileView, definition: Definition, judge: Judge): Told {
  const facts = factsOf(definition)
  const title = `${definition.kind} **${definition.name}**${facts === undefined || facts === '' ? '' : `: ${facts}`}`
  return together(
    told({ lines: [title] }),
    figuresOf(workspace, view, definition, judge),
    usualTold(definition),
    told({ rest: [assumedText(assumedOf(definition)), remarks(definition.match)] }),
  )
}

/** The built-in loads have no definition to show. */
export function builtInLoadHover(workspace: Workspace, view: FileView, name: string): Told {
  const meaning =
    name === 'idle'
      ? 'the machine at rest, at the idle power of the part (built in)'
      : 'the machine off and the plate still driven: no heat at all (built in)'
  return together(told({ lines: [`load **${name}**: ${meaning}`] }), loadFigures(profilesSeeing(workspace, view), name))
}
