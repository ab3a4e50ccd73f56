import { onceFor } from '../../../grammar/once.ts'
import type { Chunk } from '../../../grammar/tree.ts'
import type { DefinitionKind } from '../../../grammar/vocabulary/index.ts'
import { alongEdits } from '../../workspace/along-edits.ts'
import { choice, removeFix } from '../support/edits.ts'
import { namePlace } from '../support/place.ts'
import { matchesOfChunk } from '../support/walk.ts'
import type { Check } from '../types.ts'
import { type Reference, referencesOf } from './unknown-name.ts'

/** Loads are run by every profile that sees them, and profiles are what a file is for. */
const kinds: readonly DefinitionKind[] = ['part', 'cooler', 'room', 'board']

interface Names {
  readonly used: readonly Reference[]
  /** A name on a line whose key word does not read is used all the same. */
  readonly mentioned: readonly string[]
  /** Kinds with a name that is not there: it may be meant to be any of them. That has a finding of its own. */
  readonly unsure: readonly DefinitionKind[]
}

/** What a chunk says of names. */
const namesIn = onceFor((chunk: Chunk): Names => {
  const used: Reference[] = []
  const [mentioned, unsure] = [new Set<string>(), new Set<DefinitionKind>()]
  for (const { match } of matchesOfChunk(chunk)) {
    if (match.word === undefined)
      for (const item of match.statement.items) if (item.kind === 'word') mentioned.add(item.text)
    const references = referencesOf(match)
    used.push(...references)
    if (match.place !== 'profile' || references.length > 0) continue
    for (const kind of kinds) if (match.word?.word === kind) unsure.add(kind)
  }
  return { used, mentioned: [...mentioned], unsure: [...unsure] }
})

const namesAlong = alongEdits<Names>()

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
    const unused = new Map(
      definitions.filter(({ kind }) => kinds.includes(kind)).map(one => [`${one.kind} ${one.name}`, one]),
    )
    const said = namesAlong(view.document, [], namesIn)
    for (const { used } of said) {
      if (unused.size === 0) return
      for (const { kind, name } of used) unused.delete(`${kind} ${name}`)
    }
    if (unused.size === 0) return
    const unsure = new Set(said.flatMap(one => one.unsure))
    for (const { used } of said)
      for (const { kind, name } of used) if (view.scope.find(kind, name) === undefined) unsure.add(kind)
    const mentioned = new Set(said.flatMap(one => one.mentioned))
    for (const definition of definitions) {
      const { kind, name, chunk, match } = definition
      if (!unused.has(`${kind} ${name}`) || unsure.has(kind) || mentioned.has(name)) continue
      yield {
        at: namePlace(definition),
        message: `Unused: no profile here names the ${kind} \`${name}\`. Perhaps one names another by mistake; otherwise it can go.`,
        fixes: [choice(removeFix(`Remove this ${kind}`, chunk, match.statement))],
      }
    }
  },
}
