/** What `check` found, in the shape that every output format prints. */

import type { Severities } from '../checks/run.ts'
import type { Severity } from '../checks/types.ts'
import { isOverlaid, overlayName, readStateOf, type Service, shownPlace } from '../service.ts'
import type { Document } from '../workspace/workspace.ts'
import type { AskedFile } from './files.ts'
import { type Lines, linesOf, type Position } from './lines.ts'

/** The keys of the output contract; those that do not apply are absent. */
export interface ReportedFinding {
  readonly file: string
  readonly line: number
  readonly column: number
  readonly endLine: number
  /** One past the last column. */
  readonly endColumn: number
  readonly severity: Severity
  readonly code: string
  readonly message: string
  readonly page: string
  readonly profile?: string
  readonly load?: string
  readonly course?: string
  readonly room?: string
  readonly group?: string
}

export interface ReportedExpectation {
  readonly file: string
  readonly line: number
  readonly profile: string
  readonly text: string
  /** The figure that decides, in `unit`; null where there is none. */
  readonly predicted: number | null
  readonly unit: string
  /** Null where it cannot be decided. */
  readonly holds: boolean | null
  /** The course that it is about; absent for a load. */
  readonly course?: string
  readonly probability?: number
}

/** A file that is used and was not asked for, whose own findings are not reported. */
interface UnreadFile {
  readonly file: string
  /** Where it does not read. */
  readonly lines: readonly number[]
}

/** What formats with a place for each line say of one that does not read, of a file that is used. */
export const unreadText = 'This line of a file that is used does not read: what rests on it is not judged.'

export interface Report {
  readonly files: readonly string[]
  /** What does not read of the files that these use: what rests on it is not judged. */
  readonly unread: readonly UnreadFile[]
  readonly findings: readonly ReportedFinding[]
  readonly expectations: readonly ReportedExpectation[]
  /** What is predicted, as a person writes it: `4.653 GHz`. */
  readonly predictedTexts: ReadonlyMap<ReportedExpectation, string>
  /** Why an expectation is undecided, for the formats that tell. */
  readonly undecided: ReadonlyMap<ReportedExpectation, string>
  /** The text of the line a finding begins on: what identifies it when lines move. */
  readonly lineTexts: ReadonlyMap<ReportedFinding, string>
}

function compare<T>(...keys: ((item: T) => number | string)[]): (a: T, b: T) => number {
  return (a, b) => {
    for (const key of keys) {
      const [left, right] = [key(a), key(b)]
      if (left !== right) return left < right ? -1 : 1
    }
    return 0
  }
}

const byFinding = compare<ReportedFinding>(
  finding => finding.file,
  finding => finding.line,
  finding => finding.column,
  finding => finding.endLine,
  finding => finding.endColumn,
  finding => finding.code,
  finding => finding.profile ?? '',
  finding => finding.message,
)

const byExpectation = compare<ReportedExpectation>(
  expectation => expectation.file,
  expectation => expectation.line,
  expectation => expectation.profile,
  expectation => expectation.text,
)

/** What does not read of a document; what is laid over it has findings of its own. */
function unreadLinesOf(document: Document, lines: Lines): readonly number[] {
  if (isOverlaid(document)) return []
  const found = [...document.starts].flatMap(([chunk, base]) =>
    readStateOf(chunk).unread.map(({ start }) => lines.at(base + start).line),
  )
  return [...new Set(found)].sort((a, b) => a - b)
}

/** One past a place: where a stretch ends whose last character is there. */
const after = ({ line, column }: Position): Position => ({
  line,
  column: column + 1,
})

/** A report in the making: what was added may be forgotten. */
export interface Reporter {
  /** Checks a file, which is loaded. */
  readonly add: (file: AskedFile) => void
  readonly report: () => Report
}

/**
 * @param files all that are reported on
 * @param shown gives a file's name for the output
 * @param chances whether to work out how probable expectations are, which may take a second for each
 */
export function reporter(
  service: Service,
  files: readonly AskedFile[],
  severities: Severities,
  shown: (uri: string) => string,
  chances = false,
): Reporter {
  const findings: ReportedFinding[] = []
  const expectations: ReportedExpectation[] = []
  const predictedTexts = new Map<ReportedExpectation, string>()
  const undecided = new Map<ReportedExpectation, string>()
  const lineTexts = new Map<ReportedFinding, string>()
  const lines = new Map<string, Lines>()
  const laid = new Set<string>()
  const asked = new Set(files.map(({ uri }) => uri))
  const unread = new Map<string, UnreadFile>()
  const linesIn = (document: Document): Lines => {
    let known = lines.get(document.uri)
    if (known === undefined) {
      known = linesOf(document.source.text)
      lines.set(document.uri, known)
    }
    return known
  }
  const add = ({ uri, shown: file }: AskedFile): void => {
    const view = service.workspace.view(uri)
    if (view === undefined) return
    const own = linesIn(view.document)
    for (const document of view.documents) {
      if (asked.has(document.uri) || unread.has(document.uri)) continue
      unread.set(document.uri, { file: shown(document.uri), lines: unreadLinesOf(document, linesIn(document)) })
    }
    for (const { finding, start, end } of service.findings(uri, severities)) {
      const place = isOverlaid(view.document) ? shownPlace(view.document, start) : undefined
      const from = place ?? own.at(start)
      // The end of what comes from one text stands in it too; else the stretch ends where it begins.
      const last = place === undefined ? undefined : shownPlace(view.document, Math.max(start, end - 1))
      const isOne = last?.overlay === place?.overlay && last?.uri === place?.uri
      const to = place === undefined ? own.at(end) : isOne && last !== undefined && end > start ? after(last) : from
      const { severity, code, message, page, profile, load, course, room, group } = finding
      const reported = {
        file: place === undefined ? file : place.overlay === undefined ? shown(place.uri) : overlayName(place.overlay),
        line: from.line,
        column: from.column,
        endLine: to.line,
        endColumn: to.column,
        severity,
        code,
        message,
        page,
        ...(profile === undefined ? {} : { profile }),
        ...(load === undefined ? {} : { load }),
        ...(course === undefined ? {} : { course }),
        ...(room === undefined ? {} : { room }),
        ...(group === undefined ? {} : { group }),
      }
      // A statement is laid over every profile; what is wrong with it is wrong once.
      const key = place?.overlay === undefined ? undefined : JSON.stringify(reported)
      if (key !== undefined && laid.has(key)) continue
      if (key !== undefined) laid.add(key)
      findings.push(reported)
      lineTexts.set(reported, own.textOf(own.at(start).line).trim())
    }
    for (const { evaluation, expectation, home, written, predicted } of service.features.expectations(uri)) {
      const probability = chances ? service.probability(evaluation, expectation) : undefined
      const place = isOverlaid(home) ? shownPlace(home, written.start) : undefined
      const isOwn = home === view.document
      const reported = {
        // An inherited expectation stands where it is written, which may be a file that was not asked for.
        file: place?.overlay !== undefined ? overlayName(place.overlay) : isOwn ? file : shown(home.uri),
        line: (place ?? linesIn(home).at(written.start)).line,
        profile: evaluation.profile.definition.name,
        text: expectation.text,
        predicted: expectation.predicted,
        unit: expectation.unit,
        holds: expectation.holds,
        ...(expectation.course === undefined ? {} : { course: expectation.course }),
        ...(probability === undefined ? {} : { probability }),
      }
      expectations.push(reported)
      if (predicted !== undefined) predictedTexts.set(reported, predicted)
      if (expectation.undecided !== undefined) undecided.set(reported, expectation.undecided)
    }
  }
  const report = (): Report => ({
    files: files.map(file => file.shown),
    unread: [...unread.values()].filter(one => one.lines.length > 0),
    findings: findings.sort(byFinding),
    expectations: expectations.sort(byExpectation),
    predictedTexts,
    undecided,
    lineTexts,
  })
  return { add, report }
}

/** Severities, the most severe first. */
export const severityOrder: readonly Severity[] = ['error', 'warning', 'information', 'hint']

/** Whether a finding is at this severity or above. */
export function reaches(severity: Severity, level: Severity): boolean {
  return severityOrder.indexOf(severity) <= severityOrder.indexOf(level)
}
