/** What a file is made of: outline and folds. */

import {
  type DocumentSymbol,
  type DocumentSymbolParams,
  type FoldingRange,
  type SymbolInformation,
  SymbolKind,
} from 'vscode-languageserver'
import type { Fold } from '../features/folding.ts'
import type { OutlineSymbol } from '../features/symbols.ts'
import type { Feature } from './feature.ts'
import { throughPieces } from './pieces.ts'
import { type Lines, lowerRange } from './positions.ts'
import { answeringFor, clientUri, type Located, newest, type Session } from './session.ts'

/** Kinds that the first editors already knew. */
export const symbolKinds: Readonly<Record<OutlineSymbol['kind'], SymbolKind>> = {
  part: SymbolKind.Class,
  cooler: SymbolKind.Module,
  room: SymbolKind.Namespace,
  board: SymbolKind.Package,
  load: SymbolKind.Function,
  profile: SymbolKind.Interface,
  run: SymbolKind.Event,
  fitted: SymbolKind.Constant,
  course: SymbolKind.Enum,
  key: SymbolKind.Property,
  table: SymbolKind.Array,
}

/** A symbol as the protocol has it; its detail is always there. */
interface OwnSymbol extends DocumentSymbol {
  readonly detail: string
  readonly children?: OwnSymbol[]
}

function documentSymbol(lines: Lines, symbol: OutlineSymbol): OwnSymbol {
  return {
    name: symbol.name,
    detail: symbol.detail,
    kind: symbolKinds[symbol.kind],
    range: lines.range(symbol),
    selectionRange: lines.range(symbol.selection),
    ...(symbol.children.length === 0 ? {} : { children: symbol.children.map(child => documentSymbol(lines, child)) }),
  }
}

/** A symbol of a chunk that begins so many lines further down. */
function lowered(symbol: OwnSymbol, by: number): OwnSymbol {
  const { name, detail, kind, range, selectionRange, children } = symbol
  const own = { name, detail, kind, range: lowerRange(range, by), selectionRange: lowerRange(selectionRange, by) }
  return children === undefined ? own : { ...own, children: children.map(child => lowered(child, by)) }
}

const throughSymbols = throughPieces<OutlineSymbol, readonly OwnSymbol[]>((found, lines) =>
  found.map(symbol => documentSymbol(lines, symbol)),
)

/** The outline as a list, for clients that show no tree. */
function flat(uri: string, symbols: readonly DocumentSymbol[], container?: string): SymbolInformation[] {
  return symbols.flatMap(({ name, kind, range, children }) => [
    { name, kind, location: { uri, range }, ...(container === undefined ? {} : { containerName: container }) },
    ...flat(uri, children ?? [], name),
  ])
}

async function outlineOf(session: Session, file: Located): Promise<DocumentSymbol[] | SymbolInformation[]> {
  const symbols: DocumentSymbol[] = []
  const take = (made: readonly OwnSymbol[], line: number): void => {
    for (const symbol of made) symbols.push(lowered(symbol, line))
  }
  await throughSymbols(session.service.features.documentSymbols(file.uri), take, newest(session, file))
  return session.client.nestsSymbols ? symbols : flat(clientUri(session, file.uri), symbols)
}

export const outline: Feature = {
  advertise: () => ({ documentSymbolProvider: true }),
  register: session => {
    session.connection.onDocumentSymbol(
      answeringFor<DocumentSymbolParams, DocumentSymbol[] | SymbolInformation[] | null>(
        session,
        'Outline',
        null,
        file => outlineOf(session, file),
        'shown',
      ),
    )
  },
}

function foldingRange(lines: Lines, fold: Fold): FoldingRange {
  const { start, end } = lines.range(fold)
  return { startLine: start.line, endLine: end.line, ...(fold.kind === 'block' ? {} : { kind: fold.kind }) }
}

/** Those of many lines; of those that begin on one line, as in a text with a brace too few, the outermost. */
function foldingRanges(folds: readonly Fold[], lines: Lines): readonly FoldingRange[] {
  const byLine = new Map<number, FoldingRange>()
  for (const range of folds.map(fold => foldingRange(lines, fold))) {
    const other = byLine.get(range.startLine)
    if (range.endLine > Math.max(range.startLine, other?.endLine ?? 0)) byLine.set(range.startLine, range)
  }
  return [...byLine.values()]
}

const throughFolds = throughPieces<Fold, readonly FoldingRange[]>(foldingRanges)

async function foldsOf(session: Session, file: Located): Promise<FoldingRange[]> {
  const { client, service } = session
  const { uri, lines } = file
  const ranges: FoldingRange[] = []
  const take = (made: readonly FoldingRange[], line: number): void => {
    for (const one of made) ranges.push({ ...one, startLine: one.startLine + line, endLine: one.endLine + line })
  }
  await throughFolds(service.features.folds(uri), take, newest(session, file))
  ranges.push(...foldingRanges(service.features.regions(uri), lines))
  return ranges.sort((a, b) => a.startLine - b.startLine).slice(0, client.foldLimit)
}

export const folding: Feature = {
  advertise: () => ({ foldingRangeProvider: true }),
  register: session => {
    session.connection.onFoldingRanges(answeringFor(session, 'Folding', null, file => foldsOf(session, file), 'shown'))
  },
}
