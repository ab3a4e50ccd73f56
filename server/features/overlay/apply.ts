/** Applies overlays to the documents of a workspace: to definitions key by key, to every profile asked for. */

import type { Match } from '../../../grammar/values.ts'
import { tableWords } from '../../../grammar/vocabulary/index.ts'
import { namesIn, namesKnown } from '../../checks/support/names-of-parts.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { resolveProfile } from '../../semantic/profile.ts'
import type { Document, Workspace } from '../../workspace/workspace.ts'
import { coursePlaces } from './course.ts'
import { edited, type Origin, originAt, type Piece, type PieceEdit, textOfPieces } from './pieces.ts'
import { notePlaces } from './places.ts'
import { type Overlay, OverlayTrouble } from './read.ts'
import {
  afterCounts,
  type BlockName,
  blockName,
  blockOf,
  blockText,
  identity,
  leftOf,
  ruledOut,
  takesOut,
} from './rows.ts'

/** A definition by its file, kind and name: each statement that is applied moves its offsets. */
interface Target {
  readonly uri: string
  readonly kind: Definition['kind']
  readonly name: string
}

const own = (text: string): Piece => ({ text, origin: undefined })

function createLayer(workspace: Workspace, profiles: readonly string[], uris: readonly string[]) {
  const made = new Map<string, readonly Piece[]>()
  const before = new Map<string, string>()
  let version = 0

  const documentOf = (uri: string): Document => {
    const document = workspace.document(uri)
    if (document === undefined) throw new Error(`${uri} is not loaded`)
    return document
  }
  const piecesOf = (uri: string): readonly Piece[] =>
    made.get(uri) ?? [{ text: documentOf(uri).source.text, origin: { uri, offset: 0 } }]
  const apply = (uri: string, edits: readonly PieceEdit[]): void => {
    if (!before.has(uri)) before.set(uri, documentOf(uri).source.text)
    const pieces = edited(piecesOf(uri), edits)
    made.set(uri, pieces)
    workspace.set(uri, textOfPieces(pieces), --version)
  }
  const found = ({ uri, kind, name }: Target): { readonly definition: Definition; readonly start: number } => {
    const document = documentOf(uri)
    const definition = document.definitions.find(one => one.kind === kind && one.name === name)
    if (definition === undefined) throw new OverlayTrouble(`There is no ${kind} ${name} any more.`)
    return { definition, start: document.starts.get(definition.chunk) ?? 0 }
  }

  /** Puts text before the brace that closes a block. */
  const append = (target: Target, block: Match, pieces: readonly Piece[]): void => {
    const { start } = found(target)
    const close = block.statement.block?.close?.start
    if (close === undefined) {
      throw new OverlayTrouble(
        `${target.kind} ${target.name} has a block that is not closed, so it cannot be overlaid.`,
      )
    }
    apply(target.uri, [{ start: start + close, end: start + close, pieces: [own('\n  '), ...pieces, own('\n')] }])
  }

  /** The block that a path of words leads to from a definition; made where it is not there, for what stands at `origin`. */
  const blockAt = (target: Target, path: readonly BlockName[], origin: Origin): Match => {
    let { match } = found(target).definition
    for (const [depth, block] of path.entries()) {
      const inner = blockOf(match, block)
      if (inner !== undefined) {
        match = inner
        continue
      }
      append(
        target,
        match,
        inherited(target, path.slice(0, depth + 1)) ?? [{ text: `${blockText(block)} {\n  }`, origin }],
      )
      return blockAt(target, path, origin)
    }
    return match
  }

  /**
   * The table that a profile has from the one it is based on: it counts whole, so its rows come along. So do those for
   * every group of cores where one of them gets a table of its own.
   */
  const inherited = (target: Target, path: readonly BlockName[]): readonly Piece[] | undefined => {
    const [block] = path
    if (target.kind !== 'profile' || path.length !== 1 || block === undefined || !tableWords.includes(block.word))
      return undefined
    const view = workspace.view(target.uri)
    if (view === undefined) return undefined
    const sourced = resolveProfile(view.scope, found(target).definition).key(block.word, block.name)
    if (sourced === undefined) return undefined
    const home = view.documents.find(document => document.definitions.includes(sourced.definition))
    const start = home?.starts.get(sourced.definition.chunk)
    if (home === undefined || start === undefined) return undefined
    const { statement } = sourced.match
    // A table for every group has no name that its copy could have.
    const isShared = block.name !== undefined && blockName(sourced.match).name === undefined
    const from = start + (isShared ? (statement.items[0]?.end ?? statement.start) : statement.start)
    const rows = {
      text: home.source.text.slice(from, start + statement.end),
      origin: { uri: home.uri, offset: from },
    }
    return isShared ? [own(blockText(block)), rows] : [rows]
  }

  const piece = ({ chunk, base, number }: Overlay, start: number, end: number): Piece => ({
    text: chunk.text.slice(start, end),
    origin: { overlay: number, offset: start - base },
  })

  const originOf = ({ base, number }: Overlay, { statement }: Match): Origin => ({
    overlay: number,
    offset: statement.start - base,
  })

  /** What stands behind the word of a block, as `return 3 K`, in place of what is there. */
  const layHead = (overlay: Overlay, target: Target, path: readonly BlockName[], match: Match): void => {
    const { items, block } = match.statement
    const last = items.at(-1)
    // The name is the same.
    const named = path.at(-1)?.name === undefined ? 1 : 2
    if (items.length <= named || block === undefined || last === undefined) return
    const { start } = found(target)
    const { items: there } = blockAt(target, path, originOf(overlay, match)).statement
    const [from, to] = [there[named - 1]?.end ?? 0, there.at(-1)?.end ?? 0]
    const text = piece(overlay, items[named - 1]?.end ?? 0, last.end)
    apply(target.uri, [{ start: start + from, end: start + to, pieces: [text] }])
  }

  /** One row of `steps`: of rows with some of its counts the rest stays. */
  const layStep = (target: Target, table: Match, match: Match, text: Piece): void => {
    const { definition, start } = found(target)
    const source = definition.chunk.text
    let isLaid = false
    const edits = table.children.flatMap((row): PieceEdit[] => {
      const rest = row.sound ? leftOf(row, match) : undefined
      if (rest === undefined) return []
      const { statement } = row
      const behind = { text: source.slice(afterCounts(row), statement.end), at: start + afterCounts(row) }
      const pieces: Piece[] = []
      const put = (one: readonly Piece[]): void => {
        pieces.push(...(pieces.length === 0 ? [] : [own('\n    ')]), ...one)
      }
      const restOf = (cores: string): readonly Piece[] => {
        const before = originAt(piecesOf(target.uri), start + statement.start)
        return [
          { text: cores, origin: before },
          { text: behind.text, origin: originAt(piecesOf(target.uri), behind.at) },
        ]
      }
      const from = match.values.get('cores')
      const lowest = from?.kind === 'counts' ? from.from : 0
      for (const one of rest.filter(one => one.from < lowest)) put(restOf(one.cores))
      if (!isLaid) put([text])
      isLaid = true
      for (const one of rest.filter(one => one.from > lowest)) put(restOf(one.cores))
      return [{ start: start + statement.start, end: start + statement.end, pieces }]
    })
    if (edits.length === 0) append(target, table, [text])
    else apply(target.uri, edits)
  }

  /** One statement in place of the one that it is the same as, else behind the others. */
  const layStatement = (overlay: Overlay, target: Target, path: readonly BlockName[], match: Match): void => {
    const { statement: laid } = match
    const text = piece(overlay, laid.start, laid.end)
    const block = blockAt(target, path, originOf(overlay, match))
    if (match.place === 'steps' && match.word?.word === '') {
      layStep(target, block, match, text)
      return
    }
    const same = identity(match)
    const there = same === undefined ? undefined : block.children.filter(one => identity(one) === same).at(-1)
    const { start } = found(target)
    const [instead, ...others] = ruledOut(match, block.children)
    if (instead !== undefined) {
      const edit = ({ statement }: Match, pieces: readonly Piece[]): PieceEdit => {
        return { start: start + statement.start, end: start + statement.end, pieces }
      }
      apply(target.uri, [edit(instead, [text]), ...others.map(one => edit(one, []))])
      return
    }
    if (there === undefined) {
      if (!takesOut(match)) append(target, block, [text])
      return
    }
    const { statement } = there
    const pieces = takesOut(match) ? [] : [text]
    apply(target.uri, [{ start: start + statement.start, end: start + statement.end, pieces }])
  }

  /** The lines of a course, in whose block the order counts. */
  const layCourse = (overlay: Overlay, target: Target): void => {
    const { definition, start } = found(target)
    const course = definition.match
    const last: (readonly Piece[])[] = []
    const edits: PieceEdit[] = []
    for (const { where, line, laid } of coursePlaces(course, overlay.statements)) {
      const texts = laid.map(({ statement }) => piece(overlay, statement.start, statement.end))
      if (where === 'end' || line === undefined) {
        last.push(...texts.map(text => [text]))
        continue
      }
      const { statement } = line
      const [from, to] = [
        start + (where === 'behind' ? statement.end : statement.start),
        start + (where === 'before' ? statement.start : statement.end),
      ]
      const gap = own('\n  ')
      const pieces = texts.flatMap(text =>
        where === 'before' ? [text, gap] : where === 'behind' ? [gap, text] : [text],
      )
      edits.push({ start: from, end: to, pieces })
    }
    apply(target.uri, edits)
    for (const pieces of last) append(target, found(target).definition.match, pieces)
  }

  const lay = (overlay: Overlay, target: Target, path: readonly BlockName[], statements: readonly Match[]): void => {
    for (const match of statements) {
      const { statement } = match
      if (statement.block === undefined) {
        layStatement(overlay, target, path, match)
        continue
      }
      const inner = [...path, blockName(match)]
      blockAt(target, inner, originOf(overlay, match))
      layHead(overlay, target, inner, match)
      lay(overlay, target, inner, match.children)
    }
  }

  /** The definition of a kind and name that a file sees, where it stands. */
  const seen = (uri: string, { kind, name }: Definition): Target | undefined => {
    const view = workspace.view(uri)
    const definition = view?.scope.find(kind, name)
    const home = view?.documents.find(document => definition !== undefined && document.definitions.includes(definition))
    return home === undefined ? undefined : { uri: home.uri, kind, name }
  }

  const layDefinition = (overlay: Overlay, definition: Definition): void => {
    const targets = new Map<string, Target>()
    for (const uri of uris) {
      const target = seen(uri, definition)
      if (target !== undefined) targets.set(target.uri, target)
    }
    for (const target of targets.values()) {
      const { coolerKind } = found(target).definition
      if (definition.coolerKind !== undefined && definition.coolerKind !== coolerKind) {
        throw new OverlayTrouble(
          `cooler ${definition.name} is of kind ${coolerKind}; a cooler of another kind needs a name of its own.`,
          overlay.number,
        )
      }
      if (target.kind === 'course') layCourse(overlay, target)
      else lay(overlay, target, [], overlay.statements)
    }
    if (targets.size > 0) return
    if (definition.kind === 'cooler' && definition.coolerKind === undefined) {
      throw new OverlayTrouble(
        `there is no cooler ${definition.name} in the files asked for; a new one says its kind.`,
        overlay.number,
      )
    }
    // New: where a file asked for does not see it through another that has it by now.
    for (const uri of uris) {
      if (seen(uri, definition) !== undefined) continue
      const end = documentOf(uri).source.text.length
      const text = piece(overlay, overlay.base, overlay.chunk.text.length)
      apply(uri, [{ start: end, end, pieces: [own('\n'), text, own('\n')] }])
    }
  }

  /** A name that a profile is given is there. */
  const checkNames = ({ number, statements, base }: Overlay, uri: string): void => {
    for (const { word, values, statement } of statements) {
      const kind = (['part', 'cooler', 'room', 'board'] as const).find(one => one === word?.word)
      const name = values.get(kind ?? '')
      if (kind === undefined || name === undefined || !('text' in name)) continue
      if (workspace.view(uri)?.scope.find(kind, name.text) !== undefined) continue
      throw new OverlayTrouble(
        `there is no ${kind} ${name.text} in the files asked for or those they use.`,
        number,
        statement.start - base,
      )
    }
  }

  /** A group or a rail that a statement is for is one of a part in sight. */
  const checkPartNames = ({ number, statements, base }: Overlay, uri: string): void => {
    const parts = workspace.view(uri)?.scope.all('part') ?? []
    if (parts.length === 0) return
    for (const { name, of, start } of statements.flatMap(match => [...namesIn(match)])) {
      if (namesKnown(parts, of).has(name)) continue
      const what = of === 'rail' ? 'supply rail' : 'group'
      throw new OverlayTrouble(`no part in the files asked for has a ${what} ${name}.`, number, start - base)
    }
  }

  const layOverProfiles = (overlay: Overlay): void => {
    for (const uri of uris) {
      const names = documentOf(uri)
        .definitions.filter(({ kind }) => kind === 'profile')
        .map(({ name }) => name)
      for (const name of names) {
        if (profiles.length > 0 && !profiles.includes(name)) continue
        checkNames(overlay, uri)
        checkPartNames(overlay, uri)
        lay(overlay, { uri, kind: 'profile', name }, [], overlay.statements)
      }
    }
  }

  return {
    lay: (overlay: Overlay): void => {
      if (overlay.definition === undefined) layOverProfiles(overlay)
      else layDefinition(overlay, overlay.definition)
    },
    /** Notes where every place of the overlaid texts comes from. */
    note: (overlays: readonly Overlay[]): void => {
      const texts = new Map([...workspace.documents()].map(({ uri, source }) => [uri, before.get(uri) ?? source.text]))
      const arguments_ = new Map(overlays.map(({ number, text }) => [number, text]))
      for (const [uri, pieces] of made)
        notePlaces(documentOf(uri), offset => originAt(pieces, offset), texts, arguments_)
    },
  }
}

/**
 * Applies overlays to documents of a workspace, in their order, and notes where each place comes from (`shownPlace`). The
 * files themselves are not touched.
 * @param uris the files asked for
 * @param profiles names of the profiles that statements change; none for all of these files
 * Errors: `OverlayTrouble` where there is no place for one.
 */
export function layOver(
  workspace: Workspace,
  overlays: readonly Overlay[],
  uris: readonly string[],
  profiles: readonly string[] = [],
): void {
  const layer = createLayer(workspace, profiles, uris)
  for (const overlay of overlays) layer.lay(overlay)
  layer.note(overlays)
}
