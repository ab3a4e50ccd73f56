import { onceFor } from '../../../grammar/once.ts'
import type { Chunk } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { builtInLoads, type DefinitionKind, definitionWords, isBuiltInLoad } from '../../../grammar/vocabulary/index.ts'
import { entry, rows, text } from '../../semantic/definitions.ts'
import { resolveProfile, tableRows } from '../../semantic/profile.ts'
import { alongEdits } from '../../workspace/along-edits.ts'
import type { FileView } from '../../workspace/workspace.ts'
import { suggestions } from '../support/edits.ts'
import { unknownPartNames } from '../support/names-of-parts.ts'
import { isComplete } from '../support/reach.ts'
import { matchesOfChunk, topLevelOf } from '../support/walk.ts'
import type { Check, Found } from '../types.ts'

export interface Reference {
  readonly kind: DefinitionKind
  readonly name: string
  readonly start: number
  readonly end: number
}

const none: readonly Reference[] = []

/** The names that a statement refers to. */
export function referencesOf(match: Match): readonly Reference[] {
  return match.slots.some(({ slot }) => slot.slot === 'reference') ? referencesIn(match) : none
}

const referencesIn = onceFor((match: Match): readonly Reference[] =>
  match.slots.flatMap(({ slot }) => {
    if (slot.slot !== 'reference') return []
    const value = text(match, slot.name)
    return value === undefined ? [] : [{ kind: slot.kind, name: value.text, start: value.start, end: value.end }]
  }),
)

/** The names that a chunk refers to. What a fit has left is read beside the part, whose file uses it and not the other way. */
const referencesInChunk = onceFor((chunk: Chunk): readonly Reference[] =>
  matchesOfChunk(chunk).flatMap(({ match }) =>
    match.place === 'fitted' || match.word?.word === 'fitted' ? none : referencesOf(match),
  ),
)

/** Names on top-level lines whose first word does not read: `parrt sample { … }` has a finding of its own. */
function namesOnBrokenHeads(view: FileView): ReadonlySet<string> {
  const names = new Set<string>()
  for (const { match } of topLevelOf(view)) {
    const second = match.statement.items[1]
    if (second?.kind !== 'word') continue
    if (match.word === undefined) names.add(second.text)
    // A word that is not a name yet has a finding of its own, whose fix is the name that was meant.
    else if (/[^a-z0-9-]/.test(second.text)) names.add(second.text.toLowerCase().replaceAll('_', '-'))
  }
  return names
}

function isKnown(view: FileView, { kind, name }: Reference): boolean {
  if (view.scope.find(kind, name) !== undefined) return true
  return kind === 'load' && isBuiltInLoad(name)
}

/** The names in each chunk that nothing has; found again where a name came or went. */
const unknownAlong = alongEdits<readonly Reference[]>()

function unknownIn(view: FileView): readonly (readonly Reference[])[] {
  return unknownAlong(view.document, [view.scope.names], chunk => {
    const found = referencesInChunk(chunk).filter(reference => !isKnown(view, reference))
    return found.length === 0 ? none : found
  })
}

function unknown(view: FileView, chunk: Chunk, reference: Reference): Found {
  const { kind, name, start, end } = reference
  const at = { chunk, start, end }
  const known = view.scope.all(kind).map(definition => definition.name)
  const { sentence, fixes } = suggestions(name, kind === 'load' ? [...known, ...builtInLoads] : known, at)
  const others = definitionWords.filter(other => other !== kind && view.scope.find(other, name) !== undefined)
  const found =
    others.length > 0
      ? `\`${name}\` is a ${others.join(' and a ')}; this takes a ${kind}.`
      : `No ${kind} is called \`${name}\`, here or in the files that this one uses.`
  const why =
    kind === 'load' || kind === 'course'
      ? 'What is expected of it cannot be judged.'
      : 'Until it is known nothing can be predicted.'
  const remedy = known.length === 0 ? ` There is no ${kind} yet: define one, or \`use\` the file that has it.` : ''
  return { at, message: `${found} ${why}${sentence}${remedy}`, ...(fixes.length > 0 ? { fixes } : {}) }
}

/** Settings in the person's own words that a board has a field for, and no profile on it carries. */
function* inMenus(view: FileView): Iterable<Found> {
  for (const board of view.document.definitions) {
    const menu = board.kind === 'board' ? entry(board.match, 'menu') : undefined
    if (menu === undefined) continue
    const users = view.document.definitions
      .filter(({ kind }) => kind === 'profile')
      .map(one => resolveProfile(view.scope, one))
      .filter(profile => profile.board === board)
    if (users.length === 0) continue
    const carried = users.flatMap(user => tableRows(user, 'also').map(row => text(row.match, 'setting')?.text ?? ''))
    for (const row of rows(menu)) {
      const name = text(row, 'setting')
      if (name?.kind !== 'string' || carried.includes(name.text)) continue
      const at = { chunk: board.chunk, start: name.start, end: name.end }
      const near = suggestions(`"${name.text}"`, new Set(carried.map(one => `"${one}"`)), at)
      yield {
        at,
        severity: 'information',
        message: `No value for this field: no profile here with the board \`${board.name}\` carries "${name.text}" in \`also\`.${near.sentence}`,
        fixes: near.fixes,
      }
    }
  }
}

export const unknownName: Check = {
  code: 'unknown-name',
  severity: 'error',
  title: 'A name that nothing has',
  page: {
    what: 'Information: a setting in the `menu` of a board that no profile here with that board carries in `also`. Error: a reference to a part, cooler, room, board, load, profile or course that neither this file nor a file it uses defines; also one to a definition of another kind; and the name of a group of cores or of a supply rail that the profile’s part lacks, or in a load or board that no part in sight has. Nothing is said while a used file is missing: the name may stand there.',
    why: 'A profile whose part or cooler is not known cannot be predicted at all.',
    remedy: 'Take the name that the message suggests, define it, or `use` the file that has it.',
    example: 'room garage {\n  air 20 °C\n  humidity 50 %\n}\n\nprofile daily {\n  room garaje\n}',
  },
  *inFile({ view, usedByOthers }) {
    if (!isComplete(view)) return
    if (!usedByOthers) yield* inMenus(view)
    yield* unknownPartNames(view)
    let broken: ReadonlySet<string> | undefined
    const unknownNames = unknownIn(view)
    for (const [index, { chunk }] of view.document.source.chunks.entries()) {
      for (const reference of unknownNames[index] ?? none) {
        broken ??= namesOnBrokenHeads(view)
        if (!broken.has(reference.name)) yield unknown(view, chunk, reference)
      }
    }
  },
}
