/** Going from place to place: definitions, references, renaming, symbols, links. */

import {
  type Definition,
  type DefinitionLink,
  DocumentHighlightKind,
  type Location,
  LSPErrorCodes,
  ResponseError,
  type SelectionRange,
} from 'vscode-languageserver'
import { workspaceEdit } from './editing.ts'
import type { Feature } from './feature.ts'
import { answering, answeringFor, clientUri, loaded, located, type PlacedParams, type Session } from './session.ts'
import { symbolKinds } from './structure.ts'

function location(session: Session, place: { uri: string; start: number; end: number }): Location[] {
  const file = located(session, place.uri)
  return file === undefined ? [] : [{ uri: clientUri(session, place.uri), range: file.lines.range(place) }]
}

export const definition: Feature = {
  advertise: () => ({ definitionProvider: true }),
  register: session => {
    session.connection.onDefinition(
      answering<PlacedParams, Definition | DefinitionLink[] | null>(
        session,
        'Going to a definition',
        null,
        async ({ textDocument, position }) => {
          const file = await loaded(session, textDocument)
          const found = file && session.service.features.definition(file.uri, file.lines.offset(position))
          const target = found && located(session, found.uri)
          if (file === undefined || found === undefined || target === undefined) return null
          const targetUri = clientUri(session, found.uri)
          const name = target.lines.range(found.name)
          if (!session.client.takesDefinitionLinks) return [{ uri: targetUri, range: name }]
          return [
            {
              originSelectionRange: file.lines.range(found.origin),
              targetUri,
              targetRange: target.lines.range(found.whole),
              targetSelectionRange: name,
            },
          ]
        },
      ),
    )
  },
}

export const references: Feature = {
  advertise: () => ({ referencesProvider: true }),
  register: session => {
    session.connection.onReferences(
      answering(session, 'Finding references', null, async ({ textDocument, position, context }) => {
        await session.scanned
        const file = await loaded(session, textDocument)
        if (file === undefined) return null
        const wanted = context?.includeDeclaration !== false
        return session.service.features
          .references(file.uri, file.lines.offset(position))
          .filter(one => wanted || one.role === 'reference')
          .flatMap(one => location(session, one))
      }),
    )
  },
}

export const highlights: Feature = {
  advertise: () => ({ documentHighlightProvider: true }),
  register: session => {
    session.connection.onDocumentHighlight(
      answeringFor(session, 'Highlighting', null, (file, { position }) => {
        return session.service.features
          .references(file.uri, file.lines.offset(position))
          .filter(one => one.uri === file.uri)
          .map(one => ({
            range: file.lines.range(one),
            kind: one.role === 'definition' ? DocumentHighlightKind.Write : DocumentHighlightKind.Read,
          }))
      }),
    )
  },
}

export const rename: Feature = {
  advertise: client => ({ renameProvider: client.preparesRename ? { prepareProvider: true } : true }),
  register: session => {
    const { connection } = session
    connection.onRenameRequest(
      answering(session, 'Renaming', null, async ({ textDocument, position, newName }) => {
        await session.scanned
        const file = await loaded(session, textDocument)
        const renaming = file && session.service.features.rename(file.uri, file.lines.offset(position), newName)
        if (renaming === undefined) return null
        // A name that cannot be is for the person to fix: the editor shows why at the input.
        if ('refused' in renaming) throw new ResponseError(LSPErrorCodes.RequestFailed, renaming.refused)
        return workspaceEdit(session, renaming.files)
      }),
    )
    if (!session.client.preparesRename) return
    connection.onPrepareRename(
      answering(session, 'Renaming', null, async ({ textDocument, position }) => {
        const file = await loaded(session, textDocument)
        const found = file && session.service.features.renamable(file.uri, file.lines.offset(position))
        return file === undefined || found === undefined
          ? null
          : { range: file.lines.range(found), placeholder: found.name }
      }),
    )
  },
}

export const symbols: Feature = {
  advertise: () => ({ workspaceSymbolProvider: true }),
  register: session => {
    session.connection.onWorkspaceSymbol(
      answering(session, 'Finding symbols', null, async ({ query }) => {
        await session.scanned
        return session.service.features.workspaceSymbols(query).flatMap(({ name, kind, ...place }) =>
          location(session, place).map(one => ({
            name,
            kind: symbolKinds[kind],
            location: one,
            containerName: kind,
          })),
        )
      }),
    )
  },
}

export const selection: Feature = {
  advertise: () => ({ selectionRangeProvider: true }),
  register: session => {
    session.connection.onSelectionRanges(
      answeringFor(session, 'Widening the selection', null, (file, { positions }) => {
        return positions.map(position => {
          const spans = session.service.features.selectionSpans(file.uri, file.lines.offset(position))
          const widest = spans.reduceRight<SelectionRange | undefined>((parent, span) => {
            const range = file.lines.range(span)
            return parent === undefined ? { range } : { range, parent }
          }, undefined)
          return widest ?? { range: { start: position, end: position } }
        })
      }),
    )
  },
}

export const links: Feature = {
  advertise: () => ({ documentLinkProvider: { resolveProvider: false } }),
  register: session => {
    session.connection.onDocumentLinks(
      answeringFor(
        session,
        'Finding links',
        null,
        file =>
          session.service.features.fileLinks(file.uri).map(link => ({
            range: file.lines.range(link),
            target: clientUri(session, link.target),
          })),
        'shown',
      ),
    )
  },
}

export const fileRenames: Feature = {
  advertise: client =>
    client.asksBeforeRenames
      ? {
          workspace: {
            // A log may have any name, and be in any folder.
            fileOperations: { willRename: { filters: [{ pattern: { glob: '**/*' } }] } },
          },
        }
      : undefined,
  register: session => {
    session.connection.workspace.onWillRenameFiles(
      answering(session, 'Following renamed files', null, async ({ files }) => {
        await session.scanned
        const moves = files.map(({ oldUri, newUri }) => ({ from: oldUri, to: newUri }))
        const edits = session.service.features.editsForMoves(moves)
        return edits.length === 0 ? null : workspaceEdit(session, edits)
      }),
    )
  },
}
