/** The door of the features: what an editor can ask of a file. */

import type { Span } from '../../grammar/tree.ts'
import type { ComparedRun } from '../bench/run/compared.ts'
import type { PlacedFinding, Severities } from '../checks/run.ts'
import { entry } from '../semantic/definitions.ts'
import type { Judge } from '../semantic/expectations.ts'
import { uncertaintyInSlices } from '../semantic/uncertainty.ts'
import type { Workspace } from '../workspace/workspace.ts'
import { type FileEdits, fixEdits, type QuickFix, quickFixes } from './actions.ts'
import { type BeingTyped, beingTyped } from './being-typed.ts'
import type { BenchRuns } from './bench-runs.ts'
import { completions, completionText } from './completion/completion.ts'
import type { Completion, CompletionTopic, CompletionTrigger } from './completion/types.ts'
import { cursorAt } from './cursor.ts'
import { type ExpectationLine, expectationLines } from './expectations.ts'
import { evidencePart, evidenceTold } from './facts/evidence.ts'
import { runFigures } from './facts/run.ts'
import { together } from './facts/told.ts'
import { type Fold, folds, regions } from './folding.ts'
import { type Hint, hints, hintText } from './hints.ts'
import { type Hover, hover } from './hover/hover.ts'
import { prepareHover } from './hover/prepare.ts'
import {
  type ChartLens,
  chartLenses,
  courseLenses,
  type Lens,
  lenses,
  type ResolvedLens,
  resolvedLenses,
} from './lenses.ts'
import { type FileLink, fileLinks } from './links.ts'
import { editsForMoves, type Move } from './moves.ts'
import type { Piece } from './pieces.ts'
import { definitionAt, referencesAt } from './references/find.ts'
import type { DefinitionPlace, NameUse } from './references/reference.ts'
import { type Renamable, type Renaming, renamableAt, rename } from './references/rename.ts'
import { resolvedText } from './resolved.ts'
import { selectionSpans } from './selection.ts'
import { documentSymbols, type FoundSymbol, type OutlineSymbol, workspaceSymbols } from './symbols.ts'
import { type MeaningToken, meaningTokens } from './tokens.ts'

/** What an editor can ask of a file. Places are offsets of the file's text, or in pieces of it of theirs; every answer is plain data. */
export interface Features {
  hover(uri: string, offset: number): Hover | undefined
  /** Makes what a hover rests on, a few milliseconds at a time, so that other work goes between. */
  prepareHover(uri: string, offset: number): Generator<undefined, void>
  completions(uri: string, offset: number, trigger: CompletionTrigger): readonly Completion[]
  /** Documentation of one completion, as Markdown. */
  completionText(topic: CompletionTopic): string | undefined
  /** The line at an offset, as one that is being typed. */
  beingTyped(uri: string, offset: number): BeingTyped | undefined
  documentSymbols(uri: string): Iterable<Piece<OutlineSymbol>>
  folds(uri: string): Iterable<Piece<Fold>>
  regions(uri: string): readonly Fold[]
  /** The fixes of the findings that touch a stretch of the file. */
  quickFixes(uri: string, start: number, end: number, severities: Severities): readonly QuickFix[]
  fixEdits(uri: string, fix: QuickFix): readonly FileEdits[] | undefined
  /** Where the name, or the path of a `use` line, at a place leads. */
  definition(uri: string, offset: number): DefinitionPlace | undefined
  /** Every place in the loaded files that means what the name at a place means. */
  references(uri: string, offset: number): readonly NameUse[]
  renamable(uri: string, offset: number): Renamable | undefined
  rename(uri: string, offset: number, name: string): Renaming | undefined
  /** The edits that keep `use` lines right when files or folders move. */
  editsForMoves(moves: readonly Move[]): readonly FileEdits[]
  workspaceSymbols(query: string): readonly FoundSymbol[]
  meaningTokens(uri: string): Iterable<Piece<MeaningToken>>
  selectionSpans(uri: string, offset: number): readonly Span[]
  fileLinks(uri: string): readonly FileLink[]
  hints(uri: string, within?: Span): readonly Hint[]
  /** What stands behind a hint, as Markdown. */
  hintText(uri: string, hint: Pick<Hint, 'kind' | 'key'>): string | undefined
  lenses(uri: string): readonly Lens[]
  resolvedLenses(uri: string): readonly ResolvedLens[]
  /** Where a line above leads to the charts. */
  chartLenses(uri: string): readonly ChartLens[]
  courseLenses(uri: string): readonly ChartLens[]
  /** A profile with all that it starts from, written out; undefined where the file has none of that name. */
  resolved(uri: string, profile: string): string | undefined
  /**
   * Every expectation of a file's profiles and what it comes to.
   * @param within a stretch of the file: without those of profiles elsewhere
   */
  expectations(uri: string, within?: Span): readonly ExpectationLine[]
}

/** The run whose name stands at the offset, or how it ended. */
function runAt(bench: BenchRuns, workspace: Workspace, uri: string, offset: number): RunHere | undefined {
  const starts = workspace.document(uri)?.starts
  for (const run of bench.compared(uri)) {
    const { definition } = run.record
    const base = starts?.get(definition.chunk)
    const touches = ({ start, end }: Span): boolean =>
      base !== undefined && offset >= base + start && offset <= base + end
    if (touches(definition.nameSpan)) return { run, isName: true }
    const end = entry(definition.match, 'held') ?? entry(definition.match, 'stopped')
    if (end !== undefined && touches(end.statement)) return { run, isName: false }
  }
  return undefined
}

interface RunHere {
  readonly run: ComparedRun
  readonly isName: boolean
}

function* prepareAll(
  bench: BenchRuns,
  workspace: Workspace,
  uri: string,
  offset: number,
  judge: Judge,
): Generator<undefined, void> {
  const here = runAt(bench, workspace, uri, offset)
  const predicted = here?.run.predicted
  if (predicted !== undefined) yield* uncertaintyInSlices(predicted.evaluation.input, predicted.prediction, false)
  const view = workspace.view(uri)
  if (view !== undefined) yield* bench.evidenceInSlices(evidencePart(cursorAt(view, offset), here?.run))
  yield* prepareHover(workspace, uri, offset, judge)
}

/** @param findings what is found in a file under these severities */
export function createFeatures(
  workspace: Workspace,
  bench: BenchRuns,
  judge: Judge,
  findings: (uri: string, severities: Severities) => readonly PlacedFinding[],
): Features {
  return {
    hover: (uri, offset) => {
      const view = workspace.view(uri)
      if (view === undefined) return undefined
      const here = runAt(bench, workspace, uri, offset)
      const cursor = cursorAt(view, offset)
      const evidence = bench.evidence(evidencePart(cursor, here?.run))
      // On the name of a run its hover goes on with what was measured, and with what it says of the voltage.
      return hover(
        workspace,
        uri,
        offset,
        judge,
        together(
          here?.isName ? runFigures(here.run) : undefined,
          evidence && evidenceTold(evidence, cursor, here?.run),
        ),
      )
    },
    prepareHover: (uri, offset) => prepareAll(bench, workspace, uri, offset, judge),
    completions: (uri, offset, trigger) => completions(workspace, uri, offset, trigger),
    completionText: topic => completionText(workspace, topic, judge),
    beingTyped: (uri, offset) => beingTyped(workspace, uri, offset),
    documentSymbols: uri => documentSymbols(workspace, uri),
    folds: uri => folds(workspace, uri),
    regions: uri => regions(workspace, uri),
    quickFixes: (uri, start, end, severities) => quickFixes(findings(uri, severities), start, end),
    fixEdits: (uri, fix) => fixEdits(workspace, uri, fix.finding, fix.index),
    definition: (uri, offset) => definitionAt(workspace, uri, offset),
    references: (uri, offset) => referencesAt(workspace, uri, offset),
    renamable: (uri, offset) => renamableAt(workspace, uri, offset),
    rename: (uri, offset, name) => rename(workspace, uri, offset, name),
    editsForMoves: moves => editsForMoves(workspace, moves),
    workspaceSymbols: query => workspaceSymbols(workspace, query),
    meaningTokens: uri => meaningTokens(workspace, uri),
    selectionSpans: (uri, offset) => selectionSpans(workspace, uri, offset),
    fileLinks: uri => fileLinks(workspace, bench, uri),
    hints: (uri, within) => hints(workspace, uri, within),
    hintText: (uri, hint) => hintText(workspace, uri, hint, judge),
    lenses: uri => lenses(workspace, bench, uri, judge),
    resolvedLenses: uri => resolvedLenses(workspace, uri),
    chartLenses: uri => chartLenses(workspace, bench, uri),
    courseLenses: uri => courseLenses(workspace, uri),
    resolved: (uri, profile) => resolvedText(workspace, uri, profile),
    expectations: (uri, within) => expectationLines(workspace, uri, judge, within),
  }
}
