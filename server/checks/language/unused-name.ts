import type { DefinitionKind } from '../../../grammar/vocabulary/index.ts'
import { choice, removeFix } from '../support/edits.ts'
import { namePlace } from '../support/place.ts'
import { matchesOf } from '../support/walk.ts'
import type { Check } from '../types.ts'
import { referencesOf } from './unknown-name.ts'

/** Loads are run by every profile that sees them, and profiles are what a file is for. */
const kinds: readonly DefinitionKind[] = ['part', 'cooler', 'room', 'board']

export const unusedName: Check = {
  code: 'unused-name',
  severity: 'hint',
  title: 'A definition that nothing uses',
  page: {
    what: 'A part, cooler, room or board that no profile of the file names. Nothing is said in a file that other files use, nor in one without a profile: that is a bench for others.',
    why: 'Often the profile names another one by mistake, and what was measured for this one goes unused.',
    remedy: 'Name it in a profile, or remove it.',
    example: 'room attic { air 26 °C; humidity 50 % }\n\nprofile daily {\n  room garage\n}',
  },
  *inFile({ view, usedByOthers }) {
    const { definitions } = view.document
    if (usedByOthers || !definitions.some(({ kind }) => kind === 'profile')) return
    const used = new Set<string>()
    // A name that is not known, or not there, may be meant to be this one: that has a finding of its own.
    const unsure = new Set<DefinitionKind>()
    // A name on a line whose key word does not read is used all the same.
    const mentioned = new Set<string>()
    for (const { match } of matchesOf(view)) {
      if (match.word === undefined)
        for (const item of match.statement.items) if (item.kind === 'word') mentioned.add(item.text)
      const references = referencesOf(match)
      if (match.place === 'profile' && references.length === 0) {
        for (const kind of kinds) if (match.word?.word === kind) unsure.add(kind)
      }
      for (const { kind, name } of references) {
        used.add(`${kind} ${name}`)
        if (view.scope.find(kind, name) === undefined) unsure.add(kind)
      }
    }
    for (const definition of definitions) {
      const { kind, name, chunk, match } = definition
      if (!kinds.includes(kind) || unsure.has(kind)) continue
      if (used.has(`${kind} ${name}`) || mentioned.has(name)) continue
      yield {
        at: namePlace(definition),
        message: `Unused: no profile here names the ${kind} \`${name}\`. Perhaps one names another by mistake; otherwise it can go.`,
        fixes: [choice(removeFix(`Remove this ${kind}`, chunk, match.statement))],
      }
    }
  },
}
