/** Findings as the client has them: put in its words once for each chunk, and named, so that what it knows is not sent again. */

import {
  type Diagnostic,
  type DiagnosticRelatedInformation,
  DiagnosticSeverity,
  DiagnosticTag,
} from 'vscode-languageserver'
import type { ChunkFindings } from '../checks/run.ts'
import type { Finding, Severity } from '../checks/types.ts'
import { keptWhile, wording } from '../service.ts'
import type { FileView } from '../workspace/workspace.ts'
import { linesOf, lowerRange } from './positions.ts'
import { clientUri, type Session } from './session.ts'

const severities: Readonly<Record<Severity, DiagnosticSeverity>> = {
  error: DiagnosticSeverity.Error,
  warning: DiagnosticSeverity.Warning,
  information: DiagnosticSeverity.Information,
  hint: DiagnosticSeverity.Hint,
}

/** Findings about what could as well not be there. */
const fadedCodes: ReadonlySet<string> = new Set(['unused-name', 'allow-unused', 'band-no-effect'])

function relatedOf(session: Session, view: FileView, { related }: Finding): DiagnosticRelatedInformation[] {
  return (related ?? []).flatMap(({ at, message }) => {
    const document = view.documents.find(one => one.starts.has(at.chunk))
    const base = document?.starts.get(at.chunk)
    if (document === undefined || base === undefined) return []
    const range = linesOf(document.source).range({ start: base + at.start, end: base + at.end })
    return [{ location: { uri: clientUri(session, document.uri), range }, message: wording.visible(message) }]
  })
}

/** Lines count from the first one of the finding's chunk. */
function diagnosticOf(session: Session, view: FileView, finding: Finding): Diagnostic {
  const { client } = session
  const { at, code, severity, message } = finding
  const related = client.showsRelated ? relatedOf(session, view, finding) : []
  return {
    range: linesOf(at.chunk).range(at),
    severity: severities[severity],
    code,
    source: 'detent',
    // Clients show it as it is, in a terminal as well.
    message: wording.visible(message),
    ...(client.showsCodePages && client.pages !== undefined
      ? { codeDescription: { href: `${client.pages}#${code}` } }
      : {}),
    ...(client.showsTags && fadedCodes.has(code) ? { tags: [DiagnosticTag.Unnecessary] } : {}),
    ...(related.length > 0 ? { relatedInformation: related } : {}),
  }
}

/** Two independent 32-bit hashes (FNV-1a and a multiplicative one) of what a report says: equal reports, equal names. */
function nameOf(text: string): string {
  let a = 0x811c9dc5
  let b = 0x9e3779b9
  for (let at = 0; at < text.length; at++) {
    const unit = text.charCodeAt(at)
    a = Math.imul(a ^ unit, 0x01000193)
    b = Math.imul(b + unit, 0x85ebca6b) ^ (b >>> 13)
  }
  return `${(a >>> 0).toString(36)}.${(b >>> 0).toString(36)}.${text.length.toString(36)}`
}

/** What is sent of the findings of a chunk, lines counted from its first one. */
interface OfChunk {
  readonly items: readonly Diagnostic[]
  readonly name: string
}

/** Evicted with the findings. What leads to other places is made again with each view, as they may have moved. */
const ofChunks = keptWhile<readonly Finding[], OfChunk>()

function ofChunk(session: Session, view: FileView, findings: readonly Finding[]): OfChunk {
  const leadsOn = findings.some(({ related }) => related !== undefined)
  const rests = [session.client, leadsOn ? view : undefined]
  const before = ofChunks.of(findings, rests)
  if (before !== undefined) return before
  const items = findings.map(finding => diagnosticOf(session, view, finding))
  return ofChunks.keep(findings, rests, { items, name: nameOf(JSON.stringify(items)) })
}

/** What the client has of a file. */
export interface Told {
  /** A name for all of it: what has the same name is the same. */
  readonly id: string
  /** Makes all of it, for a client that does not have it. */
  readonly items: () => Diagnostic[]
}

/** @param notice says that findings are still to come */
export function toldOf(
  session: Session,
  view: FileView,
  notice: Diagnostic | undefined,
  found: readonly ChunkFindings[],
): Told {
  const lines = linesOf(view.document.source)
  const pieces = found.map(({ start, findings }) => ({
    line: lines.position(start).line,
    ...ofChunk(session, view, findings),
  }))
  const names = pieces.map(({ line, name }) => `${line} ${name}`)
  const lowered = ({ line, items }: (typeof pieces)[number]): Diagnostic[] =>
    items.map(one => ({ ...one, range: lowerRange(one.range, line) }))
  return {
    id: nameOf([notice === undefined ? '' : JSON.stringify(notice), ...names].join('\n')),
    items: () => [...(notice === undefined ? [] : [notice]), ...pieces.flatMap(lowered)],
  }
}
