import { onceFor } from '../../../grammar/once.ts'
import { isBuiltInLoad } from '../../../grammar/vocabulary/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { fileName } from '../../workspace/files.ts'
import type { Document, FileView } from '../../workspace/workspace.ts'
import { choice, replaceFix } from '../support/edits.ts'
import { namePlace } from '../support/place.ts'
import { reachedFrom } from '../support/reach.ts'
import type { Check, Fix, Found } from '../types.ts'

/** A name near this one that no definition of the kind has. */
function freeName(view: FileView, definition: Definition): string {
  let number = 2
  while (view.scope.find(definition.kind, `${definition.name}-${number}`) !== undefined) number++
  return `${definition.name}-${number}`
}

/** Renaming the later one leaves every reference as it was: names stand for the first. */
function renameFix(view: FileView, definition: Definition): readonly Fix[] {
  const name = freeName(view, definition)
  return [choice(replaceFix(`Rename this one to \`${name}\``, namePlace(definition), name))]
}

function builtIn(view: FileView, definition: Definition): Found {
  const meaning =
    definition.name === 'idle'
      ? "the machine idling at the part's `idle-power`"
      : 'the machine switched off with the plate still driven'
  return {
    at: namePlace(definition),
    message: `\`${definition.name}\` is built in: it means ${meaning}. Give your load another name.`,
    fixes: renameFix(view, definition),
  }
}

function twice(view: FileView, definition: Definition, first: Definition): Found {
  return {
    at: namePlace(definition),
    message: `Second ${definition.kind} \`${definition.name}\`: the first one above counts, and changing this one changes nothing. Give it another name, or remove one of the two.`,
    fixes: renameFix(view, definition),
    related: [{ at: namePlace(first), message: 'The one that counts' }],
  }
}

/** This file's own definition counts here, but not in the file it uses: there the other one does. */
function twiceInUsed(view: FileView, definition: Definition, where: Document): Found {
  return {
    at: namePlace(definition),
    message: `Second ${definition.kind} \`${definition.name}\`: ${fileName(where.uri)}, which this file uses, has one too. Here this one counts, in that file the other: one name for two things. Give this one another name, or remove one of the two.`,
    fixes: renameFix(view, definition),
  }
}

/** Names that only together, through two `use` lines of this file, stand twice. */
function* betweenUses(view: FileView): Iterable<Found> {
  const reached = view.uses.flatMap(({ use, uri }) =>
    uri === undefined ? [] : [{ use, files: reachedFrom(view, uri) }],
  )
  const seen = new Map<string, Document>()
  for (const { use, files } of reached) {
    for (const document of files) {
      if (document === view.document) continue
      for (const { kind, name } of document.definitions) {
        const key = `${kind} ${name}`
        const before = seen.get(key)
        seen.set(key, before ?? document)
        if (before === undefined || before === document) continue
        // A file that sees both by itself has the finding itself.
        if (reached.some(other => other.files.has(before) && other.files.has(document))) continue
        yield {
          at: { chunk: use.chunk, start: use.start, end: use.end },
          message: `Second ${kind} \`${name}\`: this brings in one from ${fileName(document.uri)}, and ${fileName(before.uri)} already has one. The first one counts: give one of them another name.`,
        }
      }
    }
  }
}

const firstsOf = onceFor((document: Document): ReadonlyMap<string, Definition> => {
  const first = new Map<string, Definition>()
  for (const definition of document.definitions) {
    const key = `${definition.kind} ${definition.name}`
    if (!first.has(key)) first.set(key, definition)
  }
  return first
})

/** The first definition of a kind and name in a document. */
function firstIn(document: Document, kind: string, name: string): Definition | undefined {
  return firstsOf(document).get(`${kind} ${name}`)
}

export const duplicateName: Check = {
  code: 'duplicate-name',
  severity: 'error',
  title: 'Two definitions of one name',
  page: {
    what: 'A second definition of the same kind and name, in this file or through the files it uses, and a load called `idle` or `off`, which are built in.',
    why: 'Only the first one counts. Edit the other, and nothing changes.',
    remedy: 'Give one of them another name, or remove it. The quick fix renames the one that does not count.',
    example: 'room garage { air 20 °C; humidity 50 % }\nroom garage { air 25 °C; humidity 40 % }',
  },
  *inFile({ view }) {
    for (const definition of view.document.definitions) {
      const { kind, name } = definition
      if (kind === 'load' && isBuiltInLoad(name)) {
        yield builtIn(view, definition)
        continue
      }
      // What the file itself defines comes before what it uses.
      const own = view.scope.find(kind, name)
      if (own !== undefined && own !== definition) yield twice(view, definition, own)
      else {
        for (const document of view.documents) {
          if (document === view.document) continue
          const first = firstIn(document, kind, name)
          if (first === undefined) continue
          yield twiceInUsed(view, definition, document)
          break
        }
      }
    }
    yield* betweenUses(view)
  },
}
