/** Quick fixes: the edits that the checks offer with their findings, and the acceptance of a finding. */

import type { TextEdit } from '../../grammar/printer.ts'
import type { PlacedFinding } from '../checks/run.ts'
import type { FixEdit } from '../checks/types.ts'
import type { Document, Workspace } from '../workspace/workspace.ts'
import { acceptEdits, acceptTitle, canBeAccepted } from './accept.ts'
import { formattedEdits } from './formatted-edits.ts'

export interface QuickFix {
  readonly title: string
  readonly preferred: boolean
  readonly finding: PlacedFinding
  /** Which of the finding's fixes it is, to find it again; behind the last one, the acceptance. */
  readonly index: number
}

/** Edits of one file, in order, in the offsets of its text. */
export interface FileEdits {
  readonly uri: string
  readonly edits: readonly TextEdit[]
}

/** The fixes of those findings that touch a stretch of the file; those that accept a finding come last. */
export function quickFixes(findings: readonly PlacedFinding[], start: number, end: number): readonly QuickFix[] {
  const touched = findings.filter(one => one.start <= end && one.end >= start)
  const fixes = touched.flatMap(finding =>
    (finding.finding.fixes ?? []).map((fix, index) => ({
      title: fix.title,
      preferred: fix.preferred === true,
      finding,
      index,
    })),
  )
  const accepted = new Set<string>()
  const acceptances = touched.filter(canBeAccepted).flatMap(finding => {
    const { code, at } = finding.finding
    // One acceptance is enough for several of one kind at one place.
    const key = `${code} ${at.start} ${at.end}`
    if (accepted.has(key)) return []
    accepted.add(key)
    return [{ title: acceptTitle(finding), preferred: false, finding, index: (finding.finding.fixes ?? []).length }]
  })
  return [...fixes, ...acceptances]
}

/** Edits of chunks as edits of the documents that they stand in, the lines they touch formatted; undefined where one has gone. */
export function placedEdits(
  documents: Iterable<Document>,
  wanted: readonly FixEdit[],
): readonly FileEdits[] | undefined {
  const all = [...documents]
  const byFile = new Map<Document, TextEdit[]>()
  for (const { chunk, start, end, text } of wanted) {
    const document = all.find(one => one.starts.has(chunk))
    const base = document?.starts.get(chunk)
    if (document === undefined || base === undefined) return undefined
    const edits = byFile.get(document) ?? []
    edits.push({ start: base + start, end: base + end, text })
    byFile.set(document, edits)
  }
  return [...byFile].map(([{ uri, source }, edits]) => {
    edits.sort((a, b) => a.start - b.start)
    return { uri, edits: formattedEdits(source, edits) }
  })
}

/** The edits of a fix, the lines they touch formatted; undefined where it no longer fits the text. */
export function fixEdits(
  workspace: Workspace,
  uri: string,
  finding: PlacedFinding,
  index: number,
): readonly FileEdits[] | undefined {
  const view = workspace.view(uri)
  if (view !== undefined && index === (finding.finding.fixes ?? []).length) {
    const edits = acceptEdits(view.document, finding)
    return edits && [{ uri: view.document.uri, edits }]
  }
  const fix = finding.finding.fixes?.[index]
  return view === undefined || fix === undefined ? undefined : placedEdits(view.documents, fix.edits)
}
