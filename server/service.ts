/** The façade: the one door for the language server and the command. */

import { parseFile } from '../grammar/file.ts'
import { keptWhile } from '../grammar/once.ts'
import { format, formatEdits, type TextEdit } from '../grammar/printer.ts'
import type { Span } from '../grammar/tree.ts'
import type { LogSource } from './bench/log/source.ts'
import { type Preparing, prepareFindings } from './checks/prepare.ts'
import {
  type ChunkFindings,
  evaluations,
  findByChunk,
  type PlacedFinding,
  placedFindings,
  type Severities,
  usualSeverities,
} from './checks/run.ts'
import type { BenchFacts } from './checks/types.ts'
import { type BenchRuns, createBenchRuns } from './features/bench-runs.ts'
import { createFeatures, type Features } from './features/index.ts'
import { type Reach, reachInSlices } from './features/reach/index.ts'
import type { RevisionSource } from './features/run-revisions.ts'
import type { Definition } from './semantic/definitions.ts'
import { type Evaluation, evaluateWith, type StandIns } from './semantic/evaluate.ts'
import { type Expectation, expectationsOf } from './semantic/expectations.ts'
import type { RunsOverTime } from './semantic/over-time.ts'
import { probabilityInSlices, probabilityOf } from './semantic/probability.ts'
import type { Sourced } from './semantic/profile.ts'
import type { Bounds } from './workspace/bounds.ts'
import type { FileSystem } from './workspace/files.ts'
import { createWorkspace, type Extent, type FileView, isWhole, type Workspace } from './workspace/workspace.ts'

export { didYouMean } from '../grammar/nearest.ts'
export { keptWhile, onceFor } from '../grammar/once.ts'
export { applyEdits } from '../grammar/printer.ts'
export { baseUnit, findUnit, toBase } from '../grammar/units/units.ts'
export type { RunsFit } from './bench/fit/runs.ts'
export { figureUnit, groupOfFigure, kindOfFigure } from './bench/log/figures.ts'
export type { LogFile, LogSource } from './bench/log/source.ts'
export { type ComparedFigure, type ComparedRun, figuresOfCourse } from './bench/run/compared.ts'
export { underText } from './bench/run/record.ts'
export {
  courseLogText,
  figureCells,
  grouped,
  logText,
  oddText,
  outcomeText,
  settingsText,
  settledText,
  stepName,
  unmeasuredText,
} from './bench/run/wording.ts'
export { pageOf } from './checks/page.ts'
export { checks, findCheck } from './checks/registry.ts'
export { placedFindings } from './checks/run.ts'

export { findingKeys, findingsWhileTyping, isUnfinished } from './features/being-typed.ts'
export type { LoadOptions } from './features/bench-runs.ts'

export {
  compareMarkdown,
  compareProfiles,
  compareWords,
  runsOfSide,
} from './features/compare/index.ts'
export {
  type CourseProgress,
  courseAnswers,
  courseFigures,
  courseGlance,
  courseSeries,
  eventText,
  type FollowedCourse,
  followAllInSlices,
  loadNameOf,
} from './features/courses.ts'
export {
  evidenceLenses,
  evidenceMarkdown,
  evidenceWords,
  ledgerEdits,
  type NextTrials,
  nextTrials,
  nextWords,
  noTrialText,
  nothingText,
  type PartLedger,
  partLedgers,
  type TrialProposal,
} from './features/evidence/index.ts'
export { courseMarkdown } from './features/facts/course.ts'
export { fitMarkdown, fitPart, fitWords, partsAt, partsOf } from './features/fit/index.ts'
export { drawsText, intervalSource, type Range, restsOnUsual } from './features/intervals.ts'
export { commandLink } from './features/markdown.ts'
export { newRun, type RunChoices, runChoices, runEdit } from './features/new-run.ts'
export {
  isOverlaid,
  layOver,
  type Overlay,
  OverlayTrouble,
  overlayName,
  type ReadExpectation,
  readExpectation,
  readOverlay,
  shownPlace,
} from './features/overlay/index.ts'
export {
  type Differences,
  type PerProfile,
  perInSlices,
  perMarkdown,
  perWords,
} from './features/per/index.ts'
export { allFiguresOf, allWithIntervals, figuresOf, type PredictionFigures } from './features/prediction-figures.ts'
export { profilesOn } from './features/profiles.ts'
export {
  acceptedCodes,
  asksOfTrials,
  bandRowsOf,
  noProposalText,
  nothingAsked,
  type Proposal,
  type ProposeOptions,
  planEdits,
  proposeInSlices,
  proposeWords,
  unwritableText,
} from './features/propose/index.ts'
export { type Reach, type ReachAnswer, type ReachChange, ReachTrouble, reachWords } from './features/reach/index.ts'
export {
  type Making,
  makeReport,
  reportMarkdown,
  reportPage,
  reportProfiles,
} from './features/report/index.ts'
export { runsToLookUp } from './features/run-lenses.ts'
export { type Series, seriesOf } from './features/series.ts'
export { profileIn, sheetFor, sheetHtml, sheetMarkdown, sheetWords } from './features/sheet/index.ts'
export { changesSince, isWorse, sinceMarkdown, sinceWords, whatIfMarkdown } from './features/since/index.ts'
export {
  type AskedView,
  type BesideMap,
  chartStyle,
  csvText,
  type Drawable,
  drawnCooling,
  drawnCourse,
  drawnLedger,
  drawnMap,
  drawnRun,
  drawnWholeCourse,
  homeOf,
  hoverPicture,
  loadsToDraw,
  type Picture,
  type ShownView,
  type Subject,
  subjectAt,
  svgElement,
  svgFile,
  type ViewKind,
  type ViewOptions,
  viewInSlices,
  whatIfEdits,
  whyNotDrawn,
} from './features/views/index.ts'
export {
  askForCourses,
  coursesMarkdown,
  type FieldTrouble,
  fieldCompletions,
  fieldInFile,
  inField,
  overlayLines,
  statementsOf,
  type WhatIf,
  whatIf,
} from './features/what-if/index.ts'
export {
  inFileOrder,
  worseFirst,
  worstCorners,
  worstOfLoads,
  worstPredictions,
} from './features/worst-corners.ts'
export { finished } from './model/slices.ts'
export { runsCold } from './semantic/coolers/index.ts'
export { doubtedOf } from './semantic/doubted.ts'
export { readStateOf, unreadWith } from './semantic/unread.ts'
export * as wording from './wording/index.ts'
export { unbroken } from './wording/unbroken.ts'

/** Names of definitions that take the place of those a profile names. */
export type StandInNames = Partial<Readonly<Record<keyof StandIns, string>>>

/**
 * The façade: the one door for the language server and for the command line. Everything behind it is plain data;
 * nothing here knows of a protocol or of a terminal. All methods but `workspace.load` answer at once from what is loaded.
 */
export interface Service {
  readonly workspace: Workspace
  /** What an editor asks of one file. */
  readonly features: Features
  /** Runs of the bench: measured beside predicted, and fits. */
  readonly bench: BenchRuns
  /** Everything found in a file, sorted by place; empty for a file that is not loaded. */
  findings(uri: string, severities?: Severities): readonly PlacedFinding[]
  /** The same, chunk by chunk: after an edit, what is found in a chunk is the very same list where nothing of it changed. */
  findingsByChunk(uri: string, severities?: Severities): readonly ChunkFindings[]
  /**
   * Makes what `findings` rests on, a load or a check a step; after the last, `findings` has little left to do.
   * @param seen the stretch of the file whose profiles come first
   */
  prepareFindings(uri: string, seen?: Span): Preparing
  /** The profiles of a file, resolved and predicted; where it is long those that have been. */
  evaluations(uri: string): readonly Evaluation[]
  /**
   * The profiles of a file as if they named these definitions instead.
   * @returns the first name that the file does not see, where there is one
   */
  evaluationsWith(uri: string, names: StandInNames): readonly Evaluation[] | { readonly unknown: string }
  /** The expectations of one evaluated profile. */
  expectations(evaluation: Evaluation): readonly Expectation[]
  /** How probable it is that one holds, where constants carry `±`: up to some hundred milliseconds. */
  probability(evaluation: Evaluation, expectation: Expectation): number | undefined
  /** The same, a few milliseconds at a time. */
  probabilityInSlices(evaluation: Evaluation, expectation: Expectation): Generator<undefined, number | undefined>
  /** Runs over time that expectations wait for: how many, working on them for a time, making all, forgetting those out of date. */
  readonly runs: Omit<RunsOverTime, 'run'>
  /** The edits that format a file; none where it is formatted. */
  formatting(uri: string): readonly TextEdit[]
}

export interface ServiceOptions {
  /** Where the logs of runs are read from; without it none is read, and nothing is said of them. */
  readonly logs?: LogSource | undefined
  /** What is done with files of a great many lines; without it they are as any other. */
  readonly extent?: Extent | undefined
  /** Where the profiles of runs are read as they were; without it runs are compared with those of now. */
  readonly revisions?: RevisionSource | undefined
  /** Which file may lead to which, by `use` and `log`; without it any to any. */
  readonly bounds?: Bounds | undefined
}

/** Evicted with the view, so with any change of what the file sees; asked for by findings and by the fixes for them. */
const found = keptWhile<FileView, readonly ChunkFindings[]>()

/**
 * What is made of a file's runs and profiles was made; evicted with the view, made again where a run is another, or what runs
 * say against a part.
 */
const prepared = keptWhile<FileView, true>()

export function createService(files: FileSystem, { logs, extent, revisions, bounds }: ServiceOptions = {}): Service {
  const workspace = createWorkspace(files, extent, bounds)
  const bench = createBenchRuns(workspace, logs, revisions, bounds)
  const judge = (evaluation: Evaluation): readonly Expectation[] =>
    expectationsOf(evaluation, bench.evidence(evaluation.profile.part))
  const factsOf = (uri: string): BenchFacts => ({
    runs: bench.compared(uri),
    evidence: bench.evidence,
    evidenceInSlices: bench.evidenceInSlices,
  })
  const findingsByChunk = (uri: string, severities = usualSeverities): readonly ChunkFindings[] => {
    const view = workspace.view(uri)
    if (view === undefined) return []
    const usedByOthers = workspace.usersOf(uri).length > 0
    const facts = factsOf(uri)
    const shown = view.scope.all('part').map(part => facts.evidence(part))
    const rests = [severities, usedByOthers, ...facts.runs, ...shown]
    const before = found.of(view, rests)
    if (before !== undefined) return before
    // Asked before: a profile that others start from may be predicted on the way, when its own findings are passed over.
    const whole = isWhole(view)
    const made = findByChunk(view, usedByOthers, severities, facts)
    // What waits for a run over time, or for profiles further away, is found again once they are made.
    return workspace.overTime.pending() === 0 && whole ? found.keep(view, rests, made) : made
  }
  const findings = (uri: string, severities?: Severities) => placedFindings(findingsByChunk(uri, severities))
  return {
    workspace,
    features: createFeatures(workspace, bench, judge, findings),
    bench,
    findings,
    findingsByChunk,
    prepareFindings: function* (uri, seen) {
      const view = workspace.view(uri)
      if (view === undefined) return
      const runs = yield* bench.comparedInSlices(uri)
      const rests: unknown[] = [...runs]
      for (const part of view.scope.all('part')) rests.push(yield* bench.evidenceInSlices(part))
      if (isWhole(view) && prepared.of(view, rests) !== undefined) return
      yield* prepareFindings(view, factsOf(uri), seen)
      if (isWhole(view)) prepared.keep(view, rests, true)
    },
    evaluations: uri => {
      const view = workspace.view(uri)
      return view === undefined ? [] : evaluations(view)
    },
    evaluationsWith: (uri, names) => {
      const view = workspace.view(uri)
      if (view === undefined) return []
      const standIns: Partial<Record<keyof StandIns, Definition>> = {}
      for (const [kind, name] of Object.entries(names) as [keyof StandIns, string][]) {
        const found = view.scope.find(kind, name)
        if (found === undefined) return { unknown: `${kind} ${name}` }
        standIns[kind] = found
      }
      const profiles = view.document.definitions.filter(({ kind }) => kind === 'profile')
      return profiles.map(definition => evaluateWith(view.scope, definition, standIns))
    },
    expectations: judge,
    probability: probabilityOf,
    probabilityInSlices,
    runs: workspace.overTime,
    formatting: uri => {
      const document = workspace.document(uri)
      return document === undefined ? [] : formatEdits(document.source)
    },
  }
}

/**
 * What it would take for an expectation of a profile to hold, a few milliseconds at a time.
 * Errors: `ReachTrouble`.
 */
export function reachSlices(
  { workspace, bench }: Service,
  uri: string,
  profile: string,
  sourced: Sourced,
  severities: Severities = {},
): Generator<undefined, Reach> {
  return reachInSlices(workspace, uri, profile, sourced, { evidence: bench.evidence, severities })
}

/** A text as the formatter writes it. */
export function formattedText(text: string): string {
  return format(parseFile(text))
}
