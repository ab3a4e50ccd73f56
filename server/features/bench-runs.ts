/** Runs of the bench for editor and command: logs and revisions looked up, comparisons, fits. */

import { onceFor } from '../../grammar/once.ts'
import type { PartEvidence } from '../bench/evidence/evidence.ts'
import { carriedOver } from '../bench/fit/carried.ts'
import { companionBlock, companionHead, saysTheSame } from '../bench/fit/companion.ts'
import { type FitEdit, fitEdits, fittedConstants, type WrittenConstant } from '../bench/fit/edits.ts'
import { constantKey, fitConstants } from '../bench/fit/fit.ts'
import type { TellSteps } from '../bench/fit/rounds.ts'
import { fitRunsInSlices, type RunsFit, type RunsFitOptions } from '../bench/fit/runs.ts'
import type { LogResult, ReadOptions } from '../bench/log/reader.ts'
import { type LogSource, memoryLogs } from '../bench/log/source.ts'
import { createLogStore } from '../bench/log/store.ts'
import { type ComparedRun, compareRun } from '../bench/run/compared.ts'
import { type RunRecord, runRecords } from '../bench/run/record.ts'
import { finished } from '../model/index.ts'
import type { Definition } from '../semantic/definitions.ts'
import { doubtedOf } from '../semantic/doubted.ts'
import { type Bounds, outside } from '../workspace/bounds.ts'
import { resolveUri } from '../workspace/files.ts'
import type { Document, FileView, Workspace } from '../workspace/workspace.ts'
import { coolersOf } from './around-part.ts'
import { createEvidenceStore } from './part-evidence.ts'
import { createRunRevisions, type RevisionSource } from './run-revisions.ts'
import { addUse } from './uses.ts'

/** Runs of the bench with their logs: measured beside predicted, and fits. */
export interface BenchRuns {
  /**
   * Reads the logs that the runs of a file name; ones read before are not read again. Revisions that they name are looked
   * up only where that is asked for: it starts git.
   */
  loadLogs(uri: string, options?: LoadOptions): Promise<void>
  /** Looks up the revisions that the runs of a file name; those had before are not looked up again. */
  lookUpRevisions(uri: string, of: 'own' | 'seen'): Promise<void>
  /** The logs that runs name, and what is read of them; those of a file, or of all that it sees. */
  logs(uri: string, of: 'own' | 'seen'): readonly NamedLog[]
  /** Forgets the logs at these addresses, as when they changed. */
  forgetLogs(uris: Iterable<string>): void
  /** The runs of a file beside their predictions. A log that is not read yet gives no figures. */
  compared(uri: string): readonly ComparedRun[]
  /** The runs that a file sees, its own and those of the files it uses. */
  seen(uri: string): readonly ComparedRun[]
  /**
   * What the runs of all loaded files that see a part, and the points it is known to run at, show of its voltages;
   * undefined where nothing was tried. The same object as long as none of them changed.
   */
  evidence(part: Definition | undefined): PartEvidence | undefined
  /** The same, a few milliseconds at a time. */
  evidenceInSlices(part: Definition | undefined): Generator<undefined, PartEvidence | undefined>
  /** Whether any run stopped, by what it says, its log unread: only such a one speaks against a voltage. */
  hasStopped(): boolean
  /** Whether that was found before, and takes no time any more. */
  hasEvidence(part: Definition): boolean
  /** Refits a part's constants from runs; undefined where the file sees no such part. */
  fit(uri: string, part: string, runs: readonly ComparedRun[], options?: RunsFitOptions): RunsFit | undefined
  /** The same, a few looks at a log at a time. @param tell hears how far it is */
  fitInSlices(
    uri: string,
    part: string,
    runs: readonly ComparedRun[],
    tell?: TellSteps,
  ): Generator<undefined, RunsFit | undefined>
  /** The runs of a file beside their predictions, one at a time. */
  comparedInSlices(uri: string): Generator<undefined, readonly ComparedRun[]>
  /**
   * The lines that a fit changes, by file, in offsets of the file's text and in order; the part's companion is among the
   * files.
   * @param options `intoHome`: no file can be made, so what belongs into it goes behind the part’s own text
   */
  edits(uri: string, fit: RunsFit, options?: { readonly intoHome?: boolean }): readonly FittedFile[]
  /** Reads the file that is the part's companion, where there is one that its file does not use. */
  loadCompanion(part: Definition): Promise<void>
}

export interface LoadOptions extends ReadOptions {
  readonly revisions?: 'look-up' | 'as-known'
}

interface NamedLog {
  readonly record: RunRecord
  readonly uri: string
  /** Undefined where it has not been read. */
  readonly reading: LogResult | undefined
}

interface PlacedEdit extends Pick<FitEdit, 'text' | 'constants' | 'guess'> {
  readonly start: number
  readonly end: number
  /** How many correlations it writes. */
  readonly correlations: number
}

/** A file that a fit changes. */
interface FittedFile {
  readonly uri: string
  readonly edits: readonly PlacedEdit[]
  /** There is no such file yet. */
  readonly isNew: boolean
}

/** Kept with the document. */
const hasRuns = onceFor((document: Document): boolean => document.definitions.some(({ kind }) => kind === 'run'))

/**
 * @param source undefined where there is nothing to read logs from
 * @param revisionSource undefined where older revisions cannot be read
 * @param bounds which file may lead to which
 */
export function createBenchRuns(
  workspace: Workspace,
  source: LogSource | undefined,
  revisionSource: RevisionSource | undefined,
  bounds: Bounds = () => true,
): BenchRuns {
  const store = createLogStore(source ?? memoryLogs({}))
  const revisions = createRunRevisions(revisionSource, bounds)
  /** Where a run's log is; `outside` where its file may not lead there. */
  const placeOfLog = (view: FileView, { definition, log }: RunRecord): { uri: string } | 'outside' | undefined => {
    const document = view.documents.find(one => one.starts.has(definition.chunk))
    if (log === undefined || document === undefined) return undefined
    const uri = resolveUri(document.uri, log.path)
    return uri === undefined ? undefined : bounds(document.uri, uri) ? { uri } : 'outside'
  }
  const logUri = (view: FileView, record: RunRecord): string | undefined => {
    const place = placeOfLog(view, record)
    return place === 'outside' ? undefined : place?.uri
  }
  const readingOf = (view: FileView, record: RunRecord): LogResult | undefined => {
    const place = placeOfLog(view, record)
    if (place === 'outside') return { state: 'unreadable', why: outside }
    return place === undefined || record.log === undefined ? undefined : store.reading(place.uri, record.log)
  }
  const recordsOf = (view: FileView, own: 'own' | 'seen'): readonly RunRecord[] =>
    (own === 'own' ? [view.document] : view.documents)
      .filter(hasRuns)
      .flatMap(document => runRecords(document.definitions))
  const comparedOf = (view: FileView, record: RunRecord): ComparedRun => {
    return compareRun(view.scope, record, readingOf(view, record), revisions.of(view, record))
  }
  const comparedIn = (uri: string, own: 'own' | 'seen'): readonly ComparedRun[] => {
    const view = workspace.view(uri)
    return view === undefined ? [] : recordsOf(view, own).map(record => comparedOf(view, record))
  }
  const shown = createEvidenceStore()
  const runsOn = (part: Definition): readonly ComparedRun[] => {
    // Hundreds of files may use a part; what they see is put together only where a run stands.
    const documents = [...workspace.documents()]
    const withRuns = documents.filter(hasRuns)
    const home = withRuns.length === 0 ? undefined : documents.find(({ starts }) => starts.has(part.chunk))
    if (home === undefined) return []
    const reach = new Set([home.uri, ...workspace.usersOf(home.uri)])
    const ended = withRuns.flatMap(({ uri }) => {
      const view = reach.has(uri) ? workspace.view(uri) : undefined
      const records = view === undefined ? [] : recordsOf(view, 'own').filter(({ outcome }) => outcome !== undefined)
      return view === undefined ? [] : records.map(record => ({ view, record }))
    })
    return ended
      .map(({ view, record }) => comparedOf(view, record))
      .filter(({ predicted }) => {
        const profile = predicted?.evaluation.profile
        return profile?.part === part && doubtedOf(profile).length === 0
      })
  }
  const fitInSlices = function* (
    uri: string,
    part: string,
    runs: readonly ComparedRun[],
    options?: RunsFitOptions,
    tell?: TellSteps,
  ): Generator<undefined, RunsFit | undefined> {
    const view = workspace.view(uri)
    const definition = view?.scope.find('part', part)
    if (view === undefined || definition === undefined) return undefined
    const companion = view.scope.find('fitted', part)
    const own = { coolers: coolersOf(workspace, definition), ...(companion && { companion }), ...options }
    return yield* fitRunsInSlices(definition, runs, own, tell)
  }
  return {
    loadLogs: async (uri, options) => {
      const view = workspace.view(uri)
      if (view === undefined || source === undefined) return
      // One after the other: a log may be of several hundred megabytes.
      for (const record of recordsOf(view, 'seen')) {
        const address = logUri(view, record)
        if (address !== undefined && record.log !== undefined) await store.load(address, record.log, options)
        if (options?.revisions === 'look-up') await revisions.load(view, record)
      }
    },
    lookUpRevisions: async (uri, of) => {
      const view = workspace.view(uri)
      for (const record of view === undefined ? [] : recordsOf(view, of)) if (view) await revisions.load(view, record)
    },
    logs: (uri, of) => {
      const view = workspace.view(uri)
      const records = view === undefined ? [] : recordsOf(view, of)
      return records.flatMap(record => {
        const address = view && logUri(view, record)
        if (address === undefined || record.log === undefined) return []
        return [{ record, uri: address, reading: store.reading(address, record.log) }]
      })
    },
    forgetLogs: uris => store.forget(uris),
    compared: uri => comparedIn(uri, 'own'),
    seen: uri => comparedIn(uri, 'seen'),
    evidence: part => part && shown.of(part, runsOn(part)),
    evidenceInSlices: function* (part) {
      return part && (yield* shown.inSlices(part, runsOn(part)))
    },
    hasStopped: () =>
      [...workspace.documents()]
        .filter(hasRuns)
        .some(({ definitions }) => runRecords(definitions).some(({ outcome }) => outcome?.kind === 'stopped')),
    hasEvidence: part => shown.isFound(part, runsOn(part)),
    fit: (...given) => finished(fitInSlices(...given)),
    fitInSlices: (uri, part, runs, tell) => fitInSlices(uri, part, runs, undefined, tell),
    comparedInSlices: function* (uri) {
      const view = workspace.view(uri)
      const found: ComparedRun[] = []
      for (const record of view === undefined ? [] : recordsOf(view, 'own')) {
        if (view !== undefined) found.push(comparedOf(view, record))
        yield
      }
      return found
    },
    loadCompanion: async part => {
      const home = [...workspace.documents()].find(({ starts }) => starts.has(part.chunk))
      const address = home && companionUri(home, part)
      if (address !== undefined && home !== undefined && bounds(home.uri, address)) await workspace.load([address])
    },
    edits: (uri, fit, options) => {
      // Runs of files that use this one may have been made with coolers that it does not see.
      const views = [uri, ...workspace.usersOf(uri)].flatMap(one => workspace.view(one) ?? [])
      const documents = [...new Set(views.flatMap(view => view.documents))]
      const found = fittedConstants(fit)
      const isSame = saysTheSame(found, fit.companion)
      const constants = isSame ? { ...found, constants: [], correlation: [] } : found
      const { edits: changes, written } = fitEdits(constants)
      const edits = [...changes, ...carriedInto(workspace, fit, written)]
      const own = [...new Set([...documents, ...workspace.documents()])].flatMap(document => {
        const placed = edits.flatMap(({ chunk, start, end, constants: count, ...rest }: FitEdit): PlacedEdit[] => {
          const base = document.starts.get(chunk)
          if (base === undefined) return []
          return [{ ...rest, start: base + start, end: base + end, constants: count, correlations: 0 }]
        })
        return placed.length === 0 ? [] : [{ uri: document.uri, edits: placed, isNew: false }]
      })
      const block = isSame ? undefined : companionBlock(constants, written, fit.companion)
      const beside = companionEdits(workspace, documents, fit, block, options?.intoHome === true)
      const byUri = new Map<string, FittedFile>()
      for (const file of [...own, ...beside]) {
        const all = [...(byUri.get(file.uri)?.edits ?? []), ...file.edits]
        byUri.set(file.uri, { ...file, edits: all.sort((a, b) => a.start - b.start) })
      }
      return [...byUri.values()]
    },
  }
}

/** The edits of other parts' companions, which share a cooler with the part. */
function carriedInto(workspace: Workspace, { part, coolers }: RunsFit, written: readonly WrittenConstant[]) {
  const companions = [...workspace.documents()].flatMap(({ definitions }) =>
    definitions.filter(({ kind, name }) => kind === 'fitted' && name !== part.name),
  )
  if (companions.length === 0) return []
  const stated = new Map(fitConstants({ part, coolers }).map(one => [constantKey(one), one]))
  return carriedOver(companions, written, stated)
}

/** The edits of the part's companion, and the `use` that brings it in. */
function companionEdits(
  workspace: Workspace,
  documents: readonly Document[],
  { part, companion }: RunsFit,
  block: { readonly text: string; readonly correlations: number } | undefined,
  intoHome: boolean,
): readonly FittedFile[] {
  const home = documents.find(({ starts }) => starts.has(part.chunk))
  if (home === undefined || block === undefined) return []
  const uri = intoHome ? home.uri : companionUri(home, part)
  if (uri === undefined) return []
  const counts = { constants: 0, correlations: block.correlations }
  const old = workspace.document(uri)
  // The block that is seen, or one in a file that nothing uses.
  const before = companion ?? old?.definitions.find(({ kind, name }) => kind === 'fitted' && name === part.name)
  const there =
    before && [...documents, ...(old === undefined ? [] : [old])].find(({ starts }) => starts.has(before.chunk))
  const use = { ...addUse(home, companionPath(part)), constants: 0, correlations: 0 }
  const isUsed = intoHome || companion !== undefined || home.useUris.includes(uri)
  const used: readonly FittedFile[] = isUsed ? [] : [{ uri: home.uri, edits: [use], isNew: false }]
  if (before !== undefined && there !== undefined) {
    const base = there.starts.get(before.chunk) ?? 0
    const { start, end } = before.match.statement
    if (isWrittenAs(before.chunk.text.slice(start, end), block.text)) return used
    const edit = { start: base + start, end: base + end, text: block.text, ...counts }
    return [...used, { uri: there.uri, edits: [edit], isNew: false }]
  }
  const at = old?.source.text.length ?? 0
  const text = `${old === undefined ? companionHead : ''}\n${block.text}\n`
  return [...used, { uri, edits: [{ start: at, end: at, text, ...counts }], isNew: old === undefined }]
}

const companionPath = ({ name }: Definition): string => `${name}.fitted.detent`
const companionUri = (home: Document, part: Definition): string | undefined => resolveUri(home.uri, companionPath(part))

/** Whether a text says the same, however it is laid out. */
function isWrittenAs(before: string, after: string): boolean {
  const [one, other] = [before, after].map(text => text.replace(/\s+/g, ' '))
  return one === other
}
